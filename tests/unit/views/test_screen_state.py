"""What the screen knows, by assertion and without a terminal."""

from __future__ import annotations

from hypothesis import example, given, settings
from hypothesis import strategies as st

from benchmon.model import keys
from benchmon.model.records import Gap, Mark, MarkKind, Sample, SessionEnd
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.view import View
from tests.support.bench_session import Bench, ScriptedAnalyst, bench_records

RECORDS = bench_records(Bench(until_s=330.0))


def state_of(records) -> ViewState:
    state = ViewState(ScriptedAnalyst)
    for record in records:
        state.apply(record)
    return state


def test_knows_what_was_read_and_entered():
    state = state_of(RECORDS)
    assert state.now_s == 330.0
    assert state.tags == {"duct": "none"}
    assert state.number(keys.TEMP_LIMIT) == 97.0
    assert state.latest_of(keys.ROOM_TEMP, MarkKind.ROOM) == (19.0, 0.0)
    assert state.latest_of(keys.WALL_POWER, MarkKind.WALL) == (58.7, 240.0)
    assert state.load_runs
    assert state.open_event is not None


def test_every_sample_can_be_read_again_exactly():
    state = state_of(RECORDS)
    for record in RECORDS:
        if isinstance(record, Sample):
            index = state.index_at(record.t_s)
            assert index is not None
            assert state.times[index] == record.t_s
            assert state.tracks[keys.CLOCK].at(index) == record.values[0]


def test_before_the_first_sample_nothing_is_read():
    assert state_of(RECORDS).index_at(-0.1) is None
    assert ViewState(ScriptedAnalyst).index_at(5.0) is None


def test_a_reading_in_a_gap_is_no_reading():
    state = state_of(bench_records(Bench(until_s=120.0, gap=(50.0, 80.0))))
    index = state.index_at(65.0)
    assert index is not None
    assert state.tracks[keys.CLOCK].at(index) is None
    assert state.gaps == [Gap(50.0, 80.0, "suspend")]


def test_a_header_begins_anew():
    state = state_of([*RECORDS, *RECORDS[:40]])
    again = state_of(RECORDS[:40])
    assert list(state.times) == list(again.times)
    assert state.events == again.events == {}
    assert state.marks.entered() == again.marks.entered()


@settings(deadline=None)
@given(st.lists(st.integers(1, 200), max_size=6))
def test_folding_in_portions_is_folding_at_once(sizes):
    records = RECORDS[:400]
    state = ViewState(ScriptedAnalyst)
    left = list(records)
    for size in [*sizes, len(records)]:
        for record in left[:size]:
            state.apply(record)
        left = left[size:]
    whole = state_of(records)
    assert list(state.times) == list(whole.times)
    assert state.analyst.phases() == whole.analyst.phases()


def test_corrected_and_withdrawn_marks_do_not_hold():
    state = state_of(RECORDS)
    count = len(state.marks.entered())
    state.apply(Mark(90, 240.0, 331.0, MarkKind.WALL, "", 41.5, replaces=5))
    assert state.latest_of(keys.WALL_POWER, MarkKind.WALL) == (41.5, 240.0)
    state.apply(Mark(91, 332.0, 332.0, MarkKind.WITHDRAW, replaces=90))
    assert state.latest_of(keys.WALL_POWER, MarkKind.WALL) is None
    assert len(state.marks.entered()) == count - 1


def test_an_empty_tag_takes_one_away_on_the_screen_as_in_the_report():
    entered = [(90, "paste=old"), (91, "lid=off"), (92, "paste=")]
    with_them = state_of([*RECORDS, *(Mark(number, 331.0, 331.0, MarkKind.TAG, text) for number, text in entered)])
    assert with_them.tags == {**state_of(RECORDS).tags, "lid": "off"}


def test_tags_entered_later_count():
    state = state_of([*RECORDS, Mark(90, 331.0, 331.0, MarkKind.TAG, "lid=on")])
    assert state.tags == {"duct": "none", "lid": "on"}


def test_the_end_is_known():
    state = state_of([*RECORDS, SessionEnd(331.0, "asked to")])
    assert state.end == SessionEnd(331.0, "asked to")


@settings(deadline=None)
@example(1.9999999999990905, 40)
@given(st.floats(0, 5000), st.integers(40, 400))
def test_the_pen_is_always_on_the_paper(now_s, count):
    state = ViewState(ScriptedAnalyst)
    state.now_s = now_s
    for step_s in (None, 0.02, 0.5, 10.0):
        view = View(step_s=step_s)
        window = view.window(state, count)
        assert 0 <= window.column(now_s) < window.count


@settings(deadline=None)
@given(st.floats(0, 1700))
def test_a_run_that_fits_is_shown_whole_and_stands_still(now_s):
    state = ViewState(ScriptedAnalyst)
    state.now_s = now_s
    assert View().window(state, 220).first == 0
