"""Commands that measure. Most start a process a core: each keeps to one thread, set before numpy can be loaded."""

import benchmon.analysis.fit.one_thread  # noqa: F401
