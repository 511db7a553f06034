"""``python -m benchmon``: whatever lies in the present folder is not run."""

import sys

if __name__ == "__main__":
    # ``-m`` puts the present folder first in the search, before the standard library: a file called json.py or
    # platform.py in it would be run. Where benchmon itself was found there it is still needed, but it comes last.
    if not sys.flags.safe_path and sys.path:
        first = sys.path.pop(0)
        if __file__ == f"{first}/benchmon/__main__.py":
            sys.path.append(first)

    from benchmon.cli.main import main

    sys.exit(main())
