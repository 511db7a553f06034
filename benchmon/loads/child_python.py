"""Command lines that run one of benchmon's modules in an interpreter of its own, isolated from where it is started.

Isolated (``-I``) means: neither the present folder nor any variable of Python's environment decides what is loaded. The
package's own folder comes last in the search, so that nothing in it can stand in for the standard library.
"""

from __future__ import annotations

import sys
from pathlib import Path

_RUN = "import sys; sys.path.append(sys.argv[1]); from {module} import main; sys.exit(main(sys.argv[2:]))"


def command_line(module: str, *arguments: str, with_site: bool = False) -> list[str]:
    """Arguments for starting ``main(arguments)`` of a module.

    Args:
        module: the module.
        arguments: what its ``main`` gets.
        with_site: let it find other installed packages; without them it is smaller and quicker to start.
    """
    package_folder = Path(__file__).resolve().parents[2]
    switches = ["-I"] if with_site else ["-I", "-S"]
    return [sys.executable, *switches, "-c", _RUN.format(module=module), str(package_folder), *arguments]
