"""Tables of pointings, read back into panels."""
