"""`python -m lightplan`, which timers call: it needs no PATH."""

import sys

from lightplan.cli import main

if __name__ == "__main__":
    sys.exit(main())
