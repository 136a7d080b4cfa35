"""Composing by lists and presses: parts of the region, fits, formats."""
