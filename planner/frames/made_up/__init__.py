"""Frames that nobody has taken: where they look, and their pixels with catalogue stars where they belong."""
