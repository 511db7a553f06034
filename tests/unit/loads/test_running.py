"""Loads as they run: real processes, a second at most."""

import os
import signal
import time

import pytest

from benchmon.errors import LoadError
from benchmon.loads.builtin import BuiltinLoad
from benchmon.loads.command import CommandLoad
from benchmon.model.records import LoadAction
from tests.support.recorder_process import running_with, wait_for


@pytest.fixture
def builtin():
    load = BuiltinLoad(1, "integer")
    load.start(0.0)
    yield load
    load.close()


def changes_of(load):
    found = []

    def ended():
        found.extend(change for change in [load.poll(1.0)] if change is not None)
        return found

    wait_for(ended)
    return found[0]


def test_workers_count_and_give_way(builtin):
    wait_for(lambda: builtin.work_count() > 5)
    (worker,) = builtin._workers
    assert os.sched_getscheduler(worker.pid) == os.SCHED_BATCH
    own = os.getpriority(os.PRIO_PROCESS, 0)  # the tests themselves may run niced
    assert os.getpriority(os.PRIO_PROCESS, worker.pid) == min(19, own + 10)
    assert os.sched_getaffinity(worker.pid) == {builtin._cpus[0]}
    assert builtin.poll(1.0) is None


def test_stopped_means_gone(builtin):
    wait_for(lambda: builtin.work_count() > 0)
    change = builtin.stop(5.0, "a test")
    assert (change.action, change.reason, change.t_s) == (LoadAction.STOPPED, "a test", 5.0)
    builtin.close()
    assert builtin._workers[0].returncode == -signal.SIGKILL
    count = builtin.work_count()
    time.sleep(0.03)
    assert builtin.work_count() == count
    assert builtin.poll(6.0) is None


def test_one_lost_worker_ends_the_load(builtin):
    os.kill(builtin._workers[0].pid, signal.SIGKILL)
    change = changes_of(builtin)
    assert (change.action, change.exit_status) == (LoadAction.EXITED, -signal.SIGKILL)
    assert "ended from outside" in change.reason


def test_workers_end_when_the_recorder_falls_silent(builtin):
    """As after SIGSTOP, or stuck in a write to a dying disk: seen by its last sign of life being old."""
    builtin._counters[0] = time.monotonic_ns() - 31_000_000_000
    wait_for(lambda: builtin._workers[0].poll() is not None)
    change = builtin.poll(40.0)
    assert change.reason == "the recorder was held up for more than 30 s"


def test_a_command_ends_when_the_recorder_falls_silent(tmp_path):
    token = f"81.{time.time_ns() % 1000000:06d}"
    load = CommandLoad(["sleep", token], tmp_path / "out.txt", silence_s=0.3)
    load.start(0.0)
    wait_for(lambda: running_with(f"sleep {token}"))
    wait_for(lambda: not running_with(token), patience_s=3.0)
    assert "held up" in load.poll(5.0).reason
    load.close()


def test_a_command_lives_while_it_is_polled(tmp_path):
    load = CommandLoad(["sleep", "60"], tmp_path / "out.txt", silence_s=0.3)
    load.start(0.0)
    for t_s in range(8):
        assert load.poll(2.0 * t_s) is None
        time.sleep(0.1)
    load.stop(20.0, "a test")
    load.close()
    assert load._keeper.returncode == 0


def test_a_command_may_end_in_good_order(tmp_path):
    load = CommandLoad(
        ["sh", "-c", "trap 'echo tidy; exit' TERM; echo up; while :; do sleep 0.05; done"], tmp_path / "out.txt"
    )
    load.start(0.0)
    wait_for(lambda: "up" in (tmp_path / "out.txt").read_text())
    load.stop(1.0, "a test")
    load.close()
    assert (tmp_path / "out.txt").read_text().endswith("tidy\n")


def test_a_file_that_cannot_be_run_is_told(tmp_path):
    (tmp_path / "bad").write_text("no program")
    (tmp_path / "bad").chmod(0o755)
    load = CommandLoad([str(tmp_path / "bad")], tmp_path / "out.txt")
    load.start(0.0)
    change = changes_of(load)
    assert change.action is LoadAction.FAILED
    assert "Exec format error" in change.reason
    load.close()


def test_no_such_command(tmp_path):
    with pytest.raises(LoadError, match="no-such-command"):
        CommandLoad(["no-such-command"], tmp_path / "out.txt").start(0.0)


def test_no_place_for_the_output(tmp_path):
    with pytest.raises(LoadError):
        CommandLoad(["true"], tmp_path / "no-folder" / "out.txt").start(0.0)


def test_the_command_gets_none_of_the_recorders_precedence(tmp_path):
    """The recorder runs at real-time priority where it may; a load that inherited it would starve the machine."""
    from benchmon.stream.signals import give_way, take_precedence

    granted = take_precedence()
    try:
        load = CommandLoad(["sleep", "5"], tmp_path / "out.txt")
        load.start(0.0)
    finally:
        give_way()
    assert os.sched_getscheduler(0) == os.SCHED_OTHER
    assert granted in ("real-time", "ordinary")
    assert os.sched_getscheduler(load._keeper.pid) == os.SCHED_OTHER
    load.close()
