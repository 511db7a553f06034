"""Plans from TOML: what they become, and one clear message with its line for each mistake."""

import tomllib
from dataclasses import replace

import pytest

from benchmon.errors import UsageError
from benchmon.model.plan import MOST_PHASES, Asked, Condition, ConditionKind
from benchmon.plans.conditions import condition_of, condition_text
from benchmon.plans.fields import from_fields, to_fields
from benchmon.plans.reading import look_at, read_plan
from benchmon.plans.shipped import find_plan, shipped_names, shipped_plan
from benchmon.plans.steps import plan_of_steps
from benchmon.stream.options import CommandChoice
from benchmon.stream.plan import steps_of

GOOD = """
about = "Tries everything."
times = 2
greatest = "2h"
end_when = ["above 97 C", "held back for 5m"]

[[phase]]
name = "rest"
until = ["settled", "below 40.5 °C"]
least = "2m"
greatest = "15m"
ask = ["room", "wall"]

[[phase]]
load = "1 to all"
work = "memory"
lasts = "1m30s"

[[phase]]
name = "lid"
do = "Open the lid."
until = "confirmed"
greatest = "5m"
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "mine.toml"

    def write(text):
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


def test_a_plan_becomes_what_it_says(file):
    plan = read_plan(file(GOOD), cores=2)
    assert (plan.name, plan.about, plan.greatest_s) == ("mine", "Tries everything.", 7200.0)
    assert plan.end_when == (Condition(ConditionKind.ABOVE, 97.0), Condition(ConditionKind.HELD_BACK, 300.0))
    names = ["rest", "one core", "all cores", "lid"]
    assert [phase.name for phase in plan.phases] == [*names, *(f"{name} (2)" for name in names)]
    rest, one, everything, lid = plan.phases[:4]
    assert rest.until == (Condition(ConditionKind.SETTLED), Condition(ConditionKind.BELOW, 40.5))
    assert (rest.least_s, rest.greatest_s, rest.ask) == (120.0, 900.0, (Asked.ROOM, Asked.WALL))
    assert (one.load, one.work, one.greatest_s, one.until) == ("1", "memory", 90.0, ())
    assert everything.load == "all"
    assert (lid.do, lid.is_idle, lid.waits_for(ConditionKind.CONFIRMED)) == ("Open the lid.", True, True)


def test_a_plan_says_how_its_command_is_read(file):
    text = "[[phase]]\nload='command'\ncommand='./mybench'\nlasts='5m'\nscore_from='(.) pts'\n"
    text += "phase_from=['a', 'b']\nversion_from='v'"
    plan = read_plan(file(text), cores=5)
    assert from_fields(to_fields(plan)) == plan
    (step,) = steps_of(plan)
    assert step.load == CommandChoice(
        ("./mybench",), times=None, phases=("a", "b"), score_from=("(.) pts",), version_from="v"
    )
    given = CommandChoice(("other",), cores=(1,), score_from=("(given)",))
    (step,) = steps_of(read_plan(file("[[phase]]\nload='command'\nlasts='5m'"), 5), command=given)
    assert step.load == replace(given, times=None)


def test_fields_and_back(file):
    plan = read_plan(file(GOOD), cores=5)
    assert from_fields(to_fields(plan)) == plan


@pytest.mark.parametrize("text", ["settled", "held back", "held back for 60 s", "cooled by 62.5 %", "below 45 C"])
def test_conditions_are_read_as_they_are_written(text):
    assert condition_text(condition_of(text)) == text


@pytest.mark.parametrize(
    ("cores", "stairs", "loads"),
    [
        (1, "", ["all"]),
        (4, "", ["1", "2", "3", "all"]),
        (4, "stairs = 2", ["1", "all"]),
        (64, "stairs = 5", ["1", "17", "33", "48", "all"]),
    ],
)
def test_a_stair_over_cores(file, cores, stairs, loads):
    plan = read_plan(file(f'[[phase]]\nload = "1 to all"\nlasts = "1m"\n{stairs}'), cores)
    assert [phase.load for phase in plan.phases] == loads


def test_a_stair_over_shares_of_time(file):
    plan = read_plan(file('[[phase]]\nload = "all at 20 % to 100 %"\nlasts = "1m"'), 4)
    assert [phase.load for phase in plan.phases] == [f"all at {share} %" for share in (20, 40, 60, 80, 100)]
    assert plan.phases[0].name == "all cores at 20 %"


TOO_LONG = "times = 1000\n[[phase]]\nlasts = '5s'\nname = '" + 300 * "x" + "'"
PHASE = '[[phase]]\nload = "all"\n'


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("", None, "no phases"),
        ("about = 'x'\nphases = 3\n" + PHASE + "lasts = '5s'", 2, "no such key"),
        (PHASE + 'lasts = "5s"\ncolour = "red"', 4, "no such key"),
        (PHASE + 'lasts = "-5s"', 3, "time above zero"),
        (PHASE + "lasts = -5", 3, "time above zero"),
        (PHASE + 'lasts = "0s"', 3, "time above zero"),
        (PHASE + 'lasts = "2000h"', 3, "time above zero"),
        (PHASE + "lasts = true", 3, "time above zero"),
        (PHASE, 1, "nothing says when it ends"),
        (PHASE + 'until = "settled"', 3, "may never come"),
        (PHASE + 'until = "settled"\ngreatest = "5m"\nleast = "6m"', 5, "more than greatest"),
        (PHASE + 'until = "settled"\ngreatest = "5m"\nlasts = "6m"', 5, "goes without until"),
        (PHASE + 'until = "bored"\ngreatest = "5m"', 3, "is no condition"),
        (PHASE + 'until = "cooled by 120 %"\ngreatest = "5m"', 3, "5 to 95 %"),
        (PHASE + 'until = "above 900 C"\ngreatest = "5m"', 3, "no temperature"),
        (PHASE + 'until = "command ended"\ngreatest = "5m"', 3, "only a command"),
        (PHASE + 'until = [1]\ngreatest = "5m"', 3, "must be words"),
        (PHASE + 'lasts = "5m"\nleast = "1m"', 4, "goes with until only"),
        (PHASE + 'lasts = "5m"\nask = ["weather"]', 4, "only these can be asked"),
        (PHASE + 'lasts = "5m"\nstairs = 1', 4, "whole number from 2"),
        (PHASE + 'lasts = "5m"\nstairs = 4', 4, "goes with a load such as"),
        (PHASE + "lasts = '5m'\nscore_from = 'no group'", 4, "no group for the number"),
        (PHASE + "lasts = '5m'\nphase_from = ['fine', '(']", 4, "is no pattern"),
        (PHASE + "lasts = '5m'\nversion_from = ['a', 'b']", 4, "one for the version"),
        ("times = 1000\n" + PHASE + f"lasts = '5m'\nversion_from = '{'x' * 400}'", None, "too long"),
        ("times = 0\n" + PHASE + 'lasts = "5m"', 1, "whole number from 1"),
        ("times = 600\n" + 2 * (PHASE + 'lasts = "5m"\n'), None, "1000 are the most"),
        (10_000 * '[[phase]]\nlasts="1s"\n', None, "10000 phases; 1000 are the most"),
        (TOO_LONG, None, "too long"),
        ("phase = 3", 1, "no phases"),
        ("[[phase]\nload = 1", 1, "no TOML"),
        ('a = "open', 1, "no TOML"),
        ("a = " + "[" * 5000, None, "nested"),
        ("a = " + "9" * 5000, None, "number that is too long"),
        (b"about = '\xff\xfe'", None, "line 1 is no UTF-8"),
        (b"x" * 300_000, None, "larger than"),
    ],
    ids=lambda value: repr(value)[:30],
)  # fmt: skip
def test_each_mistake_is_one_clear_message_with_its_line(file, text, line, says):
    plan, mistakes = look_at(file(text), cores=4)
    assert plan is None
    assert len(mistakes) == 1, mistakes
    assert says in mistakes[0].reason
    assert mistakes[0].line == line
    with pytest.raises(UsageError, match="the plan"):
        read_plan(file(text), 4)


def test_all_mistakes_are_told_in_the_order_of_their_lines(file):
    text = '[[phase]]\nload = "all"\n\n[[phase]]\nlasts = "x"\nodd = 1\n\n[[phase]]\nlasts = "3s"\nask = "odd"\n'
    _, mistakes = look_at(file(text))
    assert [mistake.line for mistake in mistakes] == [1, 5, 6, 10]


def test_the_reader_agrees_with_the_standard_librarys_toml(file):
    """What is read is TOML 1.0 as ``tomllib`` understands it, whatever form it is written in."""
    inline = 'phase = [{load = "all", lasts = "5s"}, {"lasts" = "7s"}]'
    assert len(tomllib.loads(inline)["phase"]) == len(read_plan(file(inline)).phases) == 2


def test_every_plan_that_ships_is_sound_and_says_what_it_is_for():
    assert {"everyday", "soak", "stair", "smoke", "repeat", "onset"} == set(shipped_names())
    for name in shipped_names():
        plan = shipped_plan(name, cores=6)
        assert plan.about
        assert from_fields(to_fields(plan)) == plan
        assert plan.longest_s < 4 * 3600


def test_a_plan_that_there_is_not_is_refused_with_those_that_there_are(tmp_path):
    with pytest.raises(UsageError) as caught:
        find_plan("everyone")
    assert "everyday" in caught.value.hint
    with pytest.raises(UsageError, match="no such file"):
        find_plan(str(tmp_path / "none.toml"))
    with pytest.raises(UsageError, match="no such file"):
        find_plan(str(tmp_path) + "/")


def test_the_short_form_makes_the_same_plan(file):
    text = (
        '[[phase]]\nlasts = "1m"\n[[phase]]\nload = "all"\nuntil = "settled"\ngreatest = "30m"\n[[phase]]\nlasts = "2m"'
    )
    assert plan_of_steps("idle:1m,all:settled:30m,idle:2m").phases == read_plan(file(text)).phases


@pytest.mark.parametrize(
    "text", ["all:settled", "all:settled:", "all:settled:0s", "all:nonsense:5s", "all:5s:5s", "idle"]
)
def test_nonsense_in_the_short_form_is_refused(text):
    with pytest.raises(UsageError) as caught:
        plan_of_steps(text)
    assert caught.value.hint


def test_steps_and_stairs_together_stay_within_the_bound():
    with pytest.raises(UsageError, match=str(MOST_PHASES)):
        plan_of_steps(",".join(["1 to all:1s"] * 999), cores=16)
