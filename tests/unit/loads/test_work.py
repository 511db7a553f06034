"""The units of built-in work do what they are named for, are as large as is told, and short enough to count finely."""

import math
import time

import numpy as np
import pytest

from benchmon.loads import scale, wide_work, work
from benchmon.loads.scale import Scale, largest_factor, scale_of
from benchmon.loads.wide_work import make_unit
from benchmon.loads.work import NEEDS_NUMPY, PLAIN_WORK
from benchmon.model.work_kinds import WORK_KINDS

SIDE = 160


def unit_of(kind, side=SIDE):
    return PLAIN_WORK[kind]() if kind in PLAIN_WORK else make_unit(kind, side)


def test_every_kind_is_made_somewhere():
    assert set(PLAIN_WORK) | NEEDS_NUMPY == set(WORK_KINDS)
    assert not set(PLAIN_WORK) & NEEDS_NUMPY


@pytest.mark.parametrize("kind", WORK_KINDS)
def test_a_unit_is_short_and_of_one_size(kind):
    unit = unit_of(kind)
    unit()
    took_s = []
    for _ in range(15):
        before_s = time.thread_time()
        unit()
        took_s.append(time.thread_time() - before_s)
    assert 0.0001 < min(took_s) < 0.02  # the least: others may be at work on this machine


@pytest.mark.parametrize("side", [96, 128, 256])
def test_widest_work_is_counted_as_it_is_done(side, monkeypatch):
    """A product of n × n matrices: n² inner products of n multiplications and n additions (any linear algebra book)."""
    done = []
    monkeypatch.setattr(wide_work.np, "matmul", lambda a, b, out: done.append((*a.shape, *b.shape, *out.shape)))
    unit_of("widest", side)()
    assert set(done) == {(side,) * 6}
    assert scale_of("widest", side) == Scale(sum(2.0 * n * n * n for n, *_ in done))
    assert sum(2.0 * n**3 for n, *_ in done) > 25e6


def test_products_are_written_in_place_in_single_precision(monkeypatch):
    seen = []
    real = np.matmul
    monkeypatch.setattr(wide_work.np, "matmul", lambda a, b, out: seen.append((a, b, out)) or real(a, b, out=out))
    unit_of("widest")()
    a, b, out = seen[0]
    assert all(one is two for one, two in zip(seen[0], seen[-1], strict=True))
    assert {array.dtype for array in (a, b, out)} == {np.dtype(np.float32)}
    assert np.allclose(out, a.astype(float) @ b.astype(float), rtol=1e-4)
    assert np.isfinite(out).all()


def test_scalar_work_is_counted_as_it_is_done(monkeypatch):
    """A distance: for each dimension one subtraction, one multiplication, one addition."""
    asked = []
    monkeypatch.setattr(math, "dist", lambda a, b: asked.append((len(a), len(b))))
    unit_of("scalar")()
    assert {one == two for one, two in asked} == {True}
    assert scale_of("scalar", SIDE) == Scale(sum(3.0 * dimensions for dimensions, _ in asked))


class CountedFactor:
    """A whole number as schoolbook multiplication sees it: counts one multiplication and one addition for digit pairs."""

    bits = 30
    done = 0

    def __init__(self, value):
        self.digits = -(-value.bit_length() // self.bits)

    def __floordiv__(self, _other):
        return self

    __add__ = __mul_int__ = __floordiv__

    def __mul__(self, other):
        if isinstance(other, CountedFactor):
            CountedFactor.done += 2 * self.digits * other.digits
        return self


def test_whole_number_work_is_counted_as_it_is_done(monkeypatch):
    CountedFactor.bits = work.largest_factor().bit_length() // scale.FACTOR_DIGITS
    monkeypatch.setattr(work, "largest_factor", lambda: CountedFactor(largest_factor()))
    unit_of("whole")()
    assert scale_of("whole", SIDE) == Scale(float(CountedFactor.done))
    assert scale.FACTOR_DIGITS < 70  # Objects/longobject.c: from here on products are made in fewer steps


class CountedBlock(bytearray):
    moved = 0

    def __setitem__(self, where, what):
        CountedBlock.moved += 2 * len(what)  # read once, written once
        super().__setitem__(where, what)


def test_memory_work_is_counted_as_it_is_done(monkeypatch):
    monkeypatch.setattr(work, "bytearray", CountedBlock, raising=False)
    unit_of("memory")()
    assert scale_of("memory", SIDE) == Scale(None, float(CountedBlock.moved))


def test_a_mixture_is_products_and_a_slice_of_a_block(monkeypatch):
    done, moved = [], []
    monkeypatch.setattr(wide_work.np, "matmul", lambda a, b, out: done.append(len(a)))

    class Counted:
        def __init__(self, block):
            self.block = block

        def __getitem__(self, where):
            return self.block[where]

        def __setitem__(self, where, what):
            moved.append((where.start, 2 * len(what)))
            self.block[where] = what

    monkeypatch.setattr(wide_work, "memoryview", Counted, raising=False)
    unit = unit_of("mixture")
    turns = scale.MIXTURE_BLOCK_BYTES // scale.SLICE_BYTES
    for _ in range(turns + 1):
        unit()
    operations = sum(2.0 * side**3 for side in done) / (turns + 1)
    assert scale_of("mixture", SIDE) == Scale(operations, float(moved[0][1]))
    assert [start for start, _ in moved] == [*range(0, scale.MIXTURE_BLOCK_BYTES, scale.SLICE_BYTES), 0]
