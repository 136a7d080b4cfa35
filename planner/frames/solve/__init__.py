"""Plate solutions of frames that have none, from catalogue stars."""
