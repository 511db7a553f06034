"""Before and sustained: what a throttled stretch is worth, from hand-made events over hand-made readings."""

from dataclasses import replace
from math import exp

import pytest

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.rows import make_row, with_events
from benchmon.analysis.sustained import load_end, with_levels, with_sustained
from benchmon.model.events import Cause
from benchmon.model.records import LoadAction, LoadChange, MarkKind
from tests.support.bench_sessions import mark, sample, session
from tests.support.summaries import HEAT

ONSET_S, END_S, LEVEL_W, GLIDE_W, GLIDE_S = 100.0, 700.0, 31.0, 14.0, 90.0


def glide(t):
    """Power falls to its level after the onset: 45 W, 31 W in the end."""
    return 45.0 if t < ONSET_S else LEVEL_W + GLIDE_W * exp(-(t - ONSET_S) / GLIDE_S)


def notebook(power=glide, *, until=int(END_S), phases=((0.0, "all cores"),), extra=(), temp=82.0):
    records = [mark(10 + i, at_s, MarkKind.PHASE, name) for i, (at_s, name) in enumerate(phases)]
    records += [sample(t, power=power(t), temp=temp, clock=1000.0 + 50.0 * power(t)) for t in range(until + 2)]
    made = session([*records, *extra], end=False)
    book = Notebook()
    for record in (made.header, *sorted(made.records, key=lambda one: getattr(one, "t_s", 0.0))):
        book.feed(record)
    return book


def event(start_s=ONSET_S, end_s=END_S, **more):
    return replace(
        HEAT, start_s=start_s, end_s=end_s, clock_before_mhz=3250.0, power_before_w=45.0, sustained=None, **more
    )


def row_of(book, *events, number=0):
    told = [with_sustained(replace(one, number=i), book) for i, one in enumerate(events, 1)]
    row = with_events(make_row(book, book.tracker.phases[number]), told, book.now_s)
    return with_levels(row, told, book), told


def test_sustained_is_the_mean_of_the_last_two_minutes_and_not_of_the_way_down():
    row, (told,) = row_of(notebook(), event())
    level = told.sustained
    assert (level.start_s, level.end_s) == (580.0, 700.0)
    assert level.power_w == pytest.approx(LEVEL_W, abs=0.1)
    assert level.is_settled is True
    assert row.sustained == level
    assert row.throttled_after_s == 100.0
    assert (row.before.clock_mhz, row.before.power_w, row.before.end_s) == (3250.0, 45.0, ONSET_S)


def test_of_a_short_stretch_it_is_the_later_half_and_nothing_is_said_about_settling():
    _, (told,) = row_of(notebook(until=140), event(end_s=140.0))
    assert (told.sustained.start_s, told.sustained.end_s) == (120.0, 140.0)
    assert told.sustained.is_settled is None


def test_what_still_falls_has_not_settled():
    row, _ = row_of(notebook(lambda t: 45.0 if t < ONSET_S else 45.0 - 0.03 * (t - ONSET_S)), event())
    assert row.sustained.is_settled is False


def test_the_load_s_own_end_ends_it():
    stop = LoadChange(640.0, LoadAction.STOPPED, "matrix work", 0)
    book = notebook(lambda t: glide(t) if t < 640 else 3.0, extra=(LoadChange(0.0, LoadAction.STARTED, "w", 4), stop))
    assert load_end(book, ONSET_S, END_S) == 640.0
    _, (told,) = row_of(book, event())
    assert told.sustained.end_s == 640.0
    assert told.sustained.power_w == pytest.approx(LEVEL_W, abs=0.1)


def test_throttled_from_the_start_has_no_before():
    row, _ = row_of(notebook(), event(start_s=0.0, from_start=True))
    assert row.before is None and row.throttled_after_s == 0.0
    assert row.sustained.power_w == pytest.approx(LEVEL_W, abs=0.1)


def test_a_drop_that_passed_does_not_make_a_throttled_phase():
    row, (told,) = row_of(notebook(), event(start_s=100.0, end_s=130.0))
    assert row.before is None and row.sustained is None
    assert row.throttled_after_s == 100.0
    assert told.sustained is not None


def test_teeth_of_one_load_are_one_stretch():
    row, told = row_of(notebook(), event(end_s=200.0), event(start_s=300.0, end_s=690.0))
    assert row.sustained.end_s == 690.0 and row.sustained.start_s == 570.0
    assert len(told) == 2


def test_drops_far_apart_are_not_one_stretch():
    row, _ = row_of(notebook(), event(end_s=150.0), event(start_s=310.0, end_s=690.0))
    assert row.before.end_s == 310.0


def test_an_event_over_two_phases_is_told_for_each_by_its_own_part():
    book = notebook(phases=((0.0, "all cores"), (400.0, "fan off")))
    first, _ = row_of(book, event())
    second, _ = row_of(book, event(), number=1)
    assert first.sustained.end_s == 400.0
    assert (second.throttled_after_s, second.before) == (0.0, None)
    assert second.sustained.end_s == 700.0


def test_a_wall_reading_belongs_to_the_part_in_which_it_was_taken():
    early, late = (mark(n, t, MarkKind.WALL, value=w) for n, t, w in ((20, 50.0, 61.0), (21, 650.0, 44.0)))
    row, _ = row_of(notebook(extra=(early, late)), event())
    assert (row.before.wall_w, row.sustained.wall_w) == (61.0, 44.0)


def test_nothing_read_is_no_level():
    from benchmon.model.records import Sample

    made = session([Sample(float(t), (None, None, None, None)) for t in range(200)], end=False)
    book = Notebook()
    for record in (made.header, *made.records):
        book.feed(record)
    told = with_sustained(event(end_s=190.0), book)
    assert told.sustained is None
    assert told.power_sustained_w == told.power_held_w


def test_an_open_event_is_told_until_now():
    _, (told,) = row_of(notebook(until=300), event(end_s=None, cause=Cause.THERMAL))
    assert told.sustained.end_s == pytest.approx(301.0)
