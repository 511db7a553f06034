"""Runs held against one another: the laws of it, and the story of the demo whose truth is known."""

import re
from dataclasses import replace
from math import log, sqrt
from pathlib import Path

import pytest
from scipy import stats

from benchmon.analysis.compare.bench_run import bench_run
from benchmon.analysis.compare.compare import compare
from benchmon.analysis.compare.cooling import Cooling, left_open
from benchmon.analysis.compare.effects import MOST_OPEN, Effects
from benchmon.model.comparison import Answer, Doubt, Want
from benchmon.model.records import Machine, Mark, MarkKind, Sample
from benchmon.session.reader import read_session
from benchmon.views.words.comparison import cooling_sentence
from tests.benchmarks.first_bench.reference import Reference

RECORDINGS = Path(__file__).resolve().parents[4] / "recordings"


def session(name: str):
    return read_session(RECORDINGS / f"{name}.session.jsonl")


def run_of(name: str, change=lambda session: session):
    return bench_run(change(session(name)), name)


@pytest.fixture(scope="module")
def bought():
    return run_of("box-as-bought")


@pytest.fixture(scope="module")
def duct():
    return run_of("box-with-duct")


@pytest.fixture(scope="module")
def warm():
    return run_of("box-in-a-warm-room")


def again(run, name, /, **tags):
    """The same readings as another recording with other tags."""
    header = replace(run.summary.header, session_id=name)
    return replace(run, name=name, summary=replace(run.summary, header=header, tags=tags))


def doubts(contrast) -> set[Doubt]:
    return {caveat.doubt for caveat in contrast.caveats}


def test_a_run_and_itself_differ_in_nothing(bought):
    (contrast,) = compare([bought, bought]).contrasts
    for verdict in (contrast.cooling, contrast.speed):
        assert verdict.answer is Answer.SAME
        assert (verdict.change.value, verdict.change.low, verdict.change.high) == (0.0, 0.0, 0.0)
        assert verdict.difference.value == 0.0
    assert contrast.changed == {}
    assert all(row.difference.value in {0.0, None} for phase in contrast.phases for row in phase.rows)
    assert sum(row.difference.value == 0.0 for phase in contrast.phases for row in phase.rows) > 20


@pytest.mark.parametrize("pair", [("bought", "duct"), ("duct", "warm"), ("bought", "warm")])
def test_swapping_changes_signs_only(pair, request):
    one, other = (request.getfixturevalue(name) for name in pair)
    (there,), (back,) = compare([one, other]).contrasts, compare([other, one]).contrasts
    assert (there.at.room_c, there.at.limit_c) == (back.at.room_c, back.at.limit_c)
    for a, b in ((there.cooling, back.cooling), (there.speed, back.speed)):
        assert a.difference.value == pytest.approx(-b.difference.value)
        assert a.difference.low == pytest.approx(-b.difference.high)
        assert 1.0 + a.change.low == pytest.approx(1.0 / (1.0 + b.change.high))
        assert (a.chance, a.more_runs, a.wants) == (pytest.approx(b.chance), b.more_runs, b.wants)
    rows = [
        (row, other)
        for p, q in zip(there.phases, back.phases, strict=True)
        for row, other in zip(p.rows, q.rows, strict=True)
    ]
    for row, other_row in rows:
        if row.difference.value is None:
            assert other_row.difference.why_not == row.difference.why_not
        else:
            assert row.difference.value == pytest.approx(-other_row.difference.value)
            if not row.is_counted:
                assert row.difference.low == pytest.approx(-other_row.difference.high)


def test_the_duct_helped_by_as_much_as_the_bench_knows(bought, duct):
    """The truth is the network of heat stores alone, gone on for ever with the fan as it is there."""
    from benchmon.virtual_bench.demo import demo_box

    (contrast,) = compare([bought, duct]).contrasts
    verdict, at = contrast.cooling, contrast.at
    truth = [Reference(demo_box(1, chapter).spec, at.room_c).capacity_w(at.limit_c) for chapter in ("bought", "duct")]
    assert verdict.answer is Answer.BETTER
    assert verdict.change.low < truth[1] / truth[0] - 1.0 < verdict.change.high
    assert verdict.difference.low < truth[1] - truth[0] < verdict.difference.high
    assert (at.measured, at.runs) == ((1, 0), (1, 1))
    assert Doubt.HELD in doubts(contrast)
    assert contrast.changed == {"duct": ("none", "fitted")}


def test_another_room_is_not_taken_for_another_cooler(duct, warm):
    """It was held back in the warm room, and lost work: but the cooler is the same one."""
    (contrast,) = compare([duct, warm]).contrasts
    assert contrast.cooling.answer is Answer.CANNOT_SAY
    assert contrast.cooling.change.low < 0.0 < contrast.cooling.change.high
    assert contrast.cooling.wants == (Want.MORE_RUNS,)
    assert contrast.speed.answer is Answer.WORSE
    assert {Doubt.ROOM, Doubt.HELD} <= doubts(contrast)


def test_the_best_comes_first_and_many_comparisons_are_said_to_be_many(bought, duct, warm):
    made = compare([bought, warm, duct])
    assert made.is_many
    changes = [contrast.cooling.change for contrast in made.contrasts]
    assert changes[0].value >= changes[1].value
    (alone,) = compare([bought, duct]).contrasts
    (among,) = (contrast for contrast in made.contrasts if contrast.side.tags == {"duct": "fitted"})
    assert among.cooling.change.low < alone.cooling.change.low
    assert among.cooling.chance == pytest.approx(min(2 * alone.cooling.chance, 1.0))
    (both,) = (contrast for contrast in made.contrasts if len(contrast.changed) == 2)
    assert Doubt.MANY_TAGS in doubts(both)


def test_repeats_are_found_by_their_tags_and_tell_the_spread(bought, duct):
    runs = [
        again(bought, "a1", duct="none", run="1"),
        again(bought, "a2", duct="none", run="2"),
        again(duct, "b1", duct="fitted"),
    ]
    made = compare(runs)
    assert [run.name for run in made.before.runs] == ["a1", "a2"]
    assert made.before.tags == {"duct": "none"}
    assert (made.spread.seen, made.spread.degrees) == (pytest.approx(0.0), 1)
    assert compare([bought, duct]).spread.seen is None


def test_runs_of_one_configuration_alone_have_nothing_to_be_held_against(bought):
    runs = [again(bought, name, duct="none", repeat=name) for name in ("1", "2", "3")]
    assert compare(runs).contrasts == ()


def test_runs_with_the_same_pair_are_held_against_one_another_pair_by_pair(bought, duct):
    runs = [
        again(run, f"{run.name}{n}", duct=tag, pair=n)
        for run, tag in ((bought, "none"), (duct, "fitted"))
        for n in "12"
    ]
    (contrast,) = compare(runs).contrasts
    assert contrast.is_paired
    unpaired = [again(runs[0], "x", duct="none", pair="1"), *runs[1:3], again(runs[3], "y", duct="fitted", pair="3")]
    assert not compare(unpaired).contrasts[0].is_paired


def test_a_told_spread_widens_or_narrows(bought, duct):
    def width(spread):
        (contrast,) = compare([bought, duct], spread).contrasts
        return contrast.cooling.change.high - contrast.cooling.change.low

    assert width(0.0) < width(None) < width(0.1)


def without_room(session):
    marks = tuple(
        record for record in session.records if not (isinstance(record, Mark) and record.kind is MarkKind.ROOM)
    )
    return replace(session, records=marks)


def test_without_a_room_nothing_is_said_and_what_would_help_is(bought):
    (contrast,) = compare([bought, run_of("box-with-duct", without_room)]).contrasts
    assert contrast.cooling.answer is Answer.CANNOT_SAY
    assert contrast.cooling.wants == (Want.ROOM,)
    assert "box-with-duct" in contrast.cooling.why_not
    assert contrast.speed.answer is Answer.BETTER


def on_another_machine(session):
    records = tuple(replace(r, processor="Saltmarsh Eight") if isinstance(r, Machine) else r for r in session.records)
    return replace(session, records=records)


def test_another_machine_is_said_and_widens_the_interval(bought, duct):
    (same,) = compare([bought, duct]).contrasts
    (other,) = compare([bought, run_of("box-with-duct", on_another_machine)]).contrasts
    assert Doubt.MACHINE in doubts(other)
    assert Doubt.MACHINE not in doubts(same)
    assert other.cooling.change.low < same.cooling.change.low


def test_an_answer_is_what_the_interval_says():
    def answer(after, u):
        return Effects([0.0], [after], (u, u), 0.0).answer()

    assert answer(0.2, 0.02) is Answer.BETTER
    assert answer(-0.2, 0.02) is Answer.WORSE
    assert answer(0.01, 0.015) is Answer.SAME
    assert answer(0.05, 0.03) is Answer.CANNOT_SAY


def test_more_runs_are_asked_for_where_they_decide_and_not_where_they_cannot():
    few = Effects([0.0], [0.09], (0.03, 0.03), 0.0)
    assert few.answer() is Answer.CANNOT_SAY
    assert few.more_runs() == 1
    more = Effects([0.0, 0.0], [0.09, 0.09], (0.03, 0.03), 0.0)
    assert more.answer() is Answer.BETTER
    assert Effects([0.0], [0.09], (0.03, 0.03), 0.2).more_runs() is None


@pytest.mark.parametrize("value", [-0.2, -0.05, 0.0, 0.1, 0.3])
@pytest.mark.parametrize("share", [0.0, 0.1, 0.3])
def test_the_ends_of_an_interval_are_as_far_away_as_what_is_open_of_them(value, share):
    """Fieller (1954): tried one by one, the changes within it are those that what was found does not rule out."""
    effects = Effects([0.0], [value], (0.02, 0.02), 0.01, share)
    found, (low, high) = effects.difference(), effects.interval()
    t = found.half() / found.u
    tried = [step / 10000.0 for step in range(-10000, 10001)]
    within = [one for one in tried if (found.value - one) ** 2 <= t * t * (found.u**2 + (share * one) ** 2)]
    assert (low, high) == (pytest.approx(min(within), abs=2e-4), pytest.approx(max(within), abs=2e-4))


def test_what_is_open_of_a_change_makes_none_out_of_nothing_and_takes_none_away():
    for share in (0.0, 0.2, 5.0):
        found = Effects([0.0], [0.11], (0.03, 0.03), 0.0, share)
        assert found.answer() is Answer.BETTER
        assert Effects([0.0], [0.09], (0.03, 0.03), 0.0, share).answer() is Answer.CANNOT_SAY
    low, high = found.interval()
    half = found.difference().half()
    assert high == pytest.approx(
        (0.11 + sqrt((1 - MOST_OPEN**2) * half**2 + (MOST_OPEN * 0.11) ** 2)) / (1 - MOST_OPEN**2)
    )
    assert Effects([0.0], [0.0], (0.0, 0.0), 0.0, 0.2).interval() == (0.0, 0.0)


def test_an_answer_of_no_difference_leaves_no_room_for_one_that_matters():
    """10 % more is 0.0953 in logarithms, and so is 10 % less the other way round."""

    def answer(u):
        return Effects([0.0], [0.0], (u, u), 0.0).answer()

    within = log(1.1) / 2.306 / sqrt(2.0)
    assert (answer(within * 0.999), answer(within * 1.001)) == (Answer.SAME, Answer.CANNOT_SAY)
    assert Effects([0.0], [0.05], (0.015, 0.015), 0.0, 0.3).answer() is Answer.BETTER
    assert Effects([0.0], [-0.02], (0.015, 0.015), 0.0).answer() is Answer.SAME
    assert Effects([0.0], [-0.02], (0.025, 0.025), 0.0).answer() is Answer.CANNOT_SAY


def test_more_runs_narrow_what_is_anew_and_nothing_else():
    """By hand: of one run each, with three more, a quarter of the squares stays and 6 degrees are added."""
    effects = Effects([0.0], [0.1], (0.04, 0.03), 0.02)
    low, high = effects.interval(3)
    u = sqrt((0.04**2 + 0.03**2) / 4.0 + 0.02**2)
    degrees = u**4 / ((0.025**4) / 14.0 + 0.02**4 / 50.0)
    assert (high - low) / 2.0 == pytest.approx(stats.t.ppf(0.975, degrees) * u, rel=1e-3)
    paired = Effects([0.0, 0.0], [0.1, 0.1], (0.03, 0.04), 0.0, 0.0, ((0.0, 0.1), (0.0, 0.1)))
    low, high = paired.interval(2)
    assert (high - low) / 2.0 == pytest.approx(stats.t.ppf(0.975, 11) * sqrt(8.0 / 9.0) * 0.05 / sqrt(4.0), rel=1e-3)


def test_the_example_of_the_method_page_is_what_is_computed(bought, duct):
    from benchmon.analysis.compare.compare import sides_of
    from benchmon.analysis.compare.judging import Asked, judge_cooling, shared_by

    before, after = sides_of([bought, duct])
    verdict, at, effects = judge_cooling(Asked(before, after, shared_by(before, after), 0.03, 0.95))
    found = effects.difference()
    told = [
        f"they sustain {verdict.before:.1f} W and {verdict.after:.1f} W",
        f"= {found.value:.3f}. Between limit and room lie {at.limit_c - at.room_c:.1f} K",
        f"*a* = {100 * effects.own_u[0]:.2f} %, *b* = {100 * effects.own_u[1]:.2f} %",
        f"*c* = {100 * effects.common_u:.2f} %",
        f"*g* = {100 * effects.change_u:.1f} %",
        f"= {100 * found.u:.2f} %, with",
        f"= {found.degrees:.0f} degrees",
        f"± {found.half():.3f}",
        f"from {effects.interval()[0]:.3f} to {effects.interval()[1]:.3f}, or {100 * verdict.change.low:.0f} to {100 * verdict.change.high:.0f} % more watts",
    ]
    page = " ".join((RECORDINGS.parent / "docs/method.md").read_text().split())
    assert [one for one in told if one not in page] == []


def without_temperature(session):
    place = [channel.key for channel in session.header.channels].index("processor_temp_c")
    records = tuple(
        replace(r, values=tuple(None if at == place else v for at, v in enumerate(r.values)))
        if isinstance(r, Sample)
        else r
        for r in session.records
    )
    return replace(session, records=records)


def test_without_a_temperature_that_is_what_is_wanted(bought):
    (contrast,) = compare([bought, run_of("box-with-duct", without_temperature)]).contrasts
    assert contrast.cooling.wants == (Want.TEMPERATURE,)


def in_a_room(session, room_c):
    """The same readings, told to be in another room: a cooler that is worse by as much."""
    marks = tuple(
        replace(r, value=room_c) if isinstance(r, Mark) and r.kind is MarkKind.ROOM else r for r in session.records
    )
    return replace(session, records=marks, header=replace(session.header, session_id="elsewhere"))


def test_runs_that_ran_free_are_compared_by_the_rise_and_the_watts_at_the_limit_stand_beside_it(duct):
    """58 K of rise, told to be 53 and so 5 K less: the reading of the room is all that differs."""
    made = compare([duct, run_of("box-with-duct", lambda one: in_a_room(one, 24.0))])
    (contrast,) = made.contrasts
    assert (contrast.cooling.unit, contrast.capacity.unit) == ("K", "W")
    assert contrast.at.power_w == pytest.approx(52.0, abs=1.0)
    assert contrast.at.room_c == pytest.approx(21.5)
    assert contrast.cooling.difference.value == pytest.approx(-5.0, abs=1.0)
    assert contrast.capacity_at.limit_c == pytest.approx(97.0)
    assert contrast.capacity.difference.value > 0.0
    assert contrast.cooling.change.value == pytest.approx(contrast.capacity.change.value, abs=0.03)
    drawn = cooling_sentence(contrast, made.before)
    assert re.search(r"With 52 W \(all cores\) in a 22 °C room it ends \d(\.\d)? ± \d(\.\d)? K cooler", drawn)


def test_where_heat_held_one_the_watts_are_the_verdict_and_are_not_said_twice(bought, duct):
    (contrast,) = compare([bought, duct]).contrasts
    assert contrast.cooling.unit == "W"
    assert contrast.capacity_at is None


def test_a_throttled_run_that_still_slowed_down_is_said_to(bought, duct):
    def still_falling(run):
        (main,) = (phase for phase in run.phases if phase.name == "all cores")
        moved = replace(main, row=replace(main.row, sustained=replace(main.row.sustained, is_settled=False)))
        return replace(run, phases=tuple(moved if phase is main else phase for phase in run.phases))

    assert Doubt.STILL_MOVING not in doubts(compare([bought, duct]).contrasts[0])
    (caveat,) = (
        one for one in compare([still_falling(bought), duct]).contrasts[0].caveats if one.doubt is Doubt.STILL_MOVING
    )
    assert caveat.what == "all cores of box-as-bought"


def test_a_copy_of_a_recording_is_no_repeat(bought, duct):
    """The same readings under two names would make the scatter look small and the interval narrow."""
    a = again(bought, "a1", duct="none")
    copy = replace(a, name="copy of a1")
    made = compare([a, copy, again(duct, "b1", duct="fitted")])
    assert [run.name for run in made.before.runs] == ["a1"]
    assert made.copies == {"copy of a1": "a1"}
    assert made.spread.degrees == 0
    assert compare([a, copy]).copies == {}


def of_run(watts, length_s=900.0, held=False, fit_u=0.04, room_u=0.0):
    return [Cooling(50.0, 0.01, fit_u, room_u, 50.0, held, watts, length_s)]


@pytest.mark.parametrize(
    ("after", "squares"),
    [
        ({"watts": 40.0}, 0.03 * 2 * 0.04**2),
        ({"watts": 50.0}, 0.03 * 2 * 0.04**2 + (0.10 * log(50.0 / 40.0)) ** 2),
        ({"watts": 63.9}, 0.03 * 2 * 0.04**2 + (0.10 * log(63.9 / 40.0)) ** 2),
        ({"watts": 64.1}, None),  # too far apart for the same fit to speak of both
        ({"watts": 40.0, "length_s": 1120.0}, 0.03 * 2 * 0.04**2),
        ({"watts": 40.0, "length_s": 1130.0}, None),
        ({"watts": 40.0, "held": True}, 0.3 * 2 * 0.04**2),
        ({"watts": 40.0, "room_u": 0.02}, 0.03 * 2 * 0.04**2 + 0.02**2),
        ({"watts": 40.0, "fit_u": 0.08}, 0.03 * (0.04**2 + 0.08**2)),
    ],
)
def test_what_two_fits_share_cancels_but_for_what_is_open_of_the_change(after, squares):
    """By hand: fits of 4 % each; swapped, the same. Fits that are not alike count in full, and change and all."""
    sides = of_run(40.0), of_run(**after)
    whole = sum(side[0].fit_u ** 2 + side[0].room_u ** 2 for side in sides)
    one = sqrt(sum(side[0].fit_u ** 2 for side in sides) / 2.0)
    for before, now in (sides, sides[::-1]):
        found = left_open(before, now, same_machine=True, same_work=True)
        assert found.common_u == pytest.approx(sqrt(whole if squares is None else squares))
        assert found.own_u == pytest.approx(0.0 if squares is None else 0.2 * one)
        assert found.change_u == pytest.approx(0.0 if squares is None else 3.0 * one)


@pytest.mark.parametrize(("machine", "work"), [(False, True), (True, False)])
def test_fits_of_two_machines_or_of_two_kinds_of_work_share_nothing(machine, work):
    found = left_open(of_run(40.0), of_run(40.0), same_machine=machine, same_work=work)
    assert (found.own_u, found.common_u, found.change_u) == (0.0, pytest.approx(sqrt(2) * 0.04), 0.0)


def test_all_runs_that_heat_throttled_are_alike():
    found = left_open(of_run(40.0, held=True), of_run(40.0, held=True), same_machine=True, same_work=True)
    assert found.common_u == pytest.approx(sqrt(0.06) * 0.04)
