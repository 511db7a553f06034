"""Which times do not fit into an ascending row."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf


def out_of_order(times_s: Sequence[float]) -> list[int]:
    """Indexes of the times to leave out so that the others ascend strictly.

    A time that repeats or goes back is left out. So is one that jumps ahead of its successor, if the successor fits:
    one damaged digit must not cost all that follows.

    >>> out_of_order([0.0, 0.5, 9999.0, 1.0, 1.0, 1.5])
    [2, 4]
    """
    bad = []
    last_s = -inf
    for index, t_s in enumerate(times_s):
        next_s = times_s[index + 1] if index + 1 < len(times_s) else inf
        if t_s <= last_s or last_s < next_s < t_s:
            bad.append(index)
        else:
            last_s = t_s
    return bad
