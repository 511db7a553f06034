"""Plans: from words to steps, and through them."""

from dataclasses import replace

import pytest

from benchmon.errors import UsageError
from benchmon.model.durations import seconds_of
from benchmon.stream.options import BuiltinChoice, CommandChoice, PlanStep, RecordOptions
from benchmon.stream.plan import Plan, parse_plan

MAKE = CommandChoice(("make", "-j4"), score_from=(r"(\d+) jobs",))


def test_the_usual_plan():
    assert parse_plan("idle:60s,one:2m,all:5m,idle:2m") == (
        PlanStep("idle", 60.0, None),
        PlanStep("one core", 120.0, BuiltinChoice(1)),
        PlanStep("all cores", 300.0, BuiltinChoice(None)),
        PlanStep("cool-down", 120.0, None),
    )


def test_numbers_commands_and_kinds_of_work():
    steps = parse_plan("3:30, command:1h ,all:1m30s", "whole", MAKE)
    assert [step.name for step in steps] == ["3 cores", "command", "all cores"]
    assert steps[0].load == BuiltinChoice(3, "whole")
    assert steps[1] == PlanStep("command", 3600.0, replace(MAKE, times=None))
    assert steps[2].duration_s == 90.0


def test_what_comes_again_is_numbered():
    names = [step.name for step in parse_plan("idle:1,all:1,idle:1,all:1,idle:1")]
    assert names == ["idle", "all cores", "idle (2)", "all cores (2)", "cool-down"]


@pytest.mark.parametrize("text", ["idle:5m", "all:5m,idle:5m,idle:10m"])
def test_only_idling_after_a_load_is_a_cool_down(text):
    assert parse_plan(text)[-1].name.startswith("idle")


@pytest.mark.parametrize(
    ("word", "times", "seconds"),
    [("command", 1, None), ("command x3", 3, None), ("command:10m", None, 600.0), ("Command X2:10m", 2, 600.0)],
)
def test_how_often_and_how_long_a_command_runs(word, times, seconds):
    step = parse_plan(f"idle:5s,{word},idle:5s", command=MAKE)[1]
    assert step == PlanStep("command", seconds, replace(MAKE, times=times))


def test_a_command_without_a_word_for_it_is_the_last_step():
    steps = parse_plan("idle:5s,all:5s", command=MAKE)
    assert [step.name for step in steps] == ["idle", "all cores", "command"]
    assert steps[-1] == PlanStep("command", None, MAKE)


def test_a_step_without_a_time_ends_with_its_command():
    plan = Plan(parse_plan("command,idle:5s", command=MAKE))
    assert plan.step(0.0).name == "command"
    assert plan.step(1e6) is None
    assert not plan.is_over(1e6)
    plan.load_ended(77.0)
    assert plan.step(77.0).name == "cool-down"
    assert plan.due_s == 82.0


def test_a_command_that_ends_before_its_time_ends_its_step_and_other_work_does_not():
    plan = Plan(parse_plan("all:30s,command x3:10m,idle:5s", command=MAKE))
    plan.step(0.0)
    plan.load_ended(3.0)
    assert plan.due_s == 30.0
    plan.step(30.0)
    plan.load_ended(99.0)
    assert plan.due_s == 99.0


@pytest.mark.parametrize(
    "text",
    [
        "",
        "idle",
        "idle:",
        "idle:0",
        "idle:-1s",
        "some:1m",
        "all:1 fortnight",
        "0:1m",
        "all:1m,",
        "command:1m",
        "²:1m",
        "command",
        "all",
        "command x0:1m",
    ],
)
def test_nonsense_is_refused_in_words(text):
    with pytest.raises(UsageError) as caught:
        parse_plan(text)
    assert caught.value.hint


def test_steps_name_kinds_and_duties():
    steps = parse_plan("all:1m,all memory:2m,2 at 50 %:30s,one:1m", "scalar")
    assert [step.name for step in steps] == ["all cores", "all cores, memory", "2 cores at 50 %", "one core"]
    assert [step.load for step in steps] == [
        BuiltinChoice(None, "scalar"),
        BuiltinChoice(None, "memory"),
        BuiltinChoice(2, "scalar", 0.5),
        BuiltinChoice(1, "scalar"),
    ]


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
