"""The mosaic assembled small from the frames."""
