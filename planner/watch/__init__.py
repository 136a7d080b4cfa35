"""Following a folder of frames while they come in."""
