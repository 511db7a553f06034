"""The third bench is what it says it is: seeded, with truth in every run, and a rod of heat that can be reckoned."""

import math

import pytest

from benchmon.analysis.intake.series import ObservationMaker
from benchmon.model import keys
from benchmon.model.events import Cause
from benchmon.model.records import SessionHeader, Setting
from tests.benchmarks.third_bench.bench import HOTTEST_C, KINDS, OVERSHOOT_K, make
from tests.benchmarks.third_bench.kind import FAR_MARGINS_K
from tests.benchmarks.third_bench.limits import Budget, Now
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.metal import Metal, draw_metal, sized
from tests.benchmarks.third_bench.script import MARGINS_K
from tests.benchmarks.third_bench.silicon import draw_board, draw_silicon


def seen_of(run, knows=("limits", "counter"), margin_k=None):
    maker = ObservationMaker()
    return [seen for record in run.records(knows, margin_k) if (seen := maker.feed(record)) is not None]


def test_the_same_seed_is_the_same_run_and_another_is_not():
    assert make("turbo", 3) == make("turbo", 3)
    assert make("turbo", 3).seen != make("turbo", 4).seen


@pytest.mark.parametrize("name", KINDS)
def test_truth_is_what_the_kind_says_and_lies_within_the_run(name):
    run = make(name, 2)
    kind = KINDS[name]
    assert {span.cause for span in run.truth} == {cause.value for cause in kind.causes}
    assert all(0.0 < span.start_s < span.end_s <= run.duration_s for span in run.truth)
    assert run.margin_k in kind.margins_k
    defends = Cause.THERMAL in kind.causes
    assert run.reference_c <= (97.0 if defends else HOTTEST_C)
    for span in run.truth:
        assert span.plateau_c < run.reference_c + (OVERSHOOT_K if defends else 0.01)


def test_the_told_limit_lies_as_far_above_the_defended_one_as_asked():
    run = make("steady", 2)
    for margin_k in MARGINS_K:
        assert seen_of(run, margin_k=margin_k)[0].temp_limit_c == round(run.reference_c + margin_k)
    assert {make("steady", seed).margin_k for seed in range(5)} == set(MARGINS_K)
    assert {make("turbo", seed).margin_k for seed in range(3)} == set(FAR_MARGINS_K)


def test_the_counter_counts_at_the_told_limit_and_so_says_nothing_of_another_that_is_defended():
    run = make("steady", 0)
    assert seen_of(run, margin_k=0.0)[-1].throttle_count > 0
    assert seen_of(run, margin_k=12.0)[-1].throttle_count == 0


def test_knowing_less_only_hides_values():
    run = make("hand_told", 1)
    most, least = seen_of(run), seen_of(run, ())
    assert most[-1].clock_cap_mhz is not None and most[-1].temp_limit_c is not None
    assert (least[-1].clock_cap_mhz, least[-1].temp_limit_c, least[-1].power_limit_w, least[-1].work_rate) == (
        None,
    ) * 4
    assert [one.clock_mhz for one in most] == [one.clock_mhz for one in least]


def test_a_limit_that_changes_is_told_when_it_changes():
    records = list(make("limit_changes", 0).records(("limits",)))
    told = [record for record in records if isinstance(record, Setting) and record.key == keys.POWER_LIMIT_LONG]
    assert len(told) >= 2
    assert told[0].t_s == 0.0 < told[1].t_s
    assert told[1].value < told[0].value


def test_a_guest_has_no_sensors_and_a_board_reads_a_load_that_is_not_its_own():
    header = next(iter(make("guest_neighbours", 1).records(("limits",))))
    assert isinstance(header, SessionHeader)
    assert {channel.key for channel in header.channels} == {keys.LOAD, keys.WORK_RATE, keys.WORK_SHARE}
    loads = [one.load_pct for one in seen_of(make("board_full", 2)) if one.load_pct is not None]
    assert max(loads, default=0.0) < 9.0


def test_neighbours_take_work_but_neither_clock_nor_power():
    run = make("neighbours", 0)
    rows = [row for _, row in run.seen.rows if None not in row.values() and row[keys.LOAD] > 90.0]
    work, clocks = (sorted(row[key] for row in rows) for key in (keys.WORK_RATE, keys.CLOCK))
    few = len(rows) // 20
    assert not run.truth
    assert clocks[few] > 0.95 * clocks[-few]
    assert work[few] < 0.9 * work[-few]


def _settled(metal: Metal, power_w: float, air: float) -> list[float]:
    temps_c = [20.0] * len(metal.fins_w_per_k)
    for _ in range(60_000):
        metal.step(temps_c, power_w, 20.0, air, 0.1)
    return temps_c


def test_the_rod_settles_where_a_hand_reckons():
    """Two slices, fins on the outer one alone, air that hardly warms: 30 W through 2 W/K, then off 1.5 W/K of fins.

    By hand: fins 20 + 30 / 1.5 = 40 °C, die 15 K above. At an eighth of the air's speed the fins take 0.125^0.6 = 0.2872
    of it: 20 + 30 / (1.5 × 0.2872) = 89.64 °C.
    """
    metal = Metal((5.0, 50.0), (2.0,), (0.0, 1.5), 1e9, is_passive=False)
    assert _settled(metal, 30.0, 1.0) == pytest.approx([55.0, 40.0], abs=0.01)
    assert _settled(metal, 30.0, 0.125)[1] == pytest.approx(89.64, abs=0.02)


def test_moved_air_is_warmed_by_half_of_what_it_takes():
    """By hand: 30 W warm air of 10 W/K by 3 K, half of it on the way: fins stand 20 + 1.5 + 20 °C."""
    metal = Metal((5.0, 50.0), (2.0,), (0.0, 1.5), 10.0, is_passive=False)
    assert _settled(metal, 30.0, 1.0)[1] == pytest.approx(41.5, abs=0.01)


def test_still_air_takes_more_the_hotter_the_fins():
    """By hand: P = 1.5 × rise^1.25 / 30^0.25, so twice the power raises the fins by 2^(1/1.25) = 1.741 and not 2."""
    metal = Metal((5.0, 50.0), (2.0,), (0.0, 1.5), 1e9, is_passive=True)
    one, two = (_settled(metal, power_w, 1.0)[1] - 20.0 for power_w in (45.0, 90.0))
    assert one == pytest.approx(30.0, abs=0.05)
    assert two / one == pytest.approx(2.0**0.8, rel=0.002)


@pytest.mark.parametrize("passive", [False, True])
def test_what_is_reckoned_to_settle_is_where_the_steps_lead(passive):
    metal = sized(draw_metal(Luck("rod"), passive=passive), 40.0, 20.0, 80.0)
    reckoned = metal.settles_c(40.0, 20.0)
    assert reckoned[0] == pytest.approx(80.0, abs=0.01)
    assert _settled(metal, 40.0, 1.0) == pytest.approx(reckoned, abs=0.3)


def test_the_clock_within_a_power_draws_that_power():
    luck = Luck("chip")
    for silicon in (draw_silicon(luck), draw_board(luck)):
        full_w = silicon.draws_w(silicon.bins_mhz[-1], silicon.cores, 1.0, 70.0)
        mhz = silicon.clock_within(0.6 * full_w, silicon.cores, 1.0, 70.0)
        assert silicon.draws_w(mhz, silicon.cores, 1.0, 70.0) == pytest.approx(0.6 * full_w)
        assert mhz < silicon.bins_mhz[-1]


def test_credit_lasts_as_long_as_its_window_and_is_then_gone():
    """By hand: a limit of 10 W and 20 s at 15 W: 100 J of credit, spent at 5 W above the limit in 20 s."""
    silicon = draw_silicon(Luck("chip"))
    budget = Budget(Luck("budget"), [(0.0, 10.0)], 20.0, 1.5, starts_empty=False)
    budget._meter, budget._every_s = 1.0, 0.1
    now = Now(silicon, die_c=60.0, power_w=15.0, given_mhz=1e6, working=float(silicon.cores), is_busy=True)
    allowed = []
    for step in range(400):
        now.t_s = step * 0.1
        budget.look(now)
        allowed.append(budget.ceiling_mhz)
    assert math.isclose(allowed[100], max(allowed), rel_tol=0.2)
    spent_s = next(step for step, mhz in enumerate(allowed) if mhz < 0.7 * max(allowed)) * 0.1
    assert 15.0 < spent_s <= 20.2
