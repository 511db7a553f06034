"""Plans carried out on the virtual bench, in accelerated time: nothing is lost, and the same seed gives the same."""

import os

import pytest

from benchmon.analysis.plan.judge import PhaseJudge
from benchmon.errors import ExitCode
from benchmon.model.plan import Condition, ConditionKind, Plan, PlanPhase, StepAction, StepEnd
from benchmon.model.records import Gap, LoadAction, LoadChange, Mark, MarkKind, PlannedRun, Sample, StepChange
from benchmon.model.work_kinds import WIDEST
from benchmon.plans.shipped import shipped_plan
from benchmon.session.reader import read_session
from benchmon.stream.options import RecordOptions, VirtualMachine
from benchmon.stream.plan import steps_of
from benchmon.stream.recorder import record
from benchmon.virtual_bench.demo import CHIP, DEFENDED_C, demo_box
from benchmon.virtual_bench.tree import SysTree
from tests.support.recorder_process import descendants, recorder, running_with, wait_for

pytestmark = pytest.mark.system


def carried_out(folder, plan, judge=None, sinks=(), box=None, **more):
    box = box or demo_box(3, "duct")
    virtual = VirtualMachine(box.spec.name, box, SysTree(folder / "tree", box), folder / "tree", 1e6)
    path = folder / "run.session.jsonl"
    options = {"period_s": 1.0, "virtual": virtual, "quiet": True, "plan": plan, "steps": steps_of(plan)} | more
    outcome = record(RecordOptions(path, judge=judge, **options), sinks)
    return outcome, read_session(path)


def kept(session, kind):
    return [one for one in session.records if isinstance(one, kind)]


def ends(session):
    return {one.number: one.because for one in kept(session, StepChange) if one.action is StepAction.ENDED}


WAITING = Plan(
    "waiting",
    (
        PlanPhase("idle", "idle", 30.0),
        PlanPhase("one core", "one", 900.0, (Condition(ConditionKind.SETTLED),), 60.0),
        PlanPhase("cool-down", "idle", 300.0, (Condition(ConditionKind.COOLED, 60.0),)),
        PlanPhase("all cores", "all", 400.0, (Condition(ConditionKind.ABOVE, 60.0),)),
        PlanPhase("never", "idle", 20.0, (Condition(ConditionKind.ABOVE, 120.0),)),
        PlanPhase("last", "idle", 10.0),
    ),
)


@pytest.fixture(scope="module")
def waited(tmp_path_factory):
    return carried_out(tmp_path_factory.mktemp("waited"), WAITING, PhaseJudge())


def test_each_phase_ends_for_its_reason(waited):
    outcome, session = waited
    assert outcome.exit_code is ExitCode.OK
    assert list(ends(session).values()) == [
        StepEnd.TIME, StepEnd.SETTLED, StepEnd.COOLED, StepEnd.ABOVE, StepEnd.GREATEST, StepEnd.TIME,
    ]  # fmt: skip
    assert session.is_complete


def test_the_session_holds_the_plan(waited):
    (run,) = kept(waited[1], PlannedRun)
    assert run.plan == WAITING
    assert (run.first, run.resumes) == (1, "")


def test_each_phase_is_a_marked_phase_and_the_load_ends_first(waited):
    session = waited[1]
    names = [one.text for one in kept(session, Mark) if one.kind is MarkKind.PHASE]
    assert names == [phase.name for phase in WAITING.phases]
    told = [one for one in session.records if isinstance(one, LoadChange | StepChange)]
    for before, after in zip(told, told[1:], strict=False):
        if isinstance(after, StepChange) and after.action is StepAction.ENDED and after.number in (2, 4):
            assert isinstance(before, LoadChange)
            assert before.action is LoadAction.STOPPED


def test_no_sample_is_lost(waited):
    session = waited[1]
    times = [one.t_s for one in kept(session, Sample)]
    assert not kept(session, Gap)
    assert len(times) == int(times[-1]) + 1


def test_the_same_seed_gives_the_same_plan_however_it_is_listened_to(waited, tmp_path):
    class Slow:
        def accept(self, record):
            sum(range(200))

    again = carried_out(tmp_path, WAITING, PhaseJudge(), (Slow(),))[1]
    assert [simulated(one) for one in again.records] == [simulated(one) for one in waited[1].records]


def simulated(one):
    """All of a record but the recorder's own cost, which is really measured."""
    return (one.t_s, one.values[:-1]) if isinstance(one, Sample) else one


class Failing(PhaseJudge):
    def accept(self, record):
        raise ArithmeticError("no idea")


def test_a_judge_that_fails_costs_the_condition_and_not_the_recording(tmp_path):
    plan = Plan("p", (PlanPhase("idle", "idle", 400.0, (Condition(ConditionKind.SETTLED),)),))
    outcome, session = carried_out(tmp_path, plan, Failing())
    assert outcome.exit_code is ExitCode.OK
    assert ends(session) == {1: StepEnd.GREATEST}
    assert "no longer judged" in next(one.text for one in kept(session, Mark) if one.kind is MarkKind.NOTE)


def test_the_guard_ends_the_plan_with_the_load(tmp_path):
    plan = Plan("p", (PlanPhase("all cores", "all", 400.0), PlanPhase("more", "one", 400.0)))
    outcome, session = carried_out(tmp_path, plan, stop_at_c=50.0)
    assert outcome.exit_code is ExitCode.GUARD
    assert ends(session) == {1: StepEnd.STOPPED}
    assert kept(session, LoadChange)[-1].action is LoadAction.STOPPED


def test_a_recording_that_is_over_before_its_plan_interrupts_it(tmp_path):
    plan = Plan("p", (PlanPhase("idle", "idle", 10.0), PlanPhase("all cores", "all", 400.0)))
    session = carried_out(tmp_path, plan, duration_s=20.0)[1]
    assert ends(session) == {1: StepEnd.TIME, 2: StepEnd.INTERRUPTED}
    told = [one for one in session.records if isinstance(one, LoadChange | StepChange)]
    assert isinstance(told[-2], LoadChange)
    assert told[-2].action is LoadAction.STOPPED


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_a_recorder_killed_at_the_edge_of_a_phase_leaves_no_load_and_a_readable_session(tmp_path, number):
    """On this machine's real cores: as soon as the phase is told to have begun."""
    path = tmp_path / "killed.session.jsonl"
    steps = "idle:0.3s,one:0.4s,all:0.4s,idle:2s"
    plan = f"__import__('benchmon.plans.steps', fromlist=['']).plan_of_steps({steps!r})"
    options = f"steps=parse_plan({steps!r}), plan={plan}, period_s=0.1, quiet=True"
    with recorder(path, options) as process:
        wait_for(lambda: f'"number":{number},"action":"began"' in path.read_text())
        family = descendants(process.pid)
        process.kill()
        wait_for(lambda: not [pid for pid in family if pid in running_with("benchmon.loads")], patience_s=4.0)
    session = read_session(path)
    assert [one.number for one in kept(session, StepChange) if one.action is StepAction.BEGAN][-1] == number
    assert session.end is None
    assert not session.damage


def true_knee(seed):
    """The fewest cores that, settled with nothing in the way, are hotter than the machine lets them be."""
    for cores in range(1, CHIP.cores + 1):
        box = demo_box(seed)
        box.limits = ()
        box.set_load(cores, kind=WIDEST)
        box.step(1500.0)
        if box.hot_c > DEFENDED_C:
            return cores
    raise AssertionError("this machine holds all its cores")


@pytest.mark.parametrize("seed", [1, 17])
def test_the_stair_ends_within_a_step_of_what_the_cooler_holds(tmp_path, seed):
    plan = shipped_plan("stair", CHIP.cores)
    _, session = carried_out(tmp_path, plan, PhaseJudge(), box=demo_box(seed), period_s=2.0)
    *settled, last = ends(session).items()
    assert {because for _, because in settled} == {StepEnd.SETTLED}
    assert last[1] is StepEnd.PLAN_ENDED
    words = plan.phases[last[0] - 1].load
    cores = {"one": 1, "all": CHIP.cores}.get(words) or int(words)
    assert abs(cores - true_knee(seed)) <= 1


def test_recordings_in_one_process_leave_no_file_open(tmp_path):
    def recorded(name):
        (tmp_path / name).mkdir()
        carried_out(tmp_path / name, Plan("short", (PlanPhase("idle", "idle", 5.0),)))
        return len(os.listdir("/proc/self/fd"))

    assert recorded("first") == recorded("second") == recorded("third")
