"""What is a usable number: the one place that decides, for every number that comes from outside.

A damaged or made-up file can hold any number. Beyond these bounds nothing that is measured on a desk lies, and within
them no sum, square or product of the analysis can overflow or fill the memory.
"""

from __future__ import annotations

from math import isfinite

MOST_VALUE = 1e15
"""A reading, a limit or a score lies within ± this, in whatever unit."""
MOST_TIME_S = 366.0 * 86_400.0
"""A session's times lie within ± this [s]: a year."""
MOST_WHOLE = 2**53
"""A number that counts something lies within ± this: what other readers of JSON take exactly (RFC 8259, 6)."""
MOST_DIGITS = 40
"""A number written with more digits is none."""


def usable_number(value: object, most: float = MOST_VALUE) -> float | None:
    """The value as a float; None if it is no number, not finite or beyond the bound.

    Args:
        value: anything; a truth value is no number.
        most: the bound.
    """
    if value.__class__ is float:
        found = value
    elif value.__class__ is int:
        if not -MOST_WHOLE <= value <= MOST_WHOLE:
            return None
        found = float(value)
    else:
        return None
    return found if isfinite(found) and abs(found) <= most else None


def usable_whole(value: object, most: int = MOST_WHOLE) -> int | None:
    """The value as a whole number; None if it is none or beyond the bound."""
    return value if type(value) is int and abs(value) <= most else None


def number_in(text: str, most: float = MOST_VALUE) -> float | None:
    """The number that a text is; None if it is none that can be used."""
    if len(text) > MOST_DIGITS:
        return None
    try:
        return usable_number(float(text), most)
    except ValueError:
        return None
