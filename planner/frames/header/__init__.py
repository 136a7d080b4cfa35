"""FITS headers and the plate solutions in them."""
