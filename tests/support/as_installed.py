"""An environment for commands whose cost is measured: they run as installed ones do, with their bytecode kept."""

from __future__ import annotations

import compileall
import os
from pathlib import Path

import benchmon


def environment_as_installed(**more: str) -> dict[str, str]:
    """This process's environment and ``more``; benchmon is compiled, as ``pip install`` does once and for all.

    Without this, where ``PYTHONDONTWRITEBYTECODE`` is set, compiling would be up to a third of what a short command costs.
    """
    compileall.compile_dir(Path(benchmon.__file__).parent, quiet=1)
    return {name: text for name, text in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"} | more
