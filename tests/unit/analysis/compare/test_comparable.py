"""Every reason why runs are not alike: each is told where it holds, in any run of a side, and not where it does not."""

from copy import copy
from dataclasses import replace
from pathlib import Path

import pytest

from benchmon.analysis.compare.bench_run import bench_run
from benchmon.analysis.compare.compare import compare
from benchmon.model import keys
from benchmon.model.comparison import Answer, Doubt, Want
from benchmon.session.reader import read_session
from benchmon.views.words.comparison import caveat_sentences, cooling_sentence, decision_sentence
from tests.support.compared_runs import (
    again,
    in_room,
    limit_moved,
    longer,
    on_machine,
    other_work,
    settled,
    unsettled,
    with_channel,
    with_main,
    with_setting,
)

RECORDINGS = Path(__file__).resolve().parents[4] / "recordings"


@pytest.fixture(scope="module")
def duct():
    return bench_run(read_session(RECORDINGS / "box-with-duct.session.jsonl"), "box-with-duct")


@pytest.fixture(scope="module")
def bought():
    return bench_run(read_session(RECORDINGS / "box-as-bought.session.jsonl"), "box-as-bought")


CASES = {
    Doubt.MACHINE: lambda duct, _: on_machine(duct, processor="Saltmarsh Eight"),
    Doubt.SIMULATED: lambda duct, _: again(duct, header=replace(duct.summary.header, virtual="")),
    Doubt.MACHINE_UNKNOWN: lambda duct, _: again(duct, machine=None),
    Doubt.WORK: lambda duct, _: other_work(duct),
    Doubt.SENSOR: lambda duct, _: with_channel(duct, keys.PROCESSOR_TEMP, resolution=0.125),
    Doubt.SAMPLING: lambda duct, _: again(duct, header=replace(duct.summary.header, period_s=2.5)),
    Doubt.SETTING: lambda duct, _: with_setting(duct, keys.TURBO, "off"),
    Doubt.HELD: lambda _, bought: bought,
    Doubt.ROOM: lambda duct, _: in_room(again(duct), 23.0),
    Doubt.LENGTH: lambda duct, _: longer(again(duct), 180.0),
    Doubt.UNSETTLED: lambda duct, _: unsettled(duct),
    Doubt.INCOMPLETE: lambda duct, _: again(duct, is_complete=False),
    Doubt.NO_TAGS: lambda duct, _: again(duct, tags=duct.summary.tags),
    Doubt.MANY_TAGS: lambda duct, _: again(duct, tags={"duct": "other", "lid": "open"}),
}


@pytest.fixture(scope="module")
def plain(duct):
    """A run with nothing to complain of, but for the tag that changed."""
    return again(with_setting(settled(duct), keys.TURBO, "on"), "plain", tags={"duct": "fitted"})


def doubts(contrast):
    return {caveat.doubt for caveat in contrast.caveats}


def test_runs_that_are_alike_but_for_one_tag_have_no_doubts(plain):
    (contrast,) = compare([replace(plain, name="a"), again(plain, "b", tags={"duct": "another"})]).contrasts
    assert doubts(contrast) == set()
    assert list(contrast.changed) == ["duct"]


@pytest.mark.parametrize("doubt", CASES, ids=lambda one: one.value)
def test_each_reason_is_told_whichever_run_it_comes_from(doubt, plain, bought):
    other = CASES[doubt](plain, bought)
    for pair in ([plain, other], [other, plain]):
        (contrast,) = compare(pair).contrasts
        assert doubt in doubts(contrast)
        assert all(sentence.endswith(".") for sentence in caveat_sentences(contrast, compare(pair).before))


@pytest.mark.parametrize(
    "doubt", [one for one in CASES if one not in {Doubt.NO_TAGS, Doubt.MANY_TAGS}], ids=lambda one: one.value
)
def test_a_reason_in_a_repeat_alone_is_told_too(doubt, plain, bought):
    """Not the first run of its side is the one that is not like the others."""
    third = replace(CASES[doubt](plain, bought), name="third")
    third = replace(third, summary=replace(third.summary, tags={"duct": "b"}))
    runs = [again(plain, "first", tags={"duct": "a"}), again(plain, "second", tags={"duct": "b"}), third]
    (contrast,) = compare(runs).contrasts
    assert len(contrast.side.runs) == 2
    assert doubt in doubts(contrast)


def test_another_defended_temperature_is_told(bought):
    (contrast,) = compare([bought, limit_moved(bought)]).contrasts
    assert Doubt.LIMIT in doubts(contrast)
    assert Doubt.LIMIT not in doubts(compare([bought, again(bought)]).contrasts[0])


def test_what_is_just_within_bounds_is_not_told(plain):
    near = in_room(again(plain, header=replace(plain.summary.header, period_s=2.0)), 22.0)
    (contrast,) = compare([in_room(plain, 19.0), near]).contrasts
    assert doubts(contrast) & {Doubt.ROOM, Doubt.SAMPLING} == set()


def test_runs_that_are_not_alike_are_named(plain, bought):
    held = [replace(again(bought, name, tags={"duct": "a"}), name=name) for name in ("h1", "h2")]
    made = compare([*held, again(plain, "free", tags={"duct": "b"})])
    told = " ".join(caveat_sentences(made.contrasts[0], made.before))
    assert "Throttled by heat in all cores: h1, h2; not throttled: free." in told
    cut = compare(
        [
            plain,
            again(plain, "c1", tags={"a": "b"}, is_complete=False),
            again(plain, "c2", tags={"a": "b"}, is_complete=False),
        ]
    )
    assert "Not closed in good order, or damaged: c1, c2." in caveat_sentences(cut.contrasts[0], cut.before)


def test_watts_of_a_side_that_was_throttled_in_some_runs_say_in_how_many(plain, bought):
    mixed = [again(bought, "m1", tags={"duct": "b"}), again(plain, "m2", tags={"duct": "b"})]
    made = compare([again(bought, "a1", tags={"duct": "a"}), *mixed])
    (contrast,) = made.contrasts
    assert (contrast.at.runs, contrast.at.measured) == ((1, 2), (1, 1))
    assert "(simulated in 1 of 2 runs, predicted in the others)" in cooling_sentence(contrast, made.before)


def without_power(run):
    model = copy(run.model)
    model.readings = replace(run.model.readings, has_watts=False)
    return replace(again(run), model=model)


def too_short(run):
    return with_main(again(run), state="it lasted 40 s only; 45 s are needed")


def idle_only(run):
    return replace(again(run), phases=tuple(one for one in run.phases if one.name == "idle"))


@pytest.mark.parametrize(
    ("change", "want", "words"),
    [
        (without_power, Want.POWER, "package power"),
        (too_short, Want.LONGER, "longer phases"),
        (idle_only, Want.SAME_LOAD, "the same phases"),
    ],
)
def test_what_is_missing_is_what_would_decide_it(change, want, words, plain):
    made = compare([plain, change(plain)])
    (contrast,) = made.contrasts
    assert (contrast.cooling.answer, contrast.cooling.wants) == (Answer.CANNOT_SAY, (want,))
    assert words in decision_sentence(contrast.cooling)
    assert ("(again)" in cooling_sentence(contrast, made.before)) is (want is not Want.SAME_LOAD)


def test_another_kind_of_work_has_no_rate_to_compare(plain):
    (contrast,) = compare([plain, other_work(plain)]).contrasts
    assert contrast.speed.answer is Answer.CANNOT_SAY
    (rows,) = (phase.rows for phase in contrast.phases if phase.before == "all cores")
    (rate,) = (row for row in rows if row.key == keys.WORK_RATE)
    assert rate.difference.why_not == "another kind of work"


def test_energy_and_time_of_phases_of_other_lengths_are_not_subtracted(plain, bought):
    """Never throttled is as long in both."""
    for run, expected in ((plain, {"energy_j"}), (bought, {"energy_j", "held_s"})):
        (contrast,) = compare([run, longer(again(run), 60.0)]).contrasts
        (rows,) = (phase.rows for phase in contrast.phases if phase.before == "all cores")
        refused = {row.key for row in rows if row.difference.why_not == "the phases are not of one length"}
        assert refused == expected


def test_a_resistance_of_what_heat_throttled_is_not_compared(plain, bought):
    (contrast,) = compare([plain, bought]).contrasts
    (rows,) = (phase.rows for phase in contrast.phases if phase.before == "all cores")
    (row,) = (row for row in rows if row.key == "resistance_k_per_w")
    assert row.difference.why_not == "throttled by heat"
