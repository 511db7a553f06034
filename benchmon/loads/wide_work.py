"""The kinds of built-in work that use numpy's linear algebra, and with it the widest instructions the processor has.

Only workers import this. Numbers are single precision: twice as many fit into one instruction as of double precision,
and every multiplier of the core is busy all the same.
"""

from __future__ import annotations

import os

from benchmon.loads.scale import MIXTURE_BLOCK_BYTES, SLICE_BYTES, products_in_unit
from benchmon.loads.work import Unit
from benchmon.model.work_kinds import WIDEST

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "BLIS_NUM_THREADS"):
    os.environ[_name] = "1"  # a worker is one core's work; libraries read this when they are loaded

import numpy as np  # noqa: E402

_SEED = 20


def make_unit(kind: str, side: int) -> Unit:
    """The unit of ``widest`` or ``mixture``, with square matrices of so many rows."""
    return _products(side) if kind == WIDEST else _mixture(side)


def _products(side: int) -> Unit:
    """Matrix products, written in place: nothing is allocated, and the values cannot grow."""
    random = np.random.default_rng(_SEED)  # digits that differ in all places switch more of the multipliers
    a, b = (random.random((side, side), dtype=np.float32) for _ in range(2))
    c = np.empty_like(a)
    several = range(products_in_unit(side))

    def unit() -> None:
        multiply = np.matmul
        for _ in several:
            multiply(a, b, out=c)

    return unit


def _mixture(side: int) -> Unit:
    """A unit of products, then the next slice of a block is copied; so that each slice comes from memory."""
    products = _products(side)
    source, target = memoryview(bytearray(b"\x5a" * MIXTURE_BLOCK_BYTES)), memoryview(bytearray(MIXTURE_BLOCK_BYTES))
    at = 0

    def unit() -> None:
        nonlocal at
        products()
        target[at : at + SLICE_BYTES] = source[at : at + SLICE_BYTES]
        at = (at + SLICE_BYTES) % MIXTURE_BLOCK_BYTES

    return unit
