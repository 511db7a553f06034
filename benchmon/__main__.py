"""``python -m benchmon``."""

import sys

from benchmon.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
