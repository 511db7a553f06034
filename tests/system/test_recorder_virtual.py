"""A whole recording of a machine that does not exist: its sensors are files, read by the code that reads real ones."""

import pytest

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.summary import summarise
from benchmon.errors import ExitCode, LoadError
from benchmon.model import keys
from benchmon.model.records import LoadAction, LoadChange, Machine, Mark, MarkKind, Sample
from benchmon.session.reader import read_session
from benchmon.stream.options import BuiltinChoice, PlanStep, RecordOptions, VirtualMachine
from benchmon.stream.recorder import record
from benchmon.virtual_bench.demo import DEMO_STEPS, demo_box
from benchmon.virtual_bench.tree import SysTree

pytestmark = pytest.mark.system


def virtual_machine(folder, speed):
    box = demo_box(1)
    return VirtualMachine(box.spec.name, box, SysTree(folder, box), folder, speed)


class Listening:
    """Concludes while it is recorded, as the line output does."""

    def __init__(self):
        self.analysis = LiveAnalysis()

    def accept(self, record):
        self.analysis.feed(record)


@pytest.fixture(scope="module")
def listening():
    return Listening()


@pytest.fixture(scope="module")
def demo(tmp_path_factory, listening):
    """The demo's run, 120 times faster than real."""
    folder = tmp_path_factory.mktemp("demo")
    virtual = virtual_machine(folder / "tree", 120.0)
    path = folder / "demo.session.jsonl"
    steps = tuple(
        PlanStep(name, seconds, BuiltinChoice(cores) if cores else None) for name, seconds, cores in DEMO_STEPS
    )
    outcome = record(RecordOptions(path, period_s=1.0, steps=steps, virtual=virtual, quiet=True), (listening,))
    return outcome, read_session(path), virtual.box


def column(session, key, start_s, end_s):
    at = [channel.key for channel in session.header.channels].index(key)
    values = [one.values[at] for one in session.records if isinstance(one, Sample) and start_s < one.t_s < end_s]
    return [value for value in values if value is not None]


def mean(values):
    return sum(values) / len(values)


def test_it_is_recorded_to_its_end(demo):
    outcome, session, _ = demo
    assert outcome.exit_code is ExitCode.OK
    assert session.is_complete
    assert session.header.time_scale == 120.0
    assert session.header.virtual
    assert [one.virtual for one in session.records if isinstance(one, Machine)] == [True]


def test_events_are_the_same_live_and_from_the_file(demo, listening):
    _, session, _ = demo
    assert listening.analysis.events
    assert listening.analysis.events == summarise(session).events


def test_phases_follow_the_plan(demo):
    _, session, _ = demo
    phases = [one for one in session.records if isinstance(one, Mark) and one.kind is MarkKind.PHASE]
    assert [phase.text for phase in phases] == [name for name, _, _ in DEMO_STEPS]
    starts = [sum(seconds for _, seconds, _ in DEMO_STEPS[:i]) for i in range(len(DEMO_STEPS))]
    assert [phase.t_s for phase in phases] == pytest.approx(starts, abs=3.0)


def test_what_was_sampled_is_what_the_machine_did(demo):
    """Against the model's own truth: its plateau and the power it held."""
    _, session, box = demo
    (throttled,) = [one for one in box.truth if one.cause == "thermal"]
    middle_s, end_s = (throttled.start_s + throttled.end_s) / 2, throttled.end_s - 5
    assert mean(column(session, keys.PROCESSOR_TEMP, middle_s, end_s)) == pytest.approx(throttled.plateau_c, abs=1.5)
    free = mean(column(session, keys.CLOCK, 145, throttled.start_s - 5))
    held = mean(column(session, keys.CLOCK, middle_s, end_s))
    assert held < 0.85 * free
    work_free = mean(column(session, keys.WORK_RATE, 145, throttled.start_s - 5))
    work_held = mean(column(session, keys.WORK_RATE, middle_s, end_s))
    assert work_held / work_free == pytest.approx(held / free, abs=0.05)


def test_power_is_energy_over_time(demo):
    """The energy counter is read at jittering moments; its mean must still be the model's own mean power."""
    _, session, box = demo
    (throttled,) = [one for one in box.truth if one.cause == "thermal"]
    powers = column(session, keys.PACKAGE_POWER, throttled.start_s + 1, throttled.end_s - 1)
    assert mean(powers) == pytest.approx(throttled.power_held_w, rel=0.03)


def test_the_guard_stops_a_virtual_load_as_well(tmp_path):
    virtual = virtual_machine(tmp_path / "tree", 60.0)
    path = tmp_path / "x.session.jsonl"
    options = RecordOptions(path, period_s=0.5, load=BuiltinChoice(), stop_at_c=60.0, virtual=virtual, quiet=True)
    outcome = record(options, ())
    assert outcome.exit_code is ExitCode.GUARD
    session = read_session(path)
    (stopped,) = [one for one in session.records if isinstance(one, LoadChange) and one.action is LoadAction.STOPPED]
    assert "above 60 °C" in stopped.reason
    assert session.end.t_s == pytest.approx(stopped.t_s + 30, abs=3)  # the cool-down is recorded
    after = column(session, keys.PROCESSOR_TEMP, stopped.t_s + 20, session.end.t_s)
    assert max(after) < 60


def test_more_cores_than_it_has(tmp_path):
    virtual = virtual_machine(tmp_path / "tree", 60.0)
    with pytest.raises(LoadError, match="4 cores"):
        record(RecordOptions(tmp_path / "x.session.jsonl", load=BuiltinChoice(5), virtual=virtual), ())
