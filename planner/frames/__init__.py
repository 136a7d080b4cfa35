"""Frames that came back: FITS headers, plate solutions, matching to panels, depth."""
