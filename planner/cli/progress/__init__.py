"""`progress`: where a mosaic stands."""
