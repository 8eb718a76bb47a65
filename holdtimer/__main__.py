"""`python -m holdtimer`."""

import sys

from holdtimer.cli import main

if __name__ == "__main__":
    sys.exit(main())
