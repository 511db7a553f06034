"""What holds for all tests: fits on one thread each, as in the program; and started programs keep what they compile."""

import os

import benchmon.analysis.fit.one_thread  # noqa: F401  # sets the environment before any test loads numpy

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
"""Hundreds of commands are started; each would compile all of benchmon anew, which takes longer than most of them do."""
