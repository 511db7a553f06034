"""Plans: from words to steps, and through them."""

from dataclasses import replace

import pytest

from benchmon.errors import UsageError
from benchmon.model.durations import seconds_of
from benchmon.model.plan import Condition, ConditionKind, Plan, PlanPhase, StepAction, StepEnd
from benchmon.stream.options import BuiltinChoice, CommandChoice, PlanStep, RecordOptions
from benchmon.stream.plan import parse_plan, steps_of
from benchmon.stream.procedure import Procedure

ENDED = Condition(ConditionKind.COMMAND_ENDED)
DAY_S = 86_400.0
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
    assert steps[1] == PlanStep("command", 3600.0, replace(MAKE, times=None), (ENDED,))
    assert steps[2].duration_s == 90.0


def test_what_comes_again_is_numbered():
    names = [step.name for step in parse_plan("idle:1,all:1,idle:1,all:1,idle:1")]
    assert names == ["idle", "all cores", "idle (2)", "all cores (2)", "cool-down"]


@pytest.mark.parametrize("text", ["idle:5m", "all:5m,idle:5m,idle:10m"])
def test_only_idling_after_a_load_is_a_cool_down(text):
    assert parse_plan(text)[-1].name.startswith("idle")


@pytest.mark.parametrize(
    ("word", "times", "seconds"),
    [("command", 1, DAY_S), ("command x3", 3, DAY_S), ("command:10m", None, 600.0), ("Command X2:10m", 2, 600.0)],
)
def test_how_often_and_how_long_a_command_runs(word, times, seconds):
    step = parse_plan(f"idle:5s,{word},idle:5s", command=MAKE)[1]
    assert step == PlanStep("command", seconds, replace(MAKE, times=times), (ENDED,))


def test_a_command_without_a_word_for_it_is_the_last_step():
    steps = parse_plan("idle:5s,all:5s", command=MAKE)
    assert [step.name for step in steps] == ["idle", "all cores", "command"]
    assert steps[-1] == PlanStep("command", DAY_S, MAKE, (ENDED,))


class Carried:
    """A plan carried out by hand: which conditions hold is said by the test."""

    def __init__(self, steps, **more):
        self.now_holds = set()
        self.procedure = Procedure(steps, lambda condition, _t_s: condition.kind in self.now_holds, **more)

    def move(self, t_s, *kinds):
        self.now_holds = set(kinds)
        move = self.procedure.move(t_s)
        if move is None:
            return None
        return move.ended and move.ended.because, move.begins and move.begins.name


def test_a_step_without_a_time_ends_with_its_command():
    carried = Carried(parse_plan("command,idle:5s", command=MAKE))
    assert carried.move(0.0) == (None, "command")
    assert carried.move(3600.0) is None
    assert carried.move(3677.0, ConditionKind.COMMAND_ENDED) == (StepEnd.COMMAND_ENDED, "cool-down")
    assert carried.procedure.due_s == 3682.0


def test_a_command_that_ends_before_its_time_ends_its_step_and_other_work_does_not():
    carried = Carried(parse_plan("all:30s,command x3:10m,idle:5s", command=MAKE))
    carried.move(0.0)
    assert carried.move(3.0, ConditionKind.COMMAND_ENDED) is None
    assert carried.move(30.0, ConditionKind.COMMAND_ENDED) == (StepEnd.TIME, "command")
    assert carried.move(99.0, ConditionKind.COMMAND_ENDED) == (StepEnd.COMMAND_ENDED, "cool-down")


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
    carried = Carried(parse_plan("idle:10,all:20,idle:5"))
    seen = [(t_s, move) for t_s in range(36) if (move := carried.move(float(t_s))) is not None]
    assert seen == [
        (0, (None, "idle")),
        (10, (StepEnd.TIME, "all cores")),
        (30, (StepEnd.TIME, "cool-down")),
        (35, (StepEnd.TIME, None)),
    ]


def test_a_plan_says_when_it_is_due():
    carried = Carried(parse_plan("idle:10,all:20"))
    carried.move(0.0)
    assert carried.procedure.due_s == 10
    carried.move(10.2)
    assert carried.procedure.due_s == 30  # what began late ends in time: the plan does not drift


SETTLING = steps_of(
    Plan("p", (PlanPhase("a", "idle", 60.0, (Condition(ConditionKind.SETTLED),), 20.0), PlanPhase("b", "all", 30.0)))
)


def test_a_condition_ends_a_step_but_not_before_its_least_time():
    carried = Carried(SETTLING)
    carried.move(0.0)
    assert carried.move(19.0, ConditionKind.SETTLED) is None
    assert carried.move(20.0) is None
    assert carried.move(21.5, ConditionKind.SETTLED) == (StepEnd.SETTLED, "b")
    assert carried.procedure.due_s == 51.5


def test_what_does_not_come_ends_at_the_greatest_time_and_is_told():
    carried = Carried(SETTLING)
    carried.move(0.0)
    assert carried.move(60.3) == (StepEnd.GREATEST, "b")


def test_a_condition_of_the_whole_plan_ends_it_in_any_step():
    carried = Carried(SETTLING, end_when=(Condition(ConditionKind.ABOVE, 90.0),))
    carried.move(0.0)
    assert carried.move(5.0, ConditionKind.ABOVE) == (StepEnd.PLAN_ENDED, None)


def test_the_greatest_time_of_the_whole_plan_ends_it():
    carried = Carried(SETTLING, greatest_s=70.0)
    carried.move(0.0)
    carried.move(60.0)
    assert carried.procedure.due_s == 70.0
    assert carried.move(70.0) == (StepEnd.PLAN_ENDED, None)


def test_a_plan_that_is_resumed_begins_with_its_step():
    carried = Carried(SETTLING, first=2)
    assert carried.move(0.0) == (None, "b")
    assert carried.procedure.stop(3.0, StepEnd.INTERRUPTED).number == 2


def test_a_plan_that_is_stopped_tells_which_step_was_on_once():
    carried = Carried(SETTLING)
    assert carried.procedure.stop(0.0, StepEnd.STOPPED) is None
    carried.move(0.0)
    ended = carried.procedure.stop(4.0, StepEnd.STOPPED)
    assert (ended.number, ended.action, ended.because) == (1, StepAction.ENDED, StepEnd.STOPPED)
    assert carried.procedure.stop(5.0, StepEnd.INTERRUPTED) is None


def test_a_load_that_there_is_not_is_told_with_its_phase():
    with pytest.raises(UsageError, match="phase “odd”: 'both' is no load"):
        steps_of(Plan("p", (PlanPhase("odd", "both", 10.0),)))


def test_options_refuse_what_cannot_be_recorded():
    with pytest.raises(UsageError):
        RecordOptions(period_s=0.05)
    with pytest.raises(UsageError):
        RecordOptions(period_s=11)
    with pytest.raises(UsageError):
        RecordOptions(load=BuiltinChoice(), steps=parse_plan("all:1m"))
