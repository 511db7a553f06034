"""What a run says of its cooling, or what is missing for it; and under which conditions runs are held against one another."""

from dataclasses import replace
from math import log, sqrt
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from benchmon.analysis.compare import cooling as cooling_module
from benchmon.analysis.compare.bench_run import LoadKind, bench_run
from benchmon.analysis.compare.cooling import Conditions, conditions, cooling, is_held, why_no_cooling
from benchmon.analysis.thermal.grouping import ALL
from benchmon.analysis.thermal.machine import BEYOND_U, EXTRAPOLATED, MODEL_U
from benchmon.analysis.thermal.steady import BELOW_ROOM
from benchmon.model import keys
from benchmon.model.comparison import Want
from benchmon.model.events import Cause
from benchmon.model.findings import Figure
from benchmon.session.reader import read_session

RECORDINGS = Path(__file__).resolve().parents[4] / "recordings"
NOT_HELD, SHORT = "no limitation by heat was found", "it lasted 40 s only"


def bare(model=None, plateau=NOT_HELD, measured=None, predicted=None, means=(keys.PROCESSOR_TEMP,), room_c=20.0):
    """The least of a run that says something of its cooling."""
    known = SimpleNamespace(readings=SimpleNamespace(room_known=True, has_watts=True)) if model is None else model
    watts = SimpleNamespace(measured_w=Figure(measured), predicted_w=Figure(predicted))
    return SimpleNamespace(
        model=known,
        plateau=plateau,
        phases=[SimpleNamespace(row=SimpleNamespace(means=dict.fromkeys(means)))],
        summary=SimpleNamespace(thermal=SimpleNamespace(capacity=watts, room_c=Figure(room_c))),
    )


def phase(state=None, held_s=0.0):
    settles = SimpleNamespace(resistance=Figure(1.0)) if state is None else state
    return SimpleNamespace(state=settles, held_s={Cause.THERMAL: held_s} if held_s else {})


def readings(**known):
    return SimpleNamespace(readings=SimpleNamespace(**{"room_known": True, "has_watts": True, **known}))


PLATEAU = SimpleNamespace(temp_c=82.0, temp_u=0.4)


@pytest.mark.parametrize(
    ("run", "of", "missing"),
    [
        (bare(), phase(), None),
        (bare("too short"), phase(), (Want.LONGER, "too short")),
        (bare("nothing was read", means=()), phase(), (Want.TEMPERATURE, "nothing was read")),
        (bare(), None, (Want.SAME_LOAD, "no phase with load has its like in all runs")),
        (bare(readings(room_known=False)), phase(), (Want.ROOM, "no room temperature was entered")),
        (bare(readings(has_watts=False)), phase(), (Want.POWER, "package power was not read")),
        (bare(), phase(SHORT), (Want.LONGER, SHORT)),
        (bare(), phase(SimpleNamespace(resistance=Figure(why_not="open"))), (Want.LONGER, "open")),
        # throttled for long: its watts were measured, whatever became of the phase
        (bare(plateau=PLATEAU, measured=37.0), phase(SHORT, 60.0), None),
        # throttled for a moment: how it ran before says enough, if it does
        (bare(predicted=40.0), phase(SHORT, 20.0), None),
        (bare(plateau="20 s only", predicted=None), phase(SHORT, 20.0), (Want.LONGER, "20 s only")),
        (bare(plateau=PLATEAU, predicted=None), phase(SHORT, 20.0), (Want.LONGER, SHORT)),
        (bare(plateau="20 s only", predicted=40.0), phase(SHORT), (Want.LONGER, SHORT)),
    ],
)
def test_what_is_missing(run, of, missing):
    assert why_no_cooling(run, of) == missing


def test_throttled_for_long_is_what_gave_its_watts():
    assert is_held(bare(plateau=PLATEAU, measured=37.0))
    assert not is_held(bare(plateau=PLATEAU))
    assert not is_held(bare(measured=37.0))


def run_at(watts, room_c, settled_w=None, **known):
    """A run whose only phase drew so much, and would settle at another power."""
    state = "not said" if settled_w is None else would_settle_at(settled_w)
    one = SimpleNamespace(
        load=LoadKind(ALL), state=state, row=SimpleNamespace(means={keys.PACKAGE_POWER: SimpleNamespace(mean=watts)})
    )
    run = bare(room_c=room_c, **known)
    run.phases = [one]
    return run


def would_settle_at(power_w):
    found = object.__new__(cooling_module.SteadyState)
    object.__setattr__(found, "power_w", power_w)
    return found


def test_free_runs_meet_in_the_middle_of_their_rooms_and_of_their_powers():
    """The power is the geometric mean: half as much and twice as much are as far away."""
    met = conditions([run_at(20.0, 18.0), run_at(45.0, 24.0)])
    assert (met.room_c, met.watts, met.limit_c) == (21.0, pytest.approx(30.0), None)
    assert conditions([run_at(20.0, 18.0, settled_w=22.0), run_at(22.0, 18.0)]).watts == pytest.approx(22.0)
    assert conditions([run_at(0.0, 18.0), run_at(0.0, 18.0)]).watts == pytest.approx(0.1)


def test_one_throttled_run_makes_all_meet_at_the_temperatures_that_were_defended():
    held = [replace_plateau(run_at(30.0, 20.0, measured=37.0), temp_c) for temp_c in (80.0, 84.0)]
    assert conditions([*held, run_at(30.0, 26.0)]) == Conditions(22.0, None, 82.0)


def replace_plateau(run, temp_c):
    run.plateau = SimpleNamespace(temp_c=temp_c)
    return run


@pytest.fixture(scope="module")
def free():
    return bench_run(read_session(RECORDINGS / "box-with-duct.session.jsonl"), "free")


@pytest.fixture(scope="module")
def throttled():
    return bench_run(read_session(RECORDINGS / "box-as-bought.session.jsonl"), "throttled")


def main_of(run):
    return next(one for one in run.phases if one.name == "all cores")


def left_open(run, watts, samples, to_come):
    """By hand: what the page on the method says a fit leaves open."""
    beyond = BEYOND_U * log(watts / run.model.found.reference.power_w)
    return sqrt(np.std(np.log(samples)) ** 2 + MODEL_U**2 + (EXTRAPOLATED * to_come) ** 2 + beyond**2)


def test_the_rise_and_its_doubts_by_hand(free):
    """Anew: 0.2 K and a step of 1 K (δ/√12); the room 0.5 K, half of its square anew, half the same in all runs."""
    found = cooling(free, main_of(free), Conditions(20.0, 50.0, None))
    assert found.kelvin == found.value == pytest.approx(58.0, abs=1.0)
    step, room = sqrt(0.2**2 + 1.0 / 12.0) / found.value, 0.5 / found.value
    assert found.own_u == pytest.approx(sqrt(step**2 + 0.5 * room**2))
    assert found.room_u == pytest.approx(sqrt(0.5) * room)
    assert (found.held, found.watts_seen) == (False, pytest.approx(51.6, abs=0.1))
    assert found.length_s == pytest.approx(540.0, abs=1.0)
    from benchmon.analysis.fit.machines import settled

    even = np.zeros(len(free.model.found.kinds))
    rises = settled(free.model.found, 50.0, 20.0, (0.0, even), 0.0)[0] - 20.0
    to_come = float(np.median(free.model.share_to_come()))
    assert to_come > 0.0
    assert found.fit_u == pytest.approx(left_open(free, 50.0, rises, to_come))


def test_the_watts_and_their_doubts_by_hand(throttled):
    """Throttled, nothing is still to come, and where the plateau lies counts anew."""
    found = cooling(throttled, main_of(throttled), Conditions(19.0, None, 82.0))
    assert (found.held, found.kelvin) == (True, 63.0)
    assert found.value == pytest.approx(37.4, abs=0.5)
    plateau, room = throttled.plateau.temp_u / 63.0, 0.5 / 63.0
    assert found.own_u == pytest.approx(sqrt(plateau**2 + 0.5 * room**2))
    from benchmon.analysis.fit.machines import capacity

    even = np.ones(len(throttled.model.found.kinds))
    assert found.fit_u == pytest.approx(
        left_open(throttled, found.value, capacity(throttled.model.found, 82.0 * even, 19.0 * even), 0.0)
    )


def test_watts_that_are_predicted_have_no_plateau_but_something_to_come(free):
    found = cooling(free, main_of(free), Conditions(19.0, None, 82.0))
    assert not found.held
    assert found.own_u == pytest.approx(sqrt(0.5) * 0.5 / 63.0)


def test_without_power_in_the_phase_the_watts_seen_are_those_worked_out(free):
    bare_main = replace(main_of(free), row=replace(main_of(free).row, means={}))
    found = cooling(free, bare_main, Conditions(19.0, None, 82.0))
    assert found.watts_seen == found.value


def test_what_cannot_be_brought_to_the_conditions_says_why(free):
    main = main_of(free)
    assert cooling(replace(free, model="no model"), main, Conditions(20.0, 50.0, None)) == "no model"
    assert cooling(free, main, Conditions(20.0, None, 20.0)) == "the limit is not above the room"
    assert cooling(free, main, Conditions(20.0, None, 20.001)) == BELOW_ROOM
    upside_down = replace_found(free, own_k=free.model.found.own_k - 500.0)
    assert cooling(upside_down, main, Conditions(20.0, 50.0, None)) == BELOW_ROOM


def replace_found(run, **changes):
    from copy import copy

    model = copy(run.model)
    model.found = replace(model.found, **changes)
    return replace(run, model=model)


def test_a_hot_spot_of_some_cores_is_in_the_rise(free):
    """One core is hotter for the same watts than all together."""
    one = next(phase for phase in free.phases if phase.name == "one core")
    alone = cooling(free, one, Conditions(20.0, 18.0, None))
    assert alone.value > cooling(free, main_of(free), Conditions(20.0, 18.0, None)).value * 1.02
