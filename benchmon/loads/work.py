"""The kinds of built-in work that need nothing but the standard library: ``docs/loads.md`` says what each is.

A unit takes about 0.3 to 5 ms on a core of 2 to 4 GHz, so that the rate reads finely. All is done inside single calls
of C code, or short rows of them, so that the interpreter's own waiting for memory does not cool the core down.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

from benchmon.loads.scale import BLOCK_BYTES, DIMENSIONS, POINTS, PRODUCTS, largest_factor
from benchmon.model.work_kinds import MEMORY, MIXTURE, SCALAR, WHOLE, WIDEST

Unit = Callable[[], object]

NEEDS_NUMPY = frozenset({WIDEST, MIXTURE})
"""Kinds whose unit is made by ``wide_work``."""


def scalar() -> Unit:
    """Distances between points: floating-point multiply and add, one number at a time."""
    points = [tuple((i * j % 17) * 0.37 + 0.1 for j in range(DIMENSIONS)) for i in range(POINTS)]

    def unit() -> None:
        distance = math.dist
        for a in points:
            for b in points:
                distance(a, b)

    return unit


def whole() -> Unit:
    """Products of whole numbers: multiply and add of their digits."""
    a = largest_factor()
    b = a // 3 * 2 + 1  # another number: the square of one is done in half the steps

    def unit() -> None:
        for _ in range(PRODUCTS):
            a * b  # the work is the point, not the result

    return unit


def memory() -> Unit:
    """Copies of a block: memory traffic."""
    source, target = bytearray(b"\x5a" * BLOCK_BYTES), bytearray(BLOCK_BYTES)

    def unit() -> None:
        target[:] = source

    return unit


PLAIN_WORK: Mapping[str, Callable[[], Unit]] = MappingProxyType({SCALAR: scalar, WHOLE: whole, MEMORY: memory})
"""Kind → maker of its unit of work."""
