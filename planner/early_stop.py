"""Ctrl-C before the command line is there to answer it; imported before anything else.

While packages are imported Python would tell of it in words of its own, or not end at all. So a program that starts
(``python -m planner``) ends at once until `let_verbs_answer` is called.
"""

import os
import signal
import sys

from .exit_codes import STOPPED

__all__ = ["let_verbs_answer"]


def _stop(number: int, frame: object) -> None:
    os.write(2, b"planner: stopped; nothing has been written\n")
    os._exit(STOPPED)


def let_verbs_answer() -> None:
    """Let Ctrl-C be a KeyboardInterrupt from here on, as it is where the planner is imported by a program."""
    if signal.getsignal(signal.SIGINT) is _stop:
        signal.signal(signal.SIGINT, signal.default_int_handler)


# Python's own mark of a program that starts (-m); a signal that is ignored stays so
if sys.argv[:1] == ["-m"] and signal.getsignal(signal.SIGINT) is signal.default_int_handler:
    signal.signal(signal.SIGINT, _stop)
