"""Several instruments on one mosaic: which of them the pages are about."""
