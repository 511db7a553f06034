"""A whole recording of a machine that does not exist: its sensors are files, read by the code that reads real ones."""

import time
from dataclasses import replace

import pytest

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.summary import summarise
from benchmon.errors import ExitCode, LoadError
from benchmon.model import keys
from benchmon.model.records import Gap, LoadAction, LoadChange, Machine, Mark, MarkKind, Sample
from benchmon.session.reader import read_session
from benchmon.stream.options import BuiltinChoice, PlanStep, RecordOptions, VirtualMachine
from benchmon.stream.recorder import record
from benchmon.views.sheets import text
from benchmon.virtual_bench.demo import DEMO_STEPS, demo_box
from benchmon.virtual_bench.tree import SysTree

pytestmark = pytest.mark.system


def virtual_machine(folder, speed):
    box = demo_box(1)
    return VirtualMachine(box.spec.name, box, SysTree(folder, box), folder, speed)


STEPS = tuple(PlanStep(name, seconds, BuiltinChoice(cores) if cores else None) for name, seconds, cores in DEMO_STEPS)


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
    """The demo's run, a thousand times faster than real if the machine manages."""
    folder = tmp_path_factory.mktemp("demo")
    virtual = virtual_machine(folder / "tree", 1000.0)
    path = folder / "demo.session.jsonl"
    outcome = record(RecordOptions(path, period_s=1.0, steps=STEPS, virtual=virtual, quiet=True), (listening,))
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
    assert session.header.time_scale == 1000.0
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
    assert [phase.t_s for phase in phases] == pytest.approx(starts, abs=0.01)


def test_what_was_sampled_is_what_the_machine_did(demo):
    """Against the model's own truth: its plateau and the power it held."""
    _, session, box = demo
    (throttled,) = [one for one in box.truth if one.cause == "thermal"]
    start_s = DEMO_STEPS[0][1] + DEMO_STEPS[1][1] + 5
    middle_s, end_s = (throttled.start_s + throttled.end_s) / 2, throttled.end_s - 5
    assert mean(column(session, keys.PROCESSOR_TEMP, middle_s, end_s)) == pytest.approx(throttled.plateau_c, abs=1.5)
    free = mean(column(session, keys.CLOCK, start_s, throttled.start_s - 5))
    held = mean(column(session, keys.CLOCK, middle_s, end_s))
    assert held < 0.85 * free
    work_free = mean(column(session, keys.WORK_RATE, start_s, throttled.start_s - 5))
    work_held = mean(column(session, keys.WORK_RATE, middle_s, end_s))
    assert work_held / work_free == pytest.approx(held / free, abs=0.05)


def test_power_is_energy_over_time(demo):
    """The energy counter is read at jittering moments; its mean must still be the model's own mean power."""
    _, session, box = demo
    (throttled,) = [one for one in box.truth if one.cause == "thermal"]
    powers = column(session, keys.PACKAGE_POWER, throttled.start_s + 1, throttled.end_s - 1)
    assert mean(powers) == pytest.approx(throttled.power_held_w, rel=0.03)


class HeldUp:
    """Keeps the recorder from running now and then, for many periods of simulated time."""

    def accept(self, record):
        if isinstance(record, Sample) and int(record.t_s) % 60 == 0:
            time.sleep(0.02)


def test_a_seed_gives_the_same_session_to_the_digit_however_the_recorder_is_held_up(demo, tmp_path):
    _, session, _ = demo
    options = RecordOptions(
        tmp_path / "again.session.jsonl",
        period_s=1.0,
        steps=STEPS,
        virtual=virtual_machine(tmp_path / "tree", 1000.0),
        quiet=True,
    )
    record(options, (HeldUp(),))
    again = read_session(options.destination)
    assert [channel.key for channel in again.header.channels][-1] == keys.RECORDER_COST  # the only real one
    assert not [one for one in again.records if isinstance(one, Gap)]
    assert [simulated(one) for one in again.records] == [simulated(one) for one in session.records]
    sheets = [text.render(replace(summarise(one), header=session.header)) for one in (session, again)]
    assert sheets[0] == sheets[1]


def simulated(record):
    """All of a record but what was measured on the machine that the test runs on."""
    if isinstance(record, Sample):
        return record.t_s, record.values[:-1]
    return record


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
    cores = virtual.box.spec.cores
    with pytest.raises(LoadError, match=f"{cores} cores"):
        record(RecordOptions(tmp_path / "x.session.jsonl", load=BuiltinChoice(cores + 1), virtual=virtual), ())
