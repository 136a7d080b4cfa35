"""Where a mosaic stands, on a page."""
