"""Phases that nobody marked, seen in load and power; the real board's log among them."""

import csv
import random

import pytest

from benchmon.analysis.intake.level_steps import LASTS_S, LevelSteps
from benchmon.model import keys
from benchmon.session.table_import import import_table
from tests.benchmarks.score_real_log import LOG, Way
from tests.support.bench_sessions import CHANNELS, sample, session, setting
from tests.support.conclusions import concluded

EIGHT = setting(keys.CORE_COUNT, 8.0)


def phases_of(records, channels=CHANNELS, period_s=1.0):
    return [(row.name, row.start_s) for row in concluded(session(records, channels, period_s)).phases]


def assert_phases(found, wanted, within_s=2.0):
    assert [name for name, _ in found] == [name for name, _ in wanted]
    assert [start_s for _, start_s in found] == pytest.approx([start_s for _, start_s in wanted], abs=within_s)


def noisy(level_pct, rng, sigma=1.5):
    return max(0.0, min(100.0, rng.gauss(level_pct, sigma)))


@pytest.mark.parametrize("knows_cores", [True, False])
def test_one_busy_core_of_eight_begins_a_phase(knows_cores):
    rng = random.Random(4)
    plan = [1.0] * 60 + [12.5] * 120 + [100.0] * 120 + [1.0] * 60
    records = [EIGHT] if knows_cores else []
    records += [sample(t, load=noisy(level, rng), power=5.0 + level / 5.0) for t, level in enumerate(plan)]
    one = "one core" if knows_cores else "part load"
    assert_phases(phases_of(records), [("idle", 0.0), (one, 60.0), ("all cores", 180.0), ("cool-down", 300.0)])


def test_one_busy_core_of_sixteen_begins_a_phase_where_the_cores_are_known():
    rng = random.Random(5)
    plan = [0.6] * 60 + [6.25] * 60 + [0.6] * 60
    records = [setting(keys.CORE_COUNT, 16.0)]
    records += [sample(t, load=noisy(level, rng, 0.6)) for t, level in enumerate(plan)]
    assert_phases(phases_of(records), [("idle", 0.0), ("one core", 60.0), ("cool-down", 120.0)])


@pytest.mark.parametrize("seed", range(4))
def test_the_noise_of_an_idle_machine_begins_none(seed):
    """Ten minutes of a restless desktop: a few per cent, and bursts of one to eight seconds up to half the machine."""
    rng = random.Random(seed)
    loads = []
    while len(loads) < 600:
        loads += [rng.uniform(0.5, 4.0) for _ in range(rng.randint(5, 40))]
        loads += [rng.uniform(5.0, 50.0)] * rng.randint(1, 8)
    assert phases_of([EIGHT, *(sample(t, load=load) for t, load in enumerate(loads))]) == [("idle", 0.0)]


def test_a_load_that_drifts_begins_none():
    assert len(phases_of([EIGHT, *(sample(t, load=30.0 + t / 40.0) for t in range(900))])) == 1


def test_cores_by_their_number():
    plan = [0.0] * 40 + [37.5] * 60 + [55.0] * 60
    names = [name for name, _ in phases_of([EIGHT, *(sample(t, load=load) for t, load in enumerate(plan))])]
    assert names == ["idle", "3 cores", "part load"]


@pytest.mark.parametrize("load", [None, 3.0])
def test_where_load_says_nothing_power_does(load):
    plan = [20.0] * 60 + [95.0] * 120 + [21.0] * 60 + [160.0] * 120 + [20.5] * 60
    found = phases_of([sample(t, load=load, power=power) for t, power in enumerate(plan)])
    low, low_again, low_at_last = (
        ("at 20 W", "at 20 W (2)", "at 20 W (3)") if load is None else ("idle", "cool-down", "cool-down (2)")
    )
    wanted = [(low, 0.0), ("at 95 W", 60.0), (low_again, 180.0), ("at 160 W", 240.0), (low_at_last, 360.0)]
    assert_phases(found, wanted)


def test_power_that_a_limit_takes_begins_none_while_the_load_stays():
    plan = [40.0] * 120 + [18.0] * 120
    records = [sample(t, load=100.0, power=power) for t, power in enumerate(plan)]
    assert phases_of(records) == [("all cores", 0.0)]


def test_bursts_and_teeth_of_power_begin_none():
    teeth = [60.0 if t // 6 % 2 else 20.0 for t in range(300)]
    assert len(phases_of([sample(t, load=None, power=power) for t, power in enumerate(teeth)])) == 1


def test_power_that_creeps_with_leakage_begins_none():
    assert len(phases_of([sample(t, load=None, power=20.0 + t / 30.0) for t in range(600)])) == 1


def test_what_lasts_less_than_a_level_before_the_first_one_is_no_phase():
    plan = [90.0] * 5 + [20.0] * 60 + [95.0] * 60
    found = phases_of([sample(t, load=None, power=power) for t, power in enumerate(plan)])
    assert_phases(found, [("at 20 W", 0.0), ("at 95 W", 65.0)])


@pytest.mark.parametrize("period_s", [0.1, 1.0, 5.0, 10.0])
def test_steps_are_found_at_any_sampling_and_dated_back(period_s):
    records = []
    for place in range(int(300 / period_s)):
        t_s = place * period_s
        records.append(sample(t_s, load=2.0 if t_s < 100.0 else 100.0))
    assert_phases(
        phases_of(records, period_s=period_s), [("idle", 0.0), ("all cores", 100.0)], within_s=1.5 * max(period_s, 1.0)
    )


@pytest.mark.parametrize("hertz", [10, 2, 1])
@pytest.mark.parametrize("load", ["the board's", "the host's", "none"])
def test_the_real_boards_log_falls_into_its_levels(hertz, load):
    """A real accelerator board, measured for this project: idle, a light load, idle, a full one, idle."""
    records = list(Way(hertz, load, "nothing").records())
    header, samples = records[0], records[1:]
    found = phases_of(samples, header.channels, header.period_s)
    assert [start_s for _, start_s in found] == pytest.approx([0.0, 46.0, 166.0, 206.0, 446.0], abs=2.0)
    names = [name for name, _ in found]
    if load == "the board's":
        assert names == ["idle", "part load", "cool-down", "all cores", "cool-down (2)"]
    elif load == "the host's":
        assert [names[place] for place in (0, 2, 4)] == ["idle", "cool-down", "cool-down (2)"]
        assert names[1].startswith("at 3") and names[3].startswith("at 69")
    else:
        assert names[0] == names[2].removesuffix(" (2)") == names[4].removesuffix(" (3)") == "at 124 W"


def test_an_imported_table_falls_into_phases_too(tmp_path):
    """The board's own columns, as a stranger's table: everything the importer knows, at 2 Hz."""
    with LOG.open(newline="") as file:
        rows = list(csv.DictReader(file))[::5]
    lines = ["t_s,clock_mhz,power_w,temp_c"]
    lines += [f"{row['t_s']},{row['clock_mhz']},{row['power_w']},{row['temp_c']}" for row in rows]
    table = tmp_path / "board.csv"
    table.write_text("\n".join(lines) + "\n")
    phases = concluded(import_table(table).session).phases
    assert [row.start_s for row in phases] == pytest.approx([0.0, 46.0, 166.0, 206.0, 446.0], abs=2.0)


def test_live_and_stored_phases_are_the_same():
    from benchmon.analysis.live import LiveAnalysis

    rng = random.Random(1)
    plan = [2.0] * 60 + [50.0] * 100 + [2.0] * 60
    made = session([sample(t, load=noisy(level, rng), power=5 + level) for t, level in enumerate(plan)])
    live = LiveAnalysis()
    live.feed(made.header)
    for record in made.records:
        live.feed(record)
    assert live.phases() == concluded(made).phases


# --- the finder of steps by itself -----------------------------------------------------------------------------------


def steps_of(values, least_move=5.0, most_unrest=5.0):
    finder = LevelSteps(least_move, most_unrest)
    return [(at, step) for at, value in enumerate(values) if (step := finder.feed(float(at), value)) is not None]


def test_a_step_is_told_once_it_has_lasted_and_dated_to_its_first_value():
    ((told_s, step),) = steps_of([10.0] * 40 + [30.0] * 40)
    assert step.began_s == 40.0
    assert (step.before, step.after) == (10.0, 30.0)
    assert LASTS_S / 2 < told_s - step.began_s <= LASTS_S


def test_up_and_down_again_are_two_steps():
    found = [step for _, step in steps_of([10.0] * 40 + [30.0] * 40 + [10.0] * 40)]
    assert [step.began_s for step in found] == [40.0, 80.0]


def test_a_step_in_noise_is_dated_to_within_a_few_bins():
    rng = random.Random(9)
    values = [rng.gauss(2.0, 1.5) for _ in range(60)] + [rng.gauss(12.5, 1.5) for _ in range(60)]
    ((_, step),) = steps_of(values)
    assert step.began_s == pytest.approx(60.0, abs=2.0)


def test_a_ramp_is_one_step_at_most_when_it_is_over():
    values = [10.0] * 40 + [10.0 + 2.0 * t for t in range(40)] + [90.0] * 60
    found = [step for _, step in steps_of(values)]
    assert len(found) == 1
    assert found[0].after > 80.0


def test_nothing_is_said_of_values_too_few_to_be_a_level():
    assert steps_of([10.0] * 40 + [30.0] * 5 + [10.0] * 40) == []
