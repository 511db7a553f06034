"""Many lines of samples at once: the same samples as one line at a time gives, in a third of the time.

A day holds 170,000 lines and all but a few are samples. They are told from anything odd by the signs they are made of,
parsed together, and only checked for what such signs can still get wrong. Where anything is odd nothing is given, and
every line is looked at by itself.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from benchmon.model.records import Sample
from benchmon.model.usable import MOST_TIME_S, MOST_VALUE

BEGIN = b'["s",'
"""So begins a sample as the recorder writes it."""
_SIGNS = b"0123456789.,-+eE[]nul"
"""A plain sample holds these signs and its ``"s"``, nothing else: no text, no truth value, no NaN."""

_from_json = json.JSONDecoder().decode


def samples_of(lines: Sequence[bytes], width: int) -> list[Sample] | None:
    """The samples in some lines; None if any line needs a closer look.

    Args:
        lines: without their ends; each begins with ``BEGIN``.
        width: number of channels.
    """
    text = b",".join(lines)
    # Each line begins with its "s" and no further one is anywhere, so rows that begin with "s" begin where lines do.
    if text.translate(None, _SIGNS) != b'"s"' * len(lines):
        return None
    try:
        rows = _from_json(f"[{text.decode('ascii')}]")
        if len(rows) != len(lines):
            return None
        return [_sample(row, width) for row in rows]
    except (ValueError, TypeError, IndexError, OverflowError, RecursionError):
        return None


def _sample(row: Any, width: int) -> Sample:
    given = row[2]
    if row[0] != "s" or given.__class__ is not list or len(given) != width:
        raise ValueError
    try:
        values: tuple[float | None, ...] = tuple(map(float, given))
        known: Sequence[Any] = values
    except TypeError:  # a value that was not read, or a list where a number should be
        values = tuple([each if each is None else float(each) for each in given])
        known = [each for each in values if each is not None]
    t_s, cost_s = float(row[1]), float(row[3]) if len(row) > 3 else 0.0
    most = max(known, default=0.0)
    if most > MOST_VALUE or min(known, default=0.0) < -MOST_VALUE:
        raise ValueError
    if not -MOST_TIME_S <= t_s <= MOST_TIME_S or not -MOST_VALUE <= cost_s <= MOST_VALUE:
        raise ValueError
    return Sample(t_s, values, cost_s)
