"""Every file of a hand-over, in one folder."""
