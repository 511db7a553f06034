"""What runs must differ by before it is said, and in which words: each setting, channel and bound by itself."""

from dataclasses import replace
from pathlib import Path

import pytest

from benchmon.analysis.compare.bench_run import Group, bench_run
from benchmon.analysis.compare.comparable import caveats, is_one_machine, is_same_machine
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.comparison import Caveat, Doubt
from benchmon.model.records import Machine
from benchmon.model.units import Unit
from benchmon.session.reader import read_session
from benchmon.views.words.comparison_caveats import caveat_sentence
from tests.support.compared_runs import again, in_room, longer, on_machine, settled, with_main, with_row, with_setting

UNITS = {
    keys.PROCESSOR_TEMP: Unit.CELSIUS,
    keys.PACKAGE_POWER: Unit.WATT,
    keys.WALL_POWER: Unit.WATT,
    keys.ROOM_TEMP: Unit.CELSIUS,
    keys.CLOCK: Unit.MEGAHERTZ,
}
RECORDINGS = Path(__file__).resolve().parents[4] / "recordings"


@pytest.fixture(scope="module")
def plain():
    return settled(bench_run(read_session(RECORDINGS / "box-with-duct.session.jsonl"), "plain"))


@pytest.fixture(scope="module")
def throttled():
    return bench_run(read_session(RECORDINGS / "box-as-bought.session.jsonl"), "throttled")


def found(*runs):
    """Of the first side one run, of the other the rest."""
    return list(caveats(Group(runs[:1], {}), Group(runs[1:], {})))


def with_period(run, period_s):
    return again(run, header=replace(run.summary.header, period_s=period_s))


def of(doubt, *runs):
    return [one for one in found(*runs) if one.doubt is doubt]


@pytest.mark.parametrize(
    ("key", "before", "after"),
    [
        (keys.TURBO, "on", "off"),
        (keys.GOVERNOR, "performance", "powersave"),
        (keys.POWER_LIMIT_LONG, 62.0, 45.0),
        (keys.POWER_LIMIT_SHORT, 80.0, 70.0),
        (keys.POWER_WINDOW_LONG, 32.0, 28.0),
        (keys.HIGHEST_CLOCK, 4200.0, 3600.0),
        (keys.TEMP_LIMIT, 97.0, 90.0),
    ],
)
def test_each_setting_that_changes_how_it_runs_is_told(key, before, after, plain):
    runs = [with_setting(plain, key, value) for value in (before, after)]
    (caveat,) = found(*runs)
    shown = [value if isinstance(value, str) else f"{value:g}" for value in (before, after)]
    assert caveat == Caveat(Doubt.SETTING, *shown, key)
    assert f"went from {shown[0]} to {shown[1]}." in caveat_sentence(caveat)


def test_other_settings_and_what_only_one_run_tells_are_not_told(plain):
    assert found(plain, with_setting(plain, keys.RATED_CLOCK, 2000.0)) == []
    assert (
        found(with_setting(plain, keys.TURBO, "on"), plain) == found(plain, with_setting(plain, keys.TURBO, "on")) == []
    )
    (caveat,) = found(with_setting(plain, keys.TURBO, None), with_setting(plain, keys.TURBO, "off"))
    assert (caveat.before, caveat.after) == ("not known", "off")


@pytest.mark.parametrize(
    ("key", "words"),
    [
        (keys.PROCESSOR_TEMP, "Processor temperature was read in two ways"),
        (keys.PACKAGE_POWER, "Package power was read in two ways"),
        (keys.WALL_POWER, "Wall power was read in two ways"),
        (keys.ROOM_TEMP, "Room temperature was read in two ways"),
        (keys.CLOCK, None),
    ],
)
def test_each_channel_that_the_verdict_rests_on_is_told_when_it_was_read_otherwise(key, words, plain):
    def reading(source, resolution):
        header = plain.summary.header
        others = tuple(one for one in header.channels if one.key != key)
        channel = Channel(key, key, UNITS[key], source, resolution)
        return again(plain, header=replace(header, channels=(*others, channel)))

    same, coarse, other = reading("meter", None), reading("meter", 0.5), reading("another", None)
    told = [] if words is None else [Caveat(Doubt.SENSOR, "meter", "another", key)]
    assert found(same, other) == told
    assert found(same, same) == []
    steps = of(Doubt.SENSOR, coarse, same)
    assert [(one.before, one.after) for one in steps] == ([] if words is None else [("meter, steps of 0.5", "meter")])
    assert all(caveat_sentence(one).startswith(words) for one in told)
    without = again(plain, header=replace(plain.summary.header, channels=plain.summary.header.channels[:1]))
    assert of(Doubt.SENSOR, same, without) == of(Doubt.SENSOR, without, same) == []


@pytest.mark.parametrize(("period_s", "is_told"), [(0.5, False), (0.45, True), (2.0, False), (2.2, True)])
def test_sampling_periods_are_told_beyond_a_factor_of_two(period_s, is_told, plain):
    runs = with_period(plain, 1.0), with_period(plain, period_s)
    told = [Caveat(Doubt.SAMPLING, "1 s", f"{period_s:g} s")] if is_told else []
    assert found(*runs) == told


@pytest.mark.parametrize(("room_c", "is_told"), [(22.0, False), (22.5, True), (16.0, False), (15.5, True)])
def test_rooms_are_told_beyond_three_kelvin(room_c, is_told, plain):
    told = found(in_room(plain, 19.0), in_room(plain, room_c))
    assert told == ([Caveat(Doubt.ROOM, "19", f"{room_c:.0f}")] if is_told else [])


def test_of_many_rooms_the_coldest_and_the_warmest_are_told(plain):
    assert of(Doubt.ROOM, *(in_room(plain, room_c) for room_c in (22.0, 19.0, 30.0))) == [
        Caveat(Doubt.ROOM, "19", "30")
    ]
    assert of(Doubt.ROOM, in_room(plain, 30.0), in_room(plain, 19.0)) == [Caveat(Doubt.ROOM, "30", "19")]
    assert of(Doubt.ROOM, in_room(plain, None), in_room(plain, 30.0)) == []


@pytest.mark.parametrize(("apart_k", "is_told"), [(1.9, False), (2.1, True), (-2.1, True)])
def test_defended_temperatures_are_told_beyond_two_kelvin(apart_k, is_told, throttled):
    other = again(throttled)
    other = replace(other, plateau=replace(other.plateau, temp_c=throttled.plateau.temp_c + apart_k))
    assert bool(of(Doubt.LIMIT, throttled, other)) is is_told


@pytest.mark.parametrize(("by_s", "is_told"), [(130.0, False), (140.0, True), (-100.0, False), (-120.0, True)])
def test_phases_are_told_to_be_of_other_lengths_beyond_a_quarter(by_s, is_told, plain):
    """All cores were busy for 9 minutes."""
    told = found(plain, longer(again(plain), by_s))
    minutes, seconds = divmod(540 + round(by_s), 60)
    assert told == ([Caveat(Doubt.LENGTH, "9:00", f"{minutes}:{seconds:02d}", "all cores")] if is_told else [])


def test_of_many_lengths_the_shortest_and_the_longest_are_told(plain):
    runs = plain, longer(again(plain, "b"), 300.0), longer(again(plain, "c"), -60.0)
    assert [(one.before, one.after) for one in of(Doubt.LENGTH, *runs)] == [("8:00", "14:00")]


def test_of_tables_the_column_counts_and_not_the_file(plain):
    def of_table(source):
        header = plain.summary.header
        channels = tuple(
            replace(one, source=source) if one.key == keys.PROCESSOR_TEMP else one for one in header.channels
        )
        return again(plain, header=replace(header, channels=channels))

    assert found(of_table("column temp of a.csv"), of_table("column temp of b.csv")) == []
    (caveat,) = found(of_table("column temp of a.csv"), of_table("column heat of b.csv"))
    assert (caveat.doubt, caveat.after) == (Doubt.SENSOR, "column heat of b.csv, steps of 1")
    assert len(found(of_table("chip of one"), of_table("chip of two"))) == 1


def test_which_machine_it_was(plain):
    same = on_machine(plain)
    for name in ("processor", "board", "product"):
        (caveat,) = found(same, on_machine(plain, **{name: "Another"}))
        assert (caveat.doubt, "Another" in caveat.after) == (Doubt.MACHINE, True)
    (unknown,) = found(same, again(plain, machine=None))
    assert unknown == Caveat(Doubt.MACHINE_UNKNOWN)
    assert of(Doubt.MACHINE_UNKNOWN, same, again(plain, machine=Machine(0.0, ""))) == [unknown]
    assert is_one_machine(None, Machine(0.0, "x")) and is_one_machine(Machine(0.0, "x"), Machine(0.0, "x"))
    assert not is_one_machine(Machine(0.0, "x", "board"), Machine(0.0, "x"))


def replace_machine(run, machine):
    return replace(run, summary=replace(run.summary, machine=machine))


def test_two_simulated_machines_are_two_and_a_real_one_is_another(plain):
    def simulated(name):
        return again(plain, header=replace(plain.summary.header, virtual=name))

    assert not is_same_machine(simulated("one"), simulated("two"))
    assert not is_same_machine(simulated("one"), simulated(""))
    assert is_same_machine(simulated(""), simulated(""))
    assert [one.doubt for one in found(simulated("one"), simulated("two"))] == [Doubt.MACHINE]
    (caveat,) = of(Doubt.MACHINE, replace_machine(simulated("one"), None), replace_machine(simulated("two"), None))
    assert (caveat.before, caveat.after) == ("not recorded", "not recorded")
    assert found(replace(simulated("one"), name="s"), simulated("")) == [Caveat(Doubt.SIMULATED, what="s")]


def test_each_run_that_had_not_settled_is_named_but_not_what_heat_throttled(plain, throttled):
    from benchmon.model.events import Cause

    def moving(run, settled_):
        (main,) = (one for one in run.phases if one.name == "all cores")
        temp = replace(plain.phases[2].row.settling[keys.PROCESSOR_TEMP], settled=settled_)
        return with_row(run, settling={**main.row.settling, keys.PROCESSOR_TEMP: temp})

    assert of(Doubt.UNSETTLED, plain, moving(plain, False)) == [Caveat(Doubt.UNSETTLED, what="all cores of plain")]
    assert of(Doubt.UNSETTLED, plain, moving(plain, None)) == []
    assert of(Doubt.UNSETTLED, throttled, moving(throttled, False)) == []
    by_power = with_main(moving(plain, False), held_s={Cause.POWER_LIMIT: 60.0})
    assert len(of(Doubt.UNSETTLED, plain, by_power)) == 1
    assert of(Doubt.HELD, plain, by_power) == []
    assert of(Doubt.HELD, plain, with_main(plain, held_s={Cause.THERMAL: 0.0})) == []


def test_runs_without_a_loaded_phase_in_common_have_no_phase_to_be_told_of(plain):
    idle = replace(again(plain, "idle"), phases=plain.phases[:1])
    assert {one.doubt for one in found(plain, idle)} & {Doubt.WORK, Doubt.UNSETTLED, Doubt.HELD} == set()


def test_each_doubt_has_a_sentence_that_names_what_is_not_alike():
    for doubt in set(Doubt) - {Doubt.MACHINE_UNKNOWN, Doubt.NO_TAGS}:
        sentence = caveat_sentence(Caveat(doubt, "<before>", "<after>", "<what>"))
        assert sentence.endswith(".")
        assert "<what>" in sentence or "<before>" in sentence
