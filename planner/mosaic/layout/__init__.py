"""Panels in grids and rows, at one angle."""
