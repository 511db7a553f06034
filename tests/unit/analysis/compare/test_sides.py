"""How runs are put together and told apart: sides by their tags, copies, what changed, which phases of repeats count."""

from copy import copy
from dataclasses import replace
from math import log, sqrt
from pathlib import Path

import pytest
from scipy import stats

from benchmon.analysis.compare import samples
from benchmon.analysis.compare.bench_run import bench_run
from benchmon.analysis.compare.compare import compare, sides_of
from benchmon.analysis.compare.samples import EXPECTED_DEGREES, Difference, Sample, of_pairs, of_two
from benchmon.model import keys
from benchmon.model.comparison import Doubt
from benchmon.model.findings import Figure, Score
from benchmon.session.reader import read_session
from tests.support.compared_runs import again, settled, with_row

RECORDINGS = Path(__file__).resolve().parents[4] / "recordings"


@pytest.fixture(scope="module")
def free():
    return settled(bench_run(read_session(RECORDINGS / "box-with-duct.session.jsonl"), "free"))


@pytest.fixture(scope="module")
def throttled():
    return bench_run(read_session(RECORDINGS / "box-as-bought.session.jsonl"), "throttled")


def named(run, name, /, **tags):
    return replace(again(run, name, tags=tags), name=name)


def test_one_run_is_nothing_to_compare(free):
    with pytest.raises(ValueError, match="two runs"):
        compare([free])


def test_two_runs_are_two_sides_whatever_their_tags(free):
    sides = sides_of([named(free, "a", paste="x"), named(free, "b", paste="x")])
    assert [[run.name for run in side.runs] for side in sides] == [["a"], ["b"]]


def test_more_are_put_together_by_their_tags_in_the_order_they_are_given(free):
    runs = [named(free, "b1", paste="b"), named(free, "a1", paste="a"), named(free, "b2", paste="b"), named(free, "n")]
    assert [[run.name for run in side.runs] for side in sides_of(runs)] == [["b1", "b2"], ["a1"], ["n"]]


@pytest.mark.parametrize("tag", ["run", "repeat", "pair", "Run"])
def test_tags_that_number_runs_are_no_part_of_a_configuration(tag, free):
    runs = [named(free, name, **{"paste": "a", tag: name}) for name in "123"]
    (side,) = sides_of(runs)
    assert (len(side.runs), side.tags) == (3, {"paste": "a"})
    assert [run.pair for run in runs] == (["1", "2", "3"] if tag == "pair" else [None] * 3)


def test_which_tags_changed_is_told_in_order_and_with_what_was_not_there(free):
    before, after = (
        named(free, "a", lid="shut", paste="old", fan="1"),
        named(free, "b", paste="new", fan="1", room="attic"),
    )
    (contrast,) = compare([before, after]).contrasts
    assert list(contrast.changed.items()) == [
        ("lid", ("shut", None)),
        ("paste", ("old", "new")),
        ("room", (None, "attic")),
    ]
    assert [one.what for one in contrast.caveats if one.doubt is Doubt.MANY_TAGS] == ["lid, paste, room"]


def test_copies_of_one_recording_count_once_and_are_named(free):
    copy = replace(named(free, "a", paste="a"), name="twin")
    made = compare([named(free, "a", paste="a"), copy, named(free, "b", paste="b")])
    assert (dict(made.copies), len(made.before.runs)) == ({"twin": "a"}, 1)
    assert compare([free, free]).copies == {}


def test_the_same_run_twice_has_no_doubt_of_its_tags(free):
    (contrast,) = compare([free, free]).contrasts
    assert Doubt.NO_TAGS not in {one.doubt for one in contrast.caveats}


def test_each_configuration_is_held_against_the_first_and_the_best_is_told_first(free, throttled):
    made = compare([named(throttled, "t", paste="t"), named(throttled, "u", paste="u"), named(free, "f", paste="f")])
    assert [one.side.runs[0].name for one in made.contrasts] == ["f", "u"]
    assert made.is_many
    silent = replace(named(free, "s", paste="s"), model="nothing was read")
    made = compare([named(throttled, "t", paste="t"), silent, named(throttled, "u", paste="u")])
    assert [one.side.runs[0].name for one in made.contrasts] == ["u", "s"]
    assert not compare([throttled, free]).is_many


def test_repeats_tell_what_they_scatter_by_and_those_of_the_first_side_once(free):
    """By hand: two values y apart scatter by y/√2; of two comparisons with one first side it has one degree."""

    def at(name, factor, **tags):
        run = named(free, name, **tags)
        found = run.model.found
        model = copy(run.model)
        model.found = replace(found, resistances=found.resistances * factor, own_k=found.own_k * factor)
        return replace(run, model=model)

    runs = [at("a1", 1.0, p="a"), at("a2", 1.1, p="a"), at("b", 1.0, p="b"), at("c1", 1.0, p="c"), at("c2", 1.2, p="c")]
    made = compare(runs)
    first, last = (
        abs(compare([one, two]).contrasts[0].cooling.change.value)
        for one, two in ((runs[0], runs[1]), (runs[3], runs[4]))
    )
    squares = log(1.0 - first) ** 2 / 2.0 + log(1.0 - last) ** 2 / 2.0
    assert made.spread.degrees == 2
    assert made.spread.seen == pytest.approx(sqrt(squares / 2.0), rel=0.02)


def test_figures_of_a_phase_are_means_over_the_repeats_that_have_it(free):
    clocks = (3000.0, 3100.0)
    runs = []
    for name, clock in zip("ab", clocks, strict=True):
        (main,) = (one for one in free.phases if one.name == "all cores")
        means = {**main.row.means, keys.CLOCK: replace(main.row.means[keys.CLOCK], mean=clock)}
        runs.append(with_row(named(free, name, p="x"), means=means))
    short = replace(named(free, "c", p="x"), phases=free.phases[:2])
    (contrast,) = compare([*runs, short, named(free, "d", p="y")]).contrasts
    (pair,) = (one for one in contrast.phases if one.before == "all cores")
    (row,) = (row for row in pair.rows if row.key == keys.CLOCK)
    assert (pair.runs, row.before) == ((2, 1), 3050.0)


def test_units_of_a_repeat_that_are_of_another_size_are_not_counted(free):
    (main,) = (one for one in free.phases if one.name == "all cores")
    odd = replace(main.load, unit=replace(main.load.unit, operations=1.0))
    repeat = replace(
        named(free, "b", p="y"), phases=tuple(replace(one, load=odd) if one is main else one for one in free.phases)
    )
    (contrast,) = compare([named(free, "a", p="x"), named(free, "c", p="y"), repeat]).contrasts
    (pair,) = (one for one in contrast.phases if one.before == "all cores")
    assert pair.work_unit is None and contrast.speed_unit is None
    (other,) = (one for one in contrast.phases if one.before == "one core")
    assert other.work_unit == main.load.unit


def test_a_speed_is_of_the_sustained_part_where_one_run_was_throttled_and_it_has_one(free, throttled):
    assert compare([free, throttled]).contrasts[0].is_speed_sustained
    assert not compare([free, again(free)]).contrasts[0].is_speed_sustained
    scored = [with_row(run, means={}, scores=(Score(9.0, "pts", Figure()),)) for run in (free, throttled)]
    bare = [replace(run, phases=tuple(without_rates(one) for one in run.phases)) for run in scored]
    (contrast,) = compare(bare).contrasts
    assert (contrast.speed_key, contrast.is_speed_sustained) == ("score pts", False)


def without_rates(phase):
    if phase.row.sustained is None:
        return phase
    return replace(
        phase, row=replace(phase.row, sustained=replace(phase.row.sustained, work_per_s=None, clock_mhz=None))
    )


@pytest.mark.parametrize("degrees", [1, 2, 4, 10])
def test_scatter_beyond_chance_is_what_one_in_twenty_exceeds(degrees):
    """Within 3 % of the χ² distribution of scipy."""
    assert samples._chi_squared_95(degrees) == pytest.approx(stats.chi2.ppf(0.95, degrees), rel=0.03)


def test_scatter_within_chance_is_mixed_with_what_is_expected_and_beyond_it_stands_alone():
    """Four degrees: 9.49 is the bound (χ², 95 %)."""

    def factor(squares):
        return of_two(Sample(3, 0.0, squares / 2.0), Sample(3, 0.0, squares / 2.0), (1.0, 1.0)).u ** 2 * 1.5

    assert factor(9.3) == pytest.approx((8.0 + 9.3) / 12.0)
    assert factor(9.7) == pytest.approx(9.7 / 4.0)
    assert factor(0.0) == pytest.approx(8.0 / 12.0)
    pairs = of_pairs(Sample(3, 0.0, 2.0), 1.0)
    assert (pairs.u**2 * 3.0, pairs.degrees) == (pytest.approx(10.0 / 10.0), EXPECTED_DEGREES + 2)


def test_chances_and_intervals_of_a_difference():
    """Two-sided, as scipy's t."""
    found = Difference(2.0, 1.0, 10.0)
    assert found.chance == pytest.approx(2.0 * stats.t.sf(2.0, 10))
    assert Difference(-2.0, 1.0, 10.0).chance == pytest.approx(found.chance)
    assert found.half(0.99) == pytest.approx(stats.t.ppf(0.995, 10))
    assert Difference(0.0, 0.0, 8.0).t == 0.0
    assert Difference(1.0, 0.0, 8.0).t == -Difference(-1.0, 0.0, 8.0).t == float("inf")
    assert Difference(0.0, 1.0, 8.0).chance == 1.0
