"""The exact proof of coverage and overlap, and the largest overlap that a plan gives."""
