"""Plans: from words to steps, and through them."""

import pytest

from benchmon.errors import UsageError
from benchmon.model.durations import seconds_of
from benchmon.stream.options import BuiltinChoice, CommandChoice, PlanStep, RecordOptions
from benchmon.stream.plan import Plan, parse_load, parse_plan


def test_the_usual_plan():
    assert parse_plan("idle:60s,one:2m,all:5m,idle:2m") == (
        PlanStep("idle", 60.0, None),
        PlanStep("one core", 120.0, BuiltinChoice(1)),
        PlanStep("all cores", 300.0, BuiltinChoice(None)),
        PlanStep("cool-down", 120.0, None),
    )


def test_numbers_commands_and_kinds_of_work():
    steps = parse_plan("3:30, command:1h ,all:1m30s", "integer", ("make", "-j4"))
    assert [step.name for step in steps] == ["3 cores", "command", "all cores"]
    assert steps[0].load == BuiltinChoice(3, "integer")
    assert steps[1] == PlanStep("command", 3600.0, CommandChoice(("make", "-j4")))
    assert steps[2].duration_s == 90.0


def test_what_comes_again_is_numbered():
    names = [step.name for step in parse_plan("idle:1,all:1,idle:1,all:1,idle:1")]
    assert names == ["idle", "all cores", "idle (2)", "all cores (2)", "cool-down"]


def test_idling_alone_is_no_cool_down():
    assert parse_plan("idle:5m")[0].name == "idle"


@pytest.mark.parametrize(
    "text",
    ["", "idle", "idle:", "idle:0", "idle:-1s", "some:1m", "all:1 fortnight", "0:1m", "all:1m,", "command:1m", "²:1m"],
)
def test_nonsense_is_refused_in_words(text):
    with pytest.raises(UsageError) as caught:
        parse_plan(text)
    assert caught.value.hint


def test_unknown_work_is_refused():
    with pytest.raises(UsageError, match="no work called"):
        parse_load("all", "dancing")


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("90", 90),
        ("90s", 90),
        ("1.5m", 90),
        ("1m30s", 90),
        ("2 h", 7200),
        ("250ms", 0.25),
        ("s", None),
        ("1m30", None),
        ("1x", None),
        ("--1", None),
    ],
)
def test_durations(text, seconds):
    assert seconds_of(text) == seconds


def test_a_plan_gives_each_step_once_and_then_is_over():
    plan = Plan(parse_plan("idle:10,all:20,idle:5"))
    seen = []
    for t_s in range(40):
        step = plan.step(float(t_s))
        if step is not None:
            seen.append((t_s, step.name))
        if plan.is_over(float(t_s)):
            break
    assert seen == [(0, "idle"), (10, "all cores"), (30, "cool-down")]
    assert t_s == 35


def test_a_plan_says_when_it_is_due():
    plan = Plan(parse_plan("idle:10,all:20"))
    assert plan.due_s == 0
    plan.step(0.0)
    assert plan.due_s == 10
    plan.step(10.2)
    assert plan.due_s == 30  # what began late ends in time: the plan does not drift


def test_options_refuse_what_cannot_be_recorded():
    with pytest.raises(UsageError):
        RecordOptions(period_s=0.05)
    with pytest.raises(UsageError):
        RecordOptions(period_s=11)
    with pytest.raises(UsageError):
        RecordOptions(load=BuiltinChoice(), steps=parse_plan("all:1m"))
