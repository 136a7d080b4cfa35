"""Several instruments on one mosaic, in a session."""
