"""What holds for all tests: fits on one thread each, as in the program, before any test loads numpy."""

import compileall
from pathlib import Path

import benchmon.analysis.fit.one_thread  # noqa: F401  # sets the environment

PROGRAM = Path(__file__).resolve().parents[1] / "benchmon"


def pytest_configure(config):
    """Compile the program once. Where Python may not keep what it compiled, each of some hundred processes did it anew."""
    if not hasattr(config, "workerinput"):
        compileall.compile_dir(PROGRAM, quiet=1)
