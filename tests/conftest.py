"""What holds for all tests: fits on one thread each, as in the program, before any test loads numpy."""

import benchmon.analysis.fit.one_thread  # noqa: F401  # sets the environment
