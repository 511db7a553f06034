"""Published least efficiency of external power supplies, to hold a measured one against."""

from __future__ import annotations

from math import log


def least_efficiency(output_w: float) -> float | None:
    """Least average efficiency of an AC-DC external supply of normal voltage, rated for ``output_w`` [W].

    Commission Regulation (EU) 2019/1782, Annex II 1(b). None for 1 W or less, where it is another formula.

    >>> round(least_efficiency(36.0), 4)
    0.874
    """
    if output_w <= 1.0:
        return None
    return 0.071 * log(output_w) - 0.0014 * output_w + 0.67 if output_w <= 49.0 else 0.880
