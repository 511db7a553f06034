"""Scales: everything fits, labels stand evenly apart, and nothing that was read lies on the tick of zero."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from benchmon.views.traces import BLOCKS, LINE, PLAIN
from benchmon.views.tui.scale import ruled_scale

PENS = st.sampled_from([LINE, BLOCKS, PLAIN])


@given(st.floats(0, 500), st.floats(1e-3, 5000), st.integers(3, 14), PENS)
def test_everything_fits_and_labels_are_evenly_apart(low, span, rows, pen):
    ruled = ruled_scale(low, low + span, rows, pen.down)
    assert ruled.scale.low <= low
    assert low + span <= ruled.scale.high
    places = [ruled.scale.dot(tick, rows * pen.down) // pen.down for tick in ruled.ticks]
    assert places[0] == rows - 1
    assert len({above - below for above, below in zip(places, places[1:], strict=False)}) <= 1
    assert len(ruled.ticks) >= 2
    words = [f"{tick:.{ruled.decimals}f}" for tick in ruled.ticks]
    assert [float(word) for word in words] == [round(tick, 9) for tick in ruled.ticks]


@given(st.floats(1, 5000), st.integers(3, 14), PENS)
def test_the_paper_is_used(high, rows, pen):
    ruled = ruled_scale(0.0, high, rows, pen.down)
    assert high / (ruled.scale.high - ruled.scale.low) > 0.5


def test_what_an_idle_machine_draws_does_not_lie_on_the_tick_of_zero():
    for rows, powers_w in ((3, (5.7,)), (7, (3.1, 5.7))):
        dots = rows * LINE.down
        scale = ruled_scale(0.0, 62.0, rows, LINE.down).scale
        assert scale.dot(0.0, dots) == dots - 2  # just below the middle of the label's row
        for idle_w in powers_w:
            assert scale.dot(idle_w, dots) <= dots - 3


def test_odd_readings_have_a_scale():
    for low, high in ((0.0, 0.0), (19.0, 19.0), (1e15, 1e15), (-1e15, 1e15), (0.0, 1e-12), (-3.0, 2.0)):
        for rows in (1, 2, 3, 12):
            scale = ruled_scale(low, high, rows, 4).scale
            assert scale.low <= low <= high <= scale.high
