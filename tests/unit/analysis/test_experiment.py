"""Onsets of several loads together, on courses made by a few lines of arithmetic: one heat store, one running average."""

from dataclasses import replace
from math import exp
from types import SimpleNamespace

import pytest

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.plan.experiment import _weights, experiment, named
from benchmon.model.events import Cause
from benchmon.model.records import LoadAction, LoadChange, Sample
from benchmon.views.words.experiment import experiment_sentences
from tests.support.bench_sessions import sample, session, setting

ROOM_C, K_PER_W, FREE_W, IDLE_W, HELD_W = 22.0, 1.6, 40.0, 5.0, 24.0
LOADS = ((60, 400), (460, 700), (800, 1100))
"""The pauses between are too short to cool down, and of different lengths."""


def held_by_heat(limit_c):
    return lambda t_s, temp_c, average_w, loaded_s: temp_c >= limit_c


def held_by_budget(limit_w):
    return lambda t_s, temp_c, average_w, loaded_s: average_w >= limit_w


def held_by_cap(*times_s):
    return lambda t_s, temp_c, average_w, loaded_s: any(start_s <= t_s for start_s in times_s if t_s - start_s < 200)


def run(is_held, window_s=30.0, tau_s=90.0, loads=LOADS):
    """A session: free until ``is_held`` first says so in a load, then held until the load ends."""
    temp_c, average_w = ROOM_C + K_PER_W * IDLE_W, IDLE_W
    records, held = [setting("highest_clock_mhz", 3000.0), setting("rated_clock_mhz", 3000.0)], False
    for t_s in range(loads[-1][1] + 50):
        for start_s, end_s in loads:
            if t_s == start_s:
                records.append(LoadChange(float(t_s), LoadAction.STARTED, "work on all 4 cores", 4))
            if t_s == end_s:
                records.append(LoadChange(float(t_s), LoadAction.STOPPED, "work on all 4 cores", 4, "the next step"))
        load = next((one for one in loads if one[0] <= t_s < one[1]), None)
        held = load is not None and (held or is_held(t_s, temp_c, average_w, t_s - load[0]))
        power_w = IDLE_W if load is None else HELD_W if held else FREE_W
        clock = 800.0 if load is None else 1900.0 if held else 3000.0
        temp_c += (ROOM_C + K_PER_W * power_w - temp_c) * (1.0 - exp(-1.0 / tau_s))
        average_w += (power_w - average_w) * (1.0 - exp(-1.0 / window_s))
        records.append(sample(t_s, clock, power_w, round(temp_c, 1), 0.0 if load is None else 100.0))
    return session(records)


def conclude(made):
    analysis = LiveAnalysis(look_every_s=float("inf"))
    for record in (made.header, *made.records):
        analysis.feed(record)
    return analysis, experiment(analysis.notebook, analysis.events)


@pytest.mark.parametrize(
    ("is_held", "window_s", "cause"),
    [
        (held_by_heat(68.0), 30.0, Cause.THERMAL),
        (held_by_heat(75.0), 30.0, Cause.THERMAL),
        (held_by_budget(24.0), 28.0, Cause.POWER_LIMIT),
        (held_by_budget(24.0), 8.0, Cause.POWER_LIMIT),
        (held_by_budget(24.0), 56.0, Cause.POWER_LIMIT),
        (held_by_cap(100.0, 600.0, 830.0), 30.0, Cause.OUTSIDE),
    ],
)
def test_the_cause_is_named(is_held, window_s, cause):
    _, found = conclude(run(is_held, window_s))
    assert found.cause is cause, found
    assert len(found.onsets) == 3
    assert sum(found.causes.values()) == pytest.approx(1.0)


def test_heat_is_told_with_its_figures():
    """As somebody at the bench would say it: after how long, at which temperature."""
    _, found = conclude(run(held_by_heat(68.0)))
    (sentence,) = experiment_sentences(found)
    assert sentence.startswith("Held back first after 1:")
    assert sentence.count("at 68") == 3
    assert ": heat (" in sentence


def test_one_onset_is_no_experiment():
    made = run(held_by_heat(68.0))
    first = replace(made, records=tuple(one for one in made.records if getattr(one, "t_s", 0.0) < 420.0))
    assert conclude(first)[1] is None
    assert experiment_sentences(None) == ()


def test_an_event_without_a_name_gets_that_of_the_experiment_and_others_keep_theirs():
    analysis, found = conclude(run(held_by_heat(68.0)))
    event = replace(analysis.events[0], cause=Cause.UNEXPLAINED)
    assert named(event, found).cause is Cause.THERMAL
    assert named(replace(event, cause=Cause.OUTSIDE), found).cause is Cause.OUTSIDE
    assert named(replace(event, number=99), found).cause is Cause.UNEXPLAINED
    assert named(event, None) is event
    opened = replace(found, cause=Cause.UNEXPLAINED)
    assert named(event, opened) is event
    assert "open still" in experiment_sentences(opened)[0]


def test_loads_that_were_never_held_back_speak_against_heat_and_budgets():
    """Once held back at 60 °C for 200 s, and never again though it became as hot and used as much power."""
    _, found = conclude(run(lambda t_s, temp_c, average_w, loaded_s: 100 <= t_s < 102 or 470 <= t_s < 472))
    assert found is None or found.cause is not Cause.THERMAL


def test_loads_that_all_began_at_one_temperature_are_no_experiment():
    """However many: after the same pause at the same heat, heat and a used-up budget strike at the same moment."""
    analysis, found = conclude(run(held_by_heat(68.0), loads=tuple((t_s, t_s + 300) for t_s in range(60, 3600, 900))))
    assert len(analysis.events) == 4
    assert found is None


def test_of_many_loads_that_begin_alike_two_count():
    weights = _weights([SimpleNamespace(start_c=start_c) for start_c in (30.0, 55.0, 55.5, *[70.0] * 40)])
    assert weights[:3] == [1.0, 1.0, 1.0]
    assert sum(weights[3:]) == pytest.approx(2.0)


def test_a_session_of_days_whose_readings_are_means_over_many_seconds_holds_no_experiment():
    analysis, found = conclude(run(held_by_heat(68.0)))
    assert found is not None
    analysis.notebook.trace.bin_s = 4.0
    assert experiment(analysis.notebook, analysis.events) is None


@pytest.mark.parametrize(
    ("column", "first_s", "last_s", "value", "causes"),
    [(1, 1200, 1259, 0.0, {Cause.THERMAL}), (2, 1230, 1230, 3e8, {Cause.THERMAL, Cause.UNEXPLAINED})],
)
def test_damaged_readings_of_one_load_end_nothing(column, first_s, last_s, value, causes):
    """No power at all in a load; a temperature that cannot be, which must not make a scale without end."""

    def damaged(one):
        if not isinstance(one, Sample) or not first_s <= one.t_s <= last_s:
            return one
        return replace(one, values=(*one.values[:column], value, *one.values[column + 1 :]))

    made = run(held_by_heat(68.0), loads=(*LOADS, (1200, 1260)))
    _, found = conclude(replace(made, records=tuple(map(damaged, made.records))))
    assert found.cause in causes
    assert (1200.0 in {onset.load_s for onset in found.onsets}) is (value > 0.0)
