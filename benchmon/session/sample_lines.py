"""Many lines of samples at once: the same samples as one line at a time gives, in a third of the time.

A day holds 170,000 lines and all but a few are samples. They are told from anything odd by the signs they are made of,
parsed together, and only checked for what such signs can still get wrong. Where anything is odd nothing is given, and
every line is looked at by itself.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from itertools import chain
from typing import Any

from benchmon.model.records import Sample
from benchmon.model.usable import MOST_TIME_S, MOST_VALUE

BEGIN = b'["s",'
"""So begins a sample as the recorder writes it."""
_SIGNS = b"0123456789.,-+eE[]nul"
"""A plain sample holds these signs and its ``"s"``, nothing else: no text, no truth value, no NaN."""

_from_json = json.JSONDecoder(parse_int=float).decode


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
        if len(rows) != len(lines) or set(map(len, rows)) != {4}:
            return None
        begins, times_s, given, costs_s = zip(*rows, strict=True)
        if set(begins) != {"s"} or set(map(type, given)) != {list} or set(map(len, given)) - {width}:
            return None
        values: Iterable[Any] = chain.from_iterable(given)
        if b"null" in text:  # a value that was not read
            values = (value for value in values if value is not None)
        bounds = ((times_s, MOST_TIME_S), (values, MOST_VALUE), (costs_s, MOST_VALUE))
        if not all(_are_within(numbers, most) for numbers, most in bounds):
            return None
    except (ValueError, TypeError, RecursionError):
        return None
    return list(map(Sample, times_s, map(tuple, given), costs_s))


def _are_within(numbers: Iterable[Any], most: float) -> bool:
    """Whether none lies beyond ``most``; TypeError if any is no number."""
    numbers = list(numbers)
    return bool(max(numbers, default=0.0) <= most and min(numbers, default=0.0) >= -most)
