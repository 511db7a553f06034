"""The strip of the work rate: in billions a second, and never beside the rates of other work."""

from dataclasses import replace

import pytest

from benchmon.model import keys
from benchmon.model.records import LoadAction, LoadChange
from benchmon.views.tui.quantities import TEMP, WORK, can_lie_behind, shown_quantities
from benchmon.views.tui.state import ViewState
from tests.support.bench_session import Bench, ScriptedAnalyst, bench_records

RECORDS = bench_records(Bench(until_s=200.0))


def state_with(*started: LoadChange) -> ViewState:
    state = ViewState(ScriptedAnalyst)
    for record in RECORDS:
        if not isinstance(record, LoadChange):
            state.apply(record)
    for change in started:
        state.apply(change)
    return state


def work_of(state):
    return next(one for one in shown_quantities(state) if one.key == keys.WORK_RATE)


WIDEST = LoadChange(200.0, LoadAction.STARTED, "w", 4, work="widest", unit_operations=3e7)
MEMORY = LoadChange(200.0, LoadAction.STARTED, "m", 4, work="memory", unit_bytes=2e7)
COMMAND = LoadChange(200.0, LoadAction.STARTED, "./bench")


@pytest.mark.parametrize(
    ("started", "words"),
    [
        (WIDEST, "6.00 GFlop/s"),
        (MEMORY, "4.00 GB/s"),
        (replace(WIDEST, work="whole"), "6.00 Gop/s"),
        (replace(WIDEST, work="mixture", unit_bytes=1e6), "6.00 GFlop/s"),
        (replace(WIDEST, unit_operations=None), "200.0 /s"),
        (COMMAND, "200.0 /s"),
    ],
)
def test_the_rate_says_what_it_is(started, words):
    work = work_of(state_with(started))
    assert work.words(200.0, 0.1) == words
    assert work.words(None, 0.1) == "–"
    assert work.unit in words or work is WORK


def test_where_there_were_several_kinds_units_are_counted():
    assert work_of(state_with(WIDEST, MEMORY)) is WORK
    assert work_of(state_with(WIDEST, WIDEST)).unit == "GFlop/s"
    assert work_of(state_with(WIDEST, replace(WIDEST, unit_operations=2e7))) is WORK


def test_rates_of_other_work_do_not_lie_behind():
    now, same, other = state_with(WIDEST), state_with(WIDEST), state_with(MEMORY)
    assert can_lie_behind(work_of(now), now, same)
    assert not can_lie_behind(work_of(now), now, other)
    assert can_lie_behind(TEMP, now, other)
