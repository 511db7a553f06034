"""Command lines that run one of benchmon's modules in a bare interpreter: quick to start, small, no site packages."""

from __future__ import annotations

import sys
from pathlib import Path

_RUN = "import sys; sys.path.insert(0, sys.argv[1]); from {module} import main; main(sys.argv[2:])"


def command_line(module: str, *arguments: str) -> list[str]:
    """Arguments for starting ``main(arguments)`` of a module."""
    package_folder = Path(__file__).resolve().parents[2]
    return [sys.executable, "-I", "-S", "-c", _RUN.format(module=module), str(package_folder), *arguments]
