"""Turns of the camera in a season: counted and spared."""
