"""How far a plan came, what it waits for, and what is missing."""

from math import exp, log

import pytest

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.summary import summarise
from benchmon.model.plan import Asked, Condition, ConditionKind, Plan, PlanPhase, StepAction, StepEnd
from benchmon.model.records import MarkKind, PlannedRun, StepChange
from benchmon.views.sheets import document_json
from benchmon.views.words.plans import plan_sentences, progress_sentence
from tests.support.bench_sessions import mark, sample, session

PLAN = Plan(
    "tried",
    (
        PlanPhase("idle", "idle", 60.0, ask=(Asked.ROOM, Asked.WALL)),
        PlanPhase("all cores", "all", 1800.0, (Condition(ConditionKind.SETTLED),), 120.0, ask=(Asked.SCORE,)),
        PlanPhase("cool-down", "idle", 300.0),
    ),
)


def fed(*records):
    analysis = LiveAnalysis(look_every_s=float("inf"))
    for record in (session([]).header, *records):
        analysis.feed(record)
    return analysis


def began(number, t_s):
    return StepChange(float(t_s), number, StepAction.BEGAN)


def ended(number, t_s, because):
    return StepChange(float(t_s), number, StepAction.ENDED, because)


def test_no_plan_no_words():
    assert fed().plan() is None
    assert fed().progress() is None
    assert plan_sentences(None) == ()


def test_what_was_carried_out_and_what_is_missing():
    room = mark(1, 20.0, MarkKind.ROOM, value=20.0)
    analysis = fed(
        PlannedRun(0.0, PLAN), began(1, 0), sample(10), room, ended(1, 60, StepEnd.TIME), began(2, 60),
        ended(2, 1860, StepEnd.GREATEST), began(3, 1860), ended(3, 1900, StepEnd.INTERRUPTED),
    )  # fmt: skip
    steps = analysis.plan().steps
    assert [step.missing for step in steps] == [(Asked.WALL,), (Asked.SCORE,), ()]
    said = plan_sentences(analysis.plan())
    assert said[0] == "Plan tried: 2 of 3 phases carried out."
    assert "all cores ended after its longest time, 30:00: not settled." in said
    assert "cool-down was not carried out to its end: the recording ended." in said
    assert 'Missing in idle: wall (benchmon add … --in "idle").' in said


def test_what_was_entered_later_is_not_missing():
    late = mark(1, 59.0, MarkKind.WALL, value=20.0, entered_s=2000.0)
    analysis = fed(PlannedRun(0.0, PLAN), began(1, 0), ended(1, 60, StepEnd.TIME), late)
    assert analysis.plan().steps[0].missing == (Asked.ROOM,)


def test_phases_that_were_not_reached_are_told():
    said = plan_sentences(fed(PlannedRun(0.0, PLAN), began(1, 0), ended(1, 30, StepEnd.STOPPED)).plan())
    assert "Not reached: all cores, cool-down." in said
    assert "idle was not carried out to its end: the plan was stopped." in said


def test_a_resumed_plan_tells_of_the_run_before():
    said = plan_sentences(fed(PlannedRun(0.0, PLAN, 3, "5f0c"), began(3, 0), ended(3, 300, StepEnd.TIME)).plan())
    assert said[:2] == (
        "Plan tried: 1 of 1 phase carried out.",
        "It went on at phase 3 of session 5f0c; 2 phases came before.",
    )


@pytest.mark.parametrize("tau_s", [80.0, 200.0])
def test_how_long_until_settled_is_about_right(tau_s):
    """An exact exponential, in closed form: within 25 % of what is left, after two and a half minutes."""
    records = [PlannedRun(0.0, PLAN), began(2, 0), mark(1, 0.0, MarkKind.PHASE, "all cores")]
    records += [sample(t_s, temp=70.0 - 40.0 * exp(-t_s / tau_s)) for t_s in range(150)]
    progress = fed(*records).progress()
    # The line through a window of W changes by about the window's own change: 1 K = 40 K * e^(-t/tau) * (1 - e^(-W/tau)).
    exact_s = 300.0 + tau_s * log(40.0 * (1.0 - exp(-300.0 / tau_s)))
    assert progress.settles_s - 150.0 == pytest.approx(exact_s - 150.0, rel=0.25)
    assert progress.ends_at_most_s == 1800.0
    assert progress.plan_ends_at_most_s == 2100.0
    sentence = progress_sentence(progress, 150.0)
    assert sentence.startswith("Phase 2 of 3, until settled: about ")
    assert "27:30 more at most; the plan 32:30 more at most" in sentence
    assert sentence.endswith("To be entered: score.")


def test_the_sheet_for_programs_holds_the_plan():
    records = [PlannedRun(0.0, PLAN), began(1, 0), ended(1, 60, StepEnd.TIME), began(2, 60)]
    document = document_json.document(summarise(session(records)))
    assert document["plan"]["name"] == "tried"
    assert document["plan"]["resumes"] is None
    assert document["plan"]["phases"] == [
        {"number": 1, "name": "idle", "began_s": 0.0, "ended_s": 60.0, "because": "time", "missing": ["room", "wall"]},
        {"number": 2, "name": "all cores", "began_s": 60.0, "ended_s": None, "because": None, "missing": ["score"]},
        {"number": 3, "name": "cool-down", "began_s": None, "ended_s": None, "because": None, "missing": []},
    ]
    assert document["experiment"] is None
