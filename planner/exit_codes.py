"""What a run ends with, told to whoever started it; which of them a verb ends with, the verb itself judges."""

__all__ = ["BAD_INPUT", "DONE", "FALLS_SHORT", "STOPPED"]

DONE = 0
"""All is as it was asked for."""
FALLS_SHORT = 1
"""Done, but the plan or the frames fall short; what is missing is said on standard error."""
BAD_INPUT = 2
"""Bad input or bad use: one sentence on standard error, nothing has been written."""
STOPPED = 130
"""Stopped by Ctrl-C, by the habit of shells for an interrupted command."""
