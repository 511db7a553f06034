"""Which quantity is compared, what decides the word of the answer, and what would decide it: each rule by itself."""

from dataclasses import replace
from math import log, sqrt
from pathlib import Path
from types import SimpleNamespace

import pytest

from benchmon.analysis.compare import judging
from benchmon.analysis.compare.bench_run import OTHER_KIND, OTHER_SIZE, WORK_NOT_TOLD, Group, LoadKind, bench_run
from benchmon.analysis.compare.compare import ASSUMED_SPREAD, compare
from benchmon.analysis.compare.differences import RUN_U, SENSOR_U_K, Shared
from benchmon.analysis.compare.judging import Asked, judge_capacity, judge_cooling, judge_speed, pairs_of, shared_by
from benchmon.analysis.thermal.grouping import ALL, IDLE
from benchmon.analysis.thermal.steady import COUNTER_U
from benchmon.model import keys
from benchmon.model.comparison import Answer, At, Want
from benchmon.model.findings import Figure, Score
from benchmon.session.reader import read_session
from tests.support.compared_runs import again, on_machine, settled, with_main, with_row

RECORDINGS = Path(__file__).resolve().parents[4] / "recordings"


@pytest.fixture(scope="module")
def free():
    return settled(bench_run(read_session(RECORDINGS / "box-with-duct.session.jsonl"), "free"))


@pytest.fixture(scope="module")
def throttled():
    return bench_run(read_session(RECORDINGS / "box-as-bought.session.jsonl"), "throttled")


def side(*pairs):
    return SimpleNamespace(runs=[SimpleNamespace(pair=pair) for pair in pairs])


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        (("1", "2"), ("1", "2"), ((0, 0), (1, 1))),
        (("1", "2"), ("2", "1"), ((0, 1), (1, 0))),
        (("1",), ("1",), ()),  # one pair has no scatter
        (("1", None), ("1", None), ()),
        (("1", "2"), ("1", "3"), ()),
        (("1", "2"), ("1", "2", "3"), ()),
        (("1", "1"), ("1", "1"), ()),
    ],
)
def test_runs_are_paired_only_where_each_has_its_partner(before, after, expected):
    assert pairs_of(side(*before), side(*after)) == expected


def bare(clock=3000.0, rate=None, scores=(), load=None, name="run"):
    """The least of a run that has a speed."""
    values = {keys.CLOCK: clock, keys.WORK_RATE: rate}
    phase = SimpleNamespace(
        name="all cores",
        load=LoadKind(ALL, work="widest") if load is None else load,
        row=SimpleNamespace(means={}, scores=tuple(Score(value, named, Figure()) for value, named in scores)),
        reading=values.get,
    )
    return SimpleNamespace(name=name, phases=(phase,), pair=None)


def speed(before, after, other_work="", sureness=0.95):
    groups = [Group(tuple(one), {}) for one in (before, after)]
    return judge_speed(*groups, Shared(machine=True, other_work=other_work), sureness)


def test_speed_is_the_work_rate_else_a_score_else_the_clock():
    rated, scored, plain = bare(rate=100.0, scores=[(900.0, "pts")]), bare(scores=[(900.0, "pts")]), bare()
    assert [key for _, key in (speed([one], [one]) for one in (rated, scored, plain))] == [
        keys.WORK_RATE,
        "score pts",
        keys.CLOCK,
    ]
    assert [speed([one], [one])[0].unit for one in (rated, scored, plain)] == ["1/s", "", "MHz"]


def test_a_quantity_that_one_run_lacks_is_passed_over():
    assert speed([bare(rate=100.0)], [bare()])[1] == keys.CLOCK
    assert speed([bare(rate=100.0)], [bare(rate=0.0)])[1] == keys.CLOCK
    assert speed([bare(scores=[(900.0, "pts")])], [bare(scores=[(900.0, "s")])])[1] == keys.CLOCK
    verdict, key = speed([bare(clock=None)], [bare()])
    assert (verdict.answer, verdict.why_not, key) == (
        Answer.CANNOT_SAY,
        "neither work rate, score nor clock was read in all runs",
        "",
    )


@pytest.mark.parametrize("why", [OTHER_KIND, WORK_NOT_TOLD])
def test_another_kind_of_work_has_no_speed_to_compare_and_no_clock(why):
    """Wide instructions take the clock down by themselves."""
    for one in (bare(rate=100.0), bare(scores=[(900.0, "pts")]), bare()):
        verdict, key = speed([one], [one], why)
        assert (verdict.why_not, verdict.wants, key) == (why, (Want.SAME_LOAD,), "")


def test_of_units_of_another_size_the_rate_is_not_compared_but_a_score_and_the_clock_are():
    assert speed([bare(rate=100.0)], [bare(rate=50.0)], OTHER_SIZE)[1] == keys.CLOCK
    assert speed([bare(rate=100.0, scores=[(9.0, "pts")])], [bare(scores=[(9.0, "pts")])], OTHER_SIZE)[1] == "score pts"


def test_a_speed_needs_a_phase_that_all_runs_have():
    idle = bare(rate=100.0, load=LoadKind(IDLE))
    verdict, key = speed([bare(rate=100.0)], [idle])
    assert (verdict.why_not, key) == ("no phase with load has its like in all runs", "")


def test_speeds_by_hand():
    """Two runs differ by 0.75 % times √2 (u), with 8 degrees: 2.306 (GUM G.2) · 1.061 % = 2.45 %."""
    verdict, _ = speed([bare(rate=100.0)], [bare(rate=110.0)])
    half = 2.306 * RUN_U * sqrt(2.0)
    assert verdict.change.low == pytest.approx(1.1 * (1.0 - half) - 1.0, abs=2e-3)
    assert (verdict.before, verdict.after) == (pytest.approx(100.0), pytest.approx(110.0))
    assert verdict.answer is Answer.BETTER
    assert speed([bare(rate=110.0)], [bare(rate=100.0)])[0].answer is Answer.WORSE
    assert speed([bare(rate=100.0)], [bare(rate=101.0)])[0].answer is Answer.SAME
    means, _ = speed([bare(rate=100.0), bare(rate=121.0)], [bare(rate=110.0)])
    assert means.before == pytest.approx(110.0)  # the geometric mean: shares are what is compared


def test_of_many_comparisons_each_is_surer_and_its_chance_larger():
    """Bonferroni: of two, intervals of 97.5 %, chances twice as large and never above one."""
    alone, _ = speed([bare(rate=100.0)], [bare(rate=103.0)])
    among, _ = speed([bare(rate=100.0)], [bare(rate=103.0)], sureness=0.975)
    assert among.chance == pytest.approx(2.0 * alone.chance)
    assert among.change.low < alone.change.low
    assert speed([bare(rate=100.0)], [bare(rate=100.01)], sureness=0.975)[0].chance == 1.0


def test_what_the_runs_have_in_common(free):
    (main,) = (one for one in free.phases if one.name == "all cores")
    scalar = with_main(again(free, "b"), load=replace(main.load, work="scalar"))
    asked = [
        shared_by(Group((free,), {}), Group(tuple(others), {}))
        for others in (
            (free,),
            (again(free, "b"),),
            (again(free, "b"), on_machine(again(free, "c"), processor="Other")),
            (again(free, "b"), scalar),
        )
    ]
    assert [(one.machine, one.other_work, one.itself) for one in asked] == [
        (True, "", True),
        (True, "", False),
        (False, "", False),
        (True, OTHER_KIND, False),
    ]


def asked(before, after, *, machine=True, spread=0.03):
    return Asked(Group((before,), {}), Group((after,), {}), Shared(machine=machine), spread, 0.95)


def test_the_rise_is_compared_of_free_runs_and_the_watts_as_soon_as_heat_throttled_one(free, throttled):
    verdict, at, _ = judge_cooling(asked(free, again(free)))
    assert (verdict.unit, at.limit_c, at.phase) == ("K", None, "all cores")
    verdict, at, _ = judge_cooling(asked(free, throttled))
    assert (verdict.unit, at.power_w, at.measured) == ("W", None, (0, 1))


def test_less_rise_is_better_and_more_watts_are(free, throttled):
    assert judge_cooling(asked(throttled, free))[0].answer is Answer.BETTER
    assert judge_cooling(asked(free, throttled))[0].answer is Answer.WORSE
    warmer = replace(free, model=with_rise(free.model, 1.4))
    verdict, _, _ = judge_cooling(asked(warmer, again(free)))
    assert (verdict.answer, verdict.change.value) == (Answer.BETTER, pytest.approx(0.4, abs=0.05))
    assert judge_cooling(asked(free, replace(again(free), model=warmer.model)))[0].answer is Answer.WORSE


def with_rise(model, factor):
    """The same machine with a cooler that costs so many times as much."""
    from copy import copy

    other = copy(model)
    found = model.found
    other.found = replace(found, resistances=found.resistances * factor, own_k=found.own_k * factor)
    return other


def test_a_run_that_says_nothing_is_named_and_a_load_that_nobody_shares_is_not_one_run_s_fault(free):
    no_state = with_main(again(free, "short"), state="it lasted 40 s only")
    assert judge_cooling(asked(free, no_state))[0].why_not == "it lasted 40 s only (short)"
    idle = replace(again(free, "idle"), phases=free.phases[:1])
    verdict, at, effects = judge_cooling(asked(free, idle))
    assert verdict.why_not == "no phase with load has its like in all runs"
    assert (at, effects, verdict.wants) == (None, None, (Want.SAME_LOAD,))


def test_watts_at_the_limit_stand_beside_a_rise_where_every_run_tells_a_limit(free):
    def limited(run, limit_c):
        thermal = replace(run.summary.thermal, limit_c=Figure(limit_c))
        return replace(run, summary=replace(run.summary, thermal=thermal))

    at = judge_cooling(asked(free, again(free)))[1]
    verdict, told = judge_capacity(asked(limited(free, 90.0), limited(again(free), 100.0)), at)
    assert (verdict.unit, told.limit_c) == ("W", 95.0)
    verdict, told = judge_capacity(asked(free, limited(again(free), None)), at)
    assert (verdict.why_not, told) == ("no limit temperature is known in all runs", None)
    for other in (None, replace(at, power_w=None, limit_c=82.0)):
        assert judge_capacity(asked(free, again(free)), other)[1] is None


def test_another_machine_has_another_counter_and_another_sensor(free):
    """By hand: 1.7 % of the power and 1.5 K of the rise, each twice, as squares on top of the rest."""
    other = judge_cooling(asked(free, again(free), machine=False))[2]
    kelvin = judge_cooling(asked(free, again(free)))[0].before
    fits = [one.fit_u for one in (cooling_of(free), cooling_of(again(free)))]
    rooms = 2.0 * cooling_of(free).room_u ** 2
    assert other.own_u[0] == pytest.approx(sqrt(cooling_of(free).own_u ** 2 + 0.03**2))
    apart = 2.0 * COUNTER_U**2 + 2.0 * (SENSOR_U_K / kelvin) ** 2
    assert other.common_u == pytest.approx(sqrt(fits[0] ** 2 + fits[1] ** 2 + rooms + apart))


def cooling_of(run):
    from benchmon.analysis.compare.cooling import conditions, cooling
    from benchmon.analysis.compare.matching import main_phase

    return cooling(run, main_phase(run, [run]), conditions([run, run]))


def test_how_a_cooler_sits_is_expected_anew_in_each_run(free):
    loose, tight = (judge_cooling(asked(free, again(free), spread=spread))[2] for spread in (0.04, 0.0))
    for one, other in zip(loose.own_u, tight.own_u, strict=True):
        assert one == pytest.approx(sqrt(other**2 + 0.04**2))


def with_value(effects_u, value, **of_at):
    """A verdict from a difference that was drawn, and not from runs."""
    effects = judging.Effects([0.0], [value], (effects_u, effects_u), 0.0)
    return judging._told(effects, Shared(machine=True), [[10.0], [10.0 * 2.718281828**value]], "W")


def test_what_would_decide_it_is_more_runs_where_they_can_and_longer_ones_where_not():
    assert with_value(0.03, 0.09).wants == (Want.MORE_RUNS,)
    assert (with_value(0.2, 0.05).wants, with_value(0.2, 0.05).more_runs) == ((Want.LONGER,), None)
    assert with_value(0.01, 0.09).wants == with_value(0.01, 0.0).wants == ()


def test_where_heat_throttled_only_one_the_runs_must_be_made_alike(free, throttled):
    verdict, at, _ = judge_cooling(asked(free, replace(again(throttled), model=free.model), spread=0.2))
    assert not at.is_alike
    assert (verdict.answer, verdict.more_runs, verdict.wants) == (Answer.CANNOT_SAY, None, (Want.ALIKE,))
    verdict, _, _ = judge_cooling(asked(free, again(free), spread=0.2, machine=False))
    assert verdict.wants == (Want.SAME_MACHINE,)
    for other_work, want in ((OTHER_KIND, Want.SAME_LOAD), (WORK_NOT_TOLD, Want.SAME_LOAD), (OTHER_SIZE, Want.LONGER)):
        other = replace(asked(free, again(free), spread=0.2), shared=Shared(machine=True, other_work=other_work))
        assert judge_cooling(other)[0].wants == (want,)
    verdict, at, _ = judge_cooling(asked(free, again(free), spread=0.2))
    assert at.is_alike
    assert verdict.wants == (Want.LONGER,)


@pytest.mark.parametrize(
    ("measured", "expected"), [((0, 0), True), ((1, 2), True), ((1, 0), False), ((0, 2), False), ((1, 1), False)]
)
def test_watts_are_alike_if_all_were_measured_or_all_predicted(measured, expected):
    assert At(20.0, None, 82.0, (1, 2), measured, "all cores").is_alike is expected


def test_nobody_told_how_coolers_sit_then_three_per_cent_are_assumed(free):
    made = compare([free, again(free)])
    assert (made.spread.expected, made.spread.is_told) == (ASSUMED_SPREAD, False) == (0.03, False)
    made = compare([free, again(free)], 0.01)
    assert (made.spread.expected, made.spread.is_told) == (0.01, True)


def test_the_difference_of_logarithms_is_what_swapping_turns_round(free, throttled):
    there, back = (judge_cooling(asked(*pair))[2].difference() for pair in ((free, throttled), (throttled, free)))
    assert there.value == pytest.approx(-back.value)
    assert log(judge_cooling(asked(free, throttled))[0].after) - log(
        judge_cooling(asked(free, throttled))[0].before
    ) == pytest.approx(there.value)


def test_a_score_counts_as_the_last_one_that_was_entered(free):
    runs = [
        with_row(again(free, name), scores=(Score(1.0, "pts", Figure()), Score(last, "pts", Figure())))
        for name, last in (("a", 900.0), ("b", 990.0))
    ]
    groups = [Group((one,), {}) for one in runs]
    phases = [tuple(one for one in run.phases if one.name == "all cores") for run in runs]
    assert [judging._speed("score pts", of[0]) for of in phases] == [900.0, 990.0]
    assert judge_speed(*groups, Shared(machine=True), 0.95)[1] == keys.WORK_RATE
