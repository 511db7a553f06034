"""Which times do not fit into an ascending row."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf


def out_of_order(times_s: Sequence[float], last_s: float = -inf) -> list[int]:
    """Indexes of the times to leave out so that the others ascend strictly.

    A time that repeats or goes back is left out. So is one that jumps ahead of both its successors, if they fit
    without it: one damaged digit must not cost all that follows. ``last_s`` is the last good time before these [s].

    >>> out_of_order([0.0, 0.5, 9999.0, 1.0, 1.0, 1.5])
    [2, 4]
    """
    bad = []
    for index, t_s in enumerate(times_s):
        if t_s <= last_s or _jumps_ahead(last_s, times_s[index : index + 3]):
            bad.append(index)
        else:
            last_s = t_s
    return bad


def _jumps_ahead(last_s: float, times_s: Sequence[float]) -> bool:
    """Whether keeping the first of three times would cost the other two."""
    return len(times_s) == 3 and last_s < times_s[1] < times_s[0] and last_s < times_s[2] <= times_s[0]
