"""Keeps numpy's linear algebra to one thread: import this before numpy.

More threads make a fit of this size slower, and they would heat the very processor that is measured. A person's own
setting goes first.
"""

from __future__ import annotations

import os

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
