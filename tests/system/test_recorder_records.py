"""The recorder as a whole, on this machine: short recordings, real processes, real files."""

import itertools
import os
import resource
import signal

import pytest

from benchmon.analysis.summary import summarise
from benchmon.errors import BenchmonError, ExitCode, LoadError, OutputError
from benchmon.model import keys
from benchmon.model.records import Gap, LoadAction, LoadChange, Mark, MarkKind, Sample, Setting
from benchmon.session.reader import read_session
from benchmon.stream.control import ControlClient
from benchmon.stream.live import start_recorder
from benchmon.stream.options import BuiltinChoice, CommandChoice, RecordOptions
from benchmon.stream.plan import parse_plan
from benchmon.stream.recorder import record
from tests.support.recorder_process import recorder, running_with, wait_for

pytestmark = pytest.mark.system


@pytest.fixture(autouse=True)
def own_runtime_folder(tmp_path, monkeypatch):
    (tmp_path / "run").mkdir()
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path / "run"))


@pytest.fixture
def path(tmp_path):
    return tmp_path / "x.session.jsonl"


def values_of(session, key):
    at = [channel.key for channel in session.header.channels].index(key)
    return [record.values[at] for record in session.records if isinstance(record, Sample)]


def of_kind(session, kind):
    return [record for record in session.records if isinstance(record, kind)]


class Listening:
    def __init__(self):
        self.records = []

    def accept(self, one):
        self.records.append(one)


def test_built_in_load_keeps_the_machine_busy_and_is_counted(path):
    listening = Listening()
    load = BuiltinChoice(None, "scalar")  # at work at once, even where others are too
    outcome = record(RecordOptions(path, load=load, duration_s=3.0, period_s=0.5, quiet=True), (listening,))
    assert outcome.exit_code is ExitCode.OK
    session = read_session(path)
    assert session.is_complete
    assert [type(one) for one in listening.records] == [type(session.header), *(type(one) for one in session.records)]
    loads = [value for value in values_of(session, keys.LOAD)[2:] if value is not None]
    rates = [value for value in values_of(session, keys.WORK_RATE)[2:] if value is not None]
    assert sum(loads) / len(loads) > 50
    assert min(rates) > 0
    started, stopped = of_kind(session, LoadChange)
    assert (started.action, started.busy_cores) == (LoadAction.STARTED, len(os.sched_getaffinity(0)))
    assert (stopped.action, stopped.reason) == (LoadAction.STOPPED, "the time asked for is over")


def test_samples_are_on_time_under_full_load(path):
    record(RecordOptions(path, load=BuiltinChoice(), duration_s=3.0, period_s=0.1, quiet=True), ())
    session = read_session(path)
    times = [sample.t_s for sample in of_kind(session, Sample)]
    late_ms = sorted(1000 * (t_s - round(t_s / 0.1) * 0.1) for t_s in times)
    assert late_ms[len(late_ms) // 2] < 20  # at ordinary priority too, on a machine that others load as well
    assert len(times) + sum(round((gap.end_s - gap.start_s) / 0.1) - 1 for gap in of_kind(session, Gap)) >= 30


def test_steps_are_marked_phases(path):
    steps = parse_plan("idle:0.3s,one:0.4s,all:0.4s,idle:0.3s")
    outcome = record(
        RecordOptions(path, steps=steps, period_s=0.1, tags={"paste": "fresh"}, room_c=23.5, quiet=True), ()
    )
    assert outcome.reason == "the steps are over"
    session = read_session(path)
    marks = of_kind(session, Mark)
    assert marks[0].kind is MarkKind.ROOM
    phases = [mark for mark in marks if mark.kind is MarkKind.PHASE]
    assert [mark.text for mark in phases] == ["idle", "one core", "all cores", "cool-down"]
    assert [mark.t_s for mark in phases] == pytest.approx([0, 0.3, 0.7, 1.1], abs=0.15)
    assert session.header.tags == {"paste": "fresh"}
    assert session.end.t_s == pytest.approx(1.4, abs=0.3)


def test_a_commands_output_and_status_are_kept(path):
    options = RecordOptions(
        path, load=CommandChoice(("sh", "-c", "echo 1234 points; exit 3")), period_s=5.0, quiet=True
    )
    outcome = record(options, ())
    assert outcome.exit_code is ExitCode.LOAD
    assert path.with_name("x.output.txt").read_text() == "1234 points\n"
    started, exited = of_kind(read_session(path), LoadChange)
    assert (exited.action, exited.exit_status) == (LoadAction.EXITED, 3)


def test_a_command_is_a_step_that_lasts_as_long_as_its_runs(path):
    steps = parse_plan("idle:0.2s,command x2,idle:0.2s", command=CommandChoice(("sh", "-c", "echo run; sleep 0.1")))
    assert record(RecordOptions(path, steps=steps, period_s=5.0, quiet=True), ()).exit_code is ExitCode.OK
    session = read_session(path)
    phases = [mark for mark in of_kind(session, Mark) if mark.kind is MarkKind.PHASE]
    assert [mark.text for mark in phases] == ["idle", "command", "cool-down"]
    started, exited = of_kind(session, LoadChange)
    assert (exited.action, exited.exit_status, exited.reason) == (LoadAction.EXITED, 0, "after 2 runs")
    assert phases[2].t_s == pytest.approx(exited.t_s, abs=0.01)
    assert path.with_name("x.output.txt").read_text() == "run\nrun\n"


def test_a_commands_own_phases_scores_and_version_are_read(path):
    """Each score belongs to the phase in which it was printed, the last one although nothing follows it."""
    script = "echo bench 3.2; echo run one; sleep .8; echo 412 pts; echo run all; sleep .8; printf '1842 pts'"
    command = CommandChoice(
        ("sh", "-c", script), phases=("run (.*)",), score_from=(r"(\d+) pts",), version_from=r"bench [\d.]+"
    )
    steps = parse_plan("idle:0.2s,command,idle:0.2s", command=command)
    assert record(RecordOptions(path, steps=steps, period_s=0.1, quiet=True), ()).exit_code is ExitCode.OK
    session = read_session(path)
    settings = {setting.key: setting.value for setting in of_kind(session, Setting)}
    assert (settings["command_output"], settings["command_version"]) == ("x.output.txt", "bench 3.2")
    phases = summarise(session).phases
    assert [(phase.name, [score.value for score in phase.scores]) for phase in phases] == [
        ("idle", []),
        ("one", [412.0]),
        ("all", [1842.0]),
        ("cool-down", []),
    ]
    starts_s = [mark.t_s for mark in of_kind(session, Mark) if mark.text == "command"]
    assert [phases[1].start_s] == starts_s, "what is printed at once begins with the command"
    assert 0.5 < phases[2].start_s - phases[1].start_s < phases[3].start_s - 0.5
    assert {mark.source for mark in of_kind(session, Mark) if mark.kind is MarkKind.SCORE} == {"the command's output"}


def test_a_phase_just_before_the_end_does_not_speak_for_the_end(path):
    """A person's mark near a load change speaks for it; what a command printed at a known moment does not."""
    command = CommandChoice(("sh", "-c", "sleep 0.3; echo run all; sleep 0.5"), phases=("run (.*)",))
    record(RecordOptions(path, load=command, duration_s=2.0, period_s=0.1, quiet=True), ())
    assert [phase.name for phase in summarise(read_session(path)).phases][-2:] == ["all", "cool-down"]


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGSTOP])
def test_nobody_waits_for_a_listener_that_is_killed_or_stopped(path, number):
    options = "CommandChoice(('sh', '-c', 'echo 5 pts; sleep 0.6'), score_from=('(5) pts',))"
    with recorder(path, f"load={options}, period_s=0.1") as process:
        listener = wait_for(lambda: running_with("benchmon.loads.listener"))[0]
        os.kill(listener, number)
        assert process.wait(8) == 0
        assert not os.path.exists(f"/proc/{listener}")
    session = read_session(path)
    assert session.is_complete
    assert of_kind(session, LoadChange)[-1].exit_status == 0
    times = [sample.t_s for sample in of_kind(session, Sample)]
    assert max(later - earlier for earlier, later in itertools.pairwise(times)) < 0.5


def test_a_command_can_be_named_while_recording(path):
    with recorder(path, "period_s=0.1, end_with_load=False") as process:
        client = ControlClient(read_session(path).header.session_id)
        assert client.send({"do": "load_start", "argv": ["sh", "-c", "echo hello; sleep 9"]})["ok"] is True
        wait_for(lambda: path.with_name("x.output.txt").read_text() == "hello\n")
        assert client.send({"do": "load_stop"})["ok"] is True
        client.send({"do": "end"})
        assert process.wait(10) == 0  # what was answered is on its way to the disk
    started, stopped = of_kind(read_session(path), LoadChange)
    assert (started.what, stopped.action) == ("sh -c 'echo hello; sleep 9'", LoadAction.STOPPED)


def test_a_command_that_ends_well_ends_the_recording_well(path):
    assert record(RecordOptions(path, load=CommandChoice(("true",)), quiet=True), ()).exit_code is ExitCode.OK


def test_a_command_that_is_not_there_is_told_in_a_sentence(path, capsys):
    outcome = record(RecordOptions(path, load=CommandChoice(("no-such-command-here",)), quiet=True), ())
    assert outcome.exit_code is ExitCode.LOAD
    assert "no-such-command-here" in capsys.readouterr().err
    session = read_session(path)
    assert of_kind(session, LoadChange)[0].action is LoadAction.FAILED
    assert "could not be started" in session.end.reason


def test_more_cores_than_there_are_leave_no_file(path):
    with pytest.raises(LoadError):
        record(RecordOptions(path, load=BuiltinChoice(1000)), ())
    assert not path.exists()


def test_a_full_disk_stops_load_and_recording_and_leaves_a_readable_file(path):
    """A limit on the file's size stands for the disk: the kernel refuses the write in the same way (EFBIG)."""

    def limit():
        resource.setrlimit(resource.RLIMIT_FSIZE, (4000, 4000))

    with recorder(path, "load=BuiltinChoice(1), period_s=0.1", preexec_fn=limit) as process:
        output, errors = process.communicate(timeout=20)
        assert process.returncode == ExitCode.OUTPUT
        assert "x.session.jsonl" in errors
        assert "Traceback" not in errors
    session = read_session(path)
    assert not session.is_complete
    assert len(of_kind(session, Sample)) > 3


def test_a_sink_whose_output_is_gone_does_not_end_the_recording(path):
    class Gone:
        def accept(self, one):
            raise BrokenPipeError

    assert record(RecordOptions(path, duration_s=0.3, period_s=0.1, quiet=True), (Gone(),)).exit_code is ExitCode.OK
    assert read_session(path).is_complete


def test_a_readings_command_is_a_channel(path):
    options = RecordOptions(path, duration_s=1.0, period_s=0.1, readings=("wall_w=echo 41.5@0.5s",), quiet=True)
    record(options, ())
    values = values_of(read_session(path), keys.WALL_POWER)
    assert values[0] is None
    assert values[-1] == 41.5


def test_a_watched_recorder_is_marked_loaded_and_ended_from_outside(tmp_path):
    live = start_recorder(["--every", "10s", "--to", str(tmp_path / "y.session.jsonl")])
    try:
        assert read_session(live.path).header.session_id == live.session_id
        assert os.getsid(live.process.pid) != os.getsid(0), "a lost terminal would take the recorder with it"
        client = ControlClient(live.session_id)
        assert client.send({"do": "ping"})["pid"] == live.process.pid
        assert client.send({"do": "mark", "kind": "phase", "text": "one core"})["number"] == 1
        started = client.send({"do": "load_start", "load": "one whole"})
        assert (started["ok"], started["load"]) == (True, "whole-number arithmetic on one core")
        assert client.send({"do": "load_start", "load": "one"}) == {"ok": False, "why": "a load is running already"}
        assert client.send({"do": "load_stop"}) == {"ok": True}
        assert client.send({"do": "fly"})["ok"] is False
        live.process.send_signal(signal.SIGHUP)  # the line it was started from is lost
        assert client.send({"do": "end"}) == {"ok": True}
        assert live.process.wait(3) == 0
    finally:
        live.process.kill()
    session = read_session(live.path)
    assert session.is_complete
    assert session.end.reason == "stopped by user"
    assert [change.action for change in of_kind(session, LoadChange)] == [LoadAction.STARTED, LoadAction.STOPPED]


def test_what_a_watched_recorder_complains_of_is_raised_here(tmp_path):
    (tmp_path / "y.session.jsonl").write_text("already here")
    with pytest.raises(OutputError):
        start_recorder(["--to", str(tmp_path / "y.session.jsonl")])
    with pytest.raises(BenchmonError):
        start_recorder(["--load", "dancing"])


def test_the_guard_stops_the_load_and_the_cool_down_is_recorded(path, monkeypatch):
    """The temperature is scripted; load, loop, guard and file are real."""
    from benchmon.sensors import discovery
    from tests.support.scripted_sensor import ScriptedSensor

    script = ScriptedSensor([50.0] * 6 + [95.0] * 3 + [60.0])
    found = discovery.Discovery((script,), (), "")
    monkeypatch.setattr("benchmon.stream.setup.discover", lambda _root: found)
    outcome = record(
        RecordOptions(path, load=BuiltinChoice(1), duration_s=1.5, period_s=0.1, stop_at_c=90.0, quiet=True), ()
    )
    assert outcome.exit_code is ExitCode.GUARD
    session = read_session(path)
    started, stopped = of_kind(session, LoadChange)
    assert stopped.reason == "guard: processor at 95 °C, above 90 °C"
    assert stopped.t_s == pytest.approx(0.7, abs=0.15)
    assert [mark.text for mark in of_kind(session, Mark) if mark.kind is MarkKind.PHASE] == ["cool-down"]
    assert session.end.t_s == pytest.approx(1.5, abs=0.3)


def test_without_any_temperature_the_session_says_that_nothing_guards(path, monkeypatch):
    from benchmon.model.units import Unit
    from benchmon.sensors import discovery
    from tests.support.scripted_sensor import ScriptedSensor

    found = discovery.Discovery((ScriptedSensor([1.0], "load_pct", Unit.PERCENT),), (), "")
    monkeypatch.setattr("benchmon.stream.setup.discover", lambda _root: found)
    record(RecordOptions(path, load=BuiltinChoice(1), duration_s=0.3, period_s=0.1, quiet=True), ())
    assert "no over-temperature cut-out" in of_kind(read_session(path), LoadChange)[0].reason


def test_waiting_helper_fails_when_nothing_comes():
    with pytest.raises(AssertionError):
        wait_for(lambda: False, patience_s=0.05)
