"""How large a unit of each kind of work is: what turns units a second into operations and bytes a second.

Only what the result of the work needs is counted, once: a processor or a library that does more for it (conversions,
guards against rounding, a second reading of what it writes) gets nothing for that. Known without doing any work, so
that the recorder, which never loads numpy, can write it down.
"""

from __future__ import annotations

import sys
from typing import NamedTuple

from benchmon.model.work_kinds import MEMORY, MIXTURE, SCALAR, WHOLE, WIDEST

POINTS, DIMENSIONS = 40, 256
"""Scalar arithmetic: the distances between all pairs of so many points."""
FACTOR_DIGITS, PRODUCTS = 64, 400
"""Whole numbers: so many products of two numbers of so many digits of the interpreter's own (30 bits on nearly all);
below 70 digits CPython multiplies every digit with every digit (``Objects/longobject.c``, ``KARATSUBA_CUTOFF``)."""
BLOCK_BYTES = 16 * 1024 * 1024
"""Memory: copies of a block that is larger than most caches. Two such blocks and the interpreter stay under 60 MB."""
MIXTURE_BLOCK_BYTES = 8 * 1024 * 1024
SLICE_BYTES = 1024 * 1024
"""Mixture: after each product the next slice of a block is copied."""
UNIT_OPERATIONS = 30e6
"""A unit of products has at least so many operations: then counting it costs less than a hundredth of it."""


class Scale(NamedTuple):
    """Size of one unit."""

    operations: float | None = None
    """Additions and multiplications; None where the work has none worth counting."""
    moved_bytes: float | None = None
    """Bytes read and bytes written in memory; None where the work stays in the core's caches."""


def products_in_unit(side: int) -> int:
    """How many products of square matrices make a unit."""
    return max(1, round(UNIT_OPERATIONS / product_operations(side)))


def product_operations(side: int) -> float:
    """Multiplications and additions in one product of two square matrices: 2 n³."""
    return 2.0 * side**3


def scale_of(kind: str, side: int) -> Scale:
    """Size of one unit of a kind of work.

    Args:
        kind: one of ``WORK_KINDS``.
        side: rows of the matrices, where there are any.
    """
    products = products_in_unit(side) * product_operations(side)
    return {
        WIDEST: Scale(products),
        # one subtraction, one multiplication, one addition for each dimension of each ordered pair
        SCALAR: Scale(3.0 * DIMENSIONS * POINTS**2),
        WHOLE: Scale(2.0 * PRODUCTS * FACTOR_DIGITS**2),
        MEMORY: Scale(None, 2.0 * BLOCK_BYTES),
        MIXTURE: Scale(products, 2.0 * SLICE_BYTES),
    }[kind]


def largest_factor() -> int:
    """The whole number of ``FACTOR_DIGITS`` digits all of whose bits are set."""
    return (1 << FACTOR_DIGITS * sys.int_info.bits_per_digit) - 1
