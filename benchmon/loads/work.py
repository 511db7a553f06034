"""The kinds of built-in work. A unit takes about 1 to 5 ms on a core of 2 to 4 GHz, so that the rate reads finely.

All is done inside single calls of the standard library's C code, or short rows of them, so that the interpreter's own
waiting for memory does not cool the core down. How hot they get is not measured here: no machine with a power sensor
was at hand. To be expected, from what the instructions are: ``matrix`` and ``integer`` keep a core's scalar units busy
and come near what ordinary programs draw; neither uses wide vectors, so a program that does draws more. ``memory``
waits for the memory most of the time: the cores stay cooler, memory and its controller get warm. Whoever needs the
hottest load gives a command of their own. Rates compare only between runs with the same work and the same Python.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

Unit = Callable[[], object]

_POINTS = 40
_DIMENSIONS = 256
_BITS = 60_000
_BLOCK_BYTES = 16 * 1024 * 1024


def matrix() -> Unit:
    """The matrix of distances between 40 points in 256 dimensions: floating-point multiply and add."""
    points = [tuple((i * j % 17) * 0.37 + 0.1 for j in range(_DIMENSIONS)) for i in range(_POINTS)]

    def unit() -> None:
        distance = math.dist
        for a in points:
            for b in points:
                distance(a, b)

    return unit


def integer() -> Unit:
    """Products of two whole numbers of 60,000 bits: integer multiply and add."""
    a, b = (1 << _BITS) - 12_345_678_901_234_567, (1 << _BITS) // 7

    def unit() -> None:
        for _ in range(3):
            a * b  # the work is the point, not the result

    return unit


def memory() -> Unit:
    """Copies of 16 MiB, more than most caches hold: memory traffic."""
    source, target = bytearray(b"\x5a" * _BLOCK_BYTES), bytearray(_BLOCK_BYTES)

    def unit() -> None:
        target[:] = source

    return unit


WORK: Mapping[str, Callable[[], Unit]] = MappingProxyType({"matrix": matrix, "integer": integer, "memory": memory})
"""Kind → maker of its unit of work."""
