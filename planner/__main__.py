"""`python -m planner VERB ...`."""

import sys
import warnings

from .errors import told_of_failed_start

with told_of_failed_start(as_program=__name__ == "__main__"):
    from .cli import main

if __name__ == "__main__":
    if not sys.warnoptions:  # what is wrong is said in the planner's own sentences, not in those of packages
        warnings.simplefilter("ignore")
    sys.exit(main())
