"""Loads as they run: real processes, a second at most."""

import os
import signal
import time

import pytest

from benchmon.errors import LoadError
from benchmon.loads.builtin import BuiltinLoad
from benchmon.loads.command import CommandLoad
from benchmon.model.records import LoadAction
from benchmon.stream.output_file import OutputFile
from tests.support.recorder_process import descendants, running_with, wait_for


@pytest.fixture
def builtin():
    load = BuiltinLoad(1, "whole")
    load.start(0.0)
    yield load
    load.close()


def worker_of(load):
    def found():
        return [pid for pid in descendants(load._keeping.process.pid) if pid in running_with("benchmon.loads.worker")]

    wait_for(found)
    return found()[0]


def is_gone(pid):
    try:
        with open(f"/proc/{pid}/stat") as file:
            return file.read().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True


def command(tmp_path, *argv, **options):
    return CommandLoad(argv, OutputFile(tmp_path / "out.session.jsonl").open, **options)


def output(tmp_path):
    return (tmp_path / "out.output.txt").read_text()


def changes_of(load):
    found = []

    def ended():
        found.extend(change for change in [load.poll(1.0)] if change is not None)
        return found

    wait_for(ended)
    return found[0]


def test_workers_count_and_give_way(builtin):
    wait_for(lambda: builtin.work_count() > 5)
    worker = worker_of(builtin)
    assert os.sched_getscheduler(worker) == os.SCHED_BATCH
    own = os.getpriority(os.PRIO_PROCESS, 0)  # the tests themselves may run niced
    assert os.getpriority(os.PRIO_PROCESS, worker) in (10, min(19, own + 10))  # from 0 where the keeper is real-time
    assert os.sched_getaffinity(worker) == {builtin._cpus[0]}
    assert builtin.poll(1.0) is None


def test_stopped_means_gone(builtin):
    wait_for(lambda: builtin.work_count() > 0)
    worker = worker_of(builtin)
    change = builtin.stop(5.0, "a test")
    assert (change.action, change.reason, change.t_s) == (LoadAction.STOPPED, "a test", 5.0)
    builtin.close()
    assert is_gone(worker)
    assert builtin.is_over()
    count = builtin.work_count()
    time.sleep(0.03)
    assert builtin.work_count() == count
    assert builtin.poll(6.0) is None


def test_one_lost_worker_ends_the_load(builtin):
    os.kill(worker_of(builtin), signal.SIGKILL)
    change = changes_of(builtin)
    assert (change.action, change.exit_status) == (LoadAction.EXITED, -signal.SIGKILL)
    assert "ended from outside" in change.reason


def test_workers_end_when_the_recorder_falls_silent():
    """As after SIGSTOP, or stuck in a write to a dying disk: ``poll`` is not called any more."""
    load = BuiltinLoad(1, "whole")
    load.start(0.0)
    worker = worker_of(load)
    begun_s = time.monotonic()
    wait_for(lambda: is_gone(worker))
    assert time.monotonic() - begun_s < 3.0
    assert load.poll(40.0).reason == "the recorder was held up for more than 2.2 s"
    load.close()


def test_workers_end_when_their_keepers_are_stopped(builtin):
    """Both of them at once, and nobody else looks: the workers see that nobody has stamped their memory."""
    worker = worker_of(builtin)
    for pid in (builtin._keeping.process.pid, *descendants(builtin._keeping.process.pid)):
        if pid != worker:
            os.kill(pid, signal.SIGSTOP)
    wait_for(lambda: is_gone(worker), patience_s=4.0)


def test_a_command_ends_when_the_recorder_falls_silent(tmp_path):
    token = f"81.{time.time_ns() % 1000000:06d}"
    load = command(tmp_path, "sleep", token, silence_s=0.3)
    load.start(0.0)
    wait_for(lambda: running_with(f"sleep {token}"))
    wait_for(lambda: not running_with(token), patience_s=3.0)
    assert "held up" in load.poll(5.0).reason
    load.close()


def test_a_command_lives_while_it_is_polled(tmp_path):
    load = command(tmp_path, "sleep", "60", silence_s=0.8)
    load.start(0.0)
    for t_s in range(8):
        assert load.poll(2.0 * t_s) is None
        time.sleep(0.2)
    load.stop(20.0, "a test")
    load.close()
    assert load._keeping.process.returncode == 0


def test_a_command_may_end_in_good_order(tmp_path):
    load = command(tmp_path, "sh", "-c", "trap 'echo tidy; exit' TERM; echo up; while :; do sleep 0.05; done")
    load.start(0.0)
    wait_for(lambda: "up" in output(tmp_path))
    load.stop(1.0, "a test")
    load.close()
    assert output(tmp_path).endswith("tidy\n")


def test_a_file_that_cannot_be_run_is_told(tmp_path):
    (tmp_path / "bad").write_text("no program")
    (tmp_path / "bad").chmod(0o755)
    load = command(tmp_path, str(tmp_path / "bad"))
    load.start(0.0)
    change = changes_of(load)
    assert change.action is LoadAction.FAILED
    assert "Exec format error" in change.reason
    load.close()


def test_no_such_command(tmp_path):
    with pytest.raises(LoadError, match="no-such-command"):
        command(tmp_path, "no-such-command").start(0.0)


def test_no_place_for_the_output(tmp_path):
    with pytest.raises(LoadError):
        command(tmp_path / "no-folder", "true").start(0.0)


def test_the_command_gets_none_of_the_recorders_precedence(tmp_path):
    """The recorder runs at real-time priority where it may; a load that inherited it would starve the machine."""
    from benchmon.loads.tether import give_way, take_precedence

    granted = take_precedence()
    try:
        load = command(tmp_path, "sleep", "5")
        load.start(0.0)
    finally:
        give_way()
    assert os.sched_getscheduler(0) == os.SCHED_OTHER
    assert granted in ("real-time", "ordinary")
    keeper = load._keeping.process.pid
    (sleeping,) = wait_for(lambda: [pid for pid in running_with("sleep 5") if pid in descendants(keeper)])
    assert os.sched_getscheduler(sleeping) == os.SCHED_OTHER
    load.close()


def test_a_command_is_run_as_often_as_asked_for_as_long_as_it_ends_well(tmp_path):
    load = command(tmp_path, "sh", "-c", "echo run", times=3)
    load.start(0.0)
    change = changes_of(load)
    load.close()
    assert (change.action, change.exit_status, change.reason) == (LoadAction.EXITED, 0, "after 3 runs")
    assert output(tmp_path) == "run\n" * 3


def test_a_run_that_fails_is_the_last(tmp_path):
    script = f"echo run; test $(wc -l < {tmp_path / 'out.output.txt'}) -lt 2"
    load = command(tmp_path, "sh", "-c", script, times=None)
    load.start(0.0)
    change = changes_of(load)
    load.close()
    assert (change.exit_status, change.reason) == (1, "after 2 runs")


def test_a_command_without_end_goes_on_until_it_is_stopped(tmp_path):
    load = command(tmp_path, "sh", "-c", "echo run", times=None)
    load.start(0.0)
    wait_for(lambda: load.poll(1.0) is None and output(tmp_path).count("run") > 5)
    load.stop(2.0, "the next step")
    load.close()
    count = output(tmp_path).count("run")
    time.sleep(0.05)
    assert output(tmp_path).count("run") == count


def test_a_command_runs_on_the_cores_it_may_use(tmp_path):
    cpu = max(os.sched_getaffinity(0))
    load = command(tmp_path, "sh", "-c", "grep Cpus_allowed_list /proc/self/status", cores=(cpu,))
    load.start(0.0)
    changes_of(load)
    load.close()
    assert output(tmp_path).split()[-1] == str(cpu)


def test_a_core_that_there_is_not_is_refused(tmp_path):
    with pytest.raises(LoadError, match="4095"):
        command(tmp_path, "true", cores=(0, 4095))
