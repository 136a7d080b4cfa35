"""`python -m planner VERB ...`."""

import sys

from .errors import told_of_failed_start

with told_of_failed_start(as_program=__name__ == "__main__"):
    from .cli import main

if __name__ == "__main__":
    sys.exit(main())
