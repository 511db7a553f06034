"""Whatever happens to the recorder, nothing of its load goes on heating the machine."""

import contextlib
import os
import signal
import time

import pytest

from benchmon.model.records import LoadAction, LoadChange, Sample
from benchmon.session.reader import read_session
from tests.support.recorder_process import descendants, recorder, running_with, wait_for

pytestmark = pytest.mark.system


def gone(pids):
    return not any(os.path.exists(f"/proc/{pid}") and not _is_zombie(pid) for pid in pids)


def _is_zombie(pid):
    try:
        with open(f"/proc/{pid}/stat") as file:
            return file.read().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True


def workers_of(process):
    return [pid for pid in descendants(process.pid) if pid in running_with("benchmon.loads.worker")]


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
def test_built_in_workers_end_with_the_recorder(tmp_path, number):
    with recorder(tmp_path / "x.session.jsonl", "load=BuiltinChoice()") as process:
        wait_for(lambda: len(workers_of(process)) == len(os.sched_getaffinity(0)))
        workers = workers_of(process)
        process.send_signal(number)
        wait_for(lambda: gone(workers), patience_s=2.0)


def test_a_command_its_children_and_those_that_ran_away_end_with_a_killed_recorder(tmp_path):
    """One child in the group, one in a session of its own whose parent has ended, and a main process that ignores SIGTERM."""
    token = f"77{os.getpid() % 1000:03d}.{time.time_ns() % 1000000:06d}"
    script = f"trap '' TERM; sleep {token} & (setsid sleep {token} & ); while :; do sleep {token}; done"
    with recorder(tmp_path / "x.session.jsonl", f"load=CommandChoice(('sh', '-c', {script!r}))") as process:
        wait_for(lambda: len(running_with(f"sleep {token}")) >= 4)  # the shell's own command line holds it too
        process.send_signal(signal.SIGKILL)
        wait_for(lambda: not running_with(token), patience_s=4.0)


def kept_by(process, *names):
    """The two processes beside a load, by the names that they give themselves."""
    return [pid for pid in descendants(process.pid) if _name_of(pid) in names]


def _name_of(pid):
    try:
        with open(f"/proc/{pid}/comm") as file:
            return file.read().strip()
    except OSError:
        return ""


@pytest.mark.parametrize("names", [("benchmon-keeper",), ("benchmon-reader",), ("benchmon-reader", "benchmon-keeper")])
@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGSTOP])
def test_a_command_and_what_ran_away_from_it_end_even_if_its_keepers_are_killed_or_stopped(tmp_path, names, number):
    token = f"78.{time.time_ns() % 1000000:06d}"
    path = tmp_path / "x.session.jsonl"
    script = f"trap '' TERM; sleep {token} & (setsid sleep {token} & ); while :; do sleep {token}; done"
    with recorder(path, f"load=CommandChoice(('sh', '-c', {script!r}))") as process:
        wait_for(lambda: len(running_with(f"sleep {token}")) >= 4)
        for keeper in kept_by(process, *names):
            os.kill(keeper, number)
        wait_for(lambda: set(running_with(token)) <= {process.pid}, patience_s=4.0)
        wait_for(lambda: path.read_text().count('"record":"load"') == 2)
    changes = [record for record in read_session(path).records if isinstance(record, LoadChange)]
    assert changes[0].action is LoadAction.STARTED
    assert changes[1].action in (LoadAction.EXITED, LoadAction.STOPPED)
    assert "keeper" in changes[1].reason or "guard" in changes[1].reason


def test_a_command_ends_if_recorder_and_keeper_are_killed_together(tmp_path):
    token = f"79.{time.time_ns() % 1000000:06d}"
    script = f"sleep {token} & (setsid sleep {token} & ); wait; sleep {token}"
    for name in ("benchmon-keeper", "benchmon-reader"):
        with recorder(tmp_path / f"{name}.session.jsonl", f"load=CommandChoice(('sh', '-c', {script!r}))") as process:
            wait_for(lambda: len(running_with(f"sleep {token}")) >= 3)
            for pid in (*kept_by(process, name), process.pid):
                os.kill(pid, signal.SIGKILL)
            wait_for(lambda: not running_with(token), patience_s=3.0)


def is_left(token):
    return [pid for pid in running_with(token) if not _is_zombie(pid)]


def test_what_a_command_put_aside_ends_if_recorder_and_both_keepers_are_killed_at_once(tmp_path):
    """One with a session of its own, one with an emptied environment besides: nobody of the family is left to end them."""
    token = f"80.{time.time_ns() % 1000000:06d}"
    script = f"(setsid sleep {token} &); (env -i setsid sh -c 'sleep {token} & sleep {token}' &); sleep {token}"
    with recorder(tmp_path / "x.session.jsonl", f"load=CommandChoice(('sh', '-c', {script!r}))") as process:
        wait_for(lambda: len(running_with(f"sleep {token}")) >= 6)
        for pid in (process.pid, *kept_by(process, "benchmon-keeper", "benchmon-reader")):
            os.kill(pid, signal.SIGKILL)
        wait_for(lambda: not is_left(token), patience_s=3.0)


def test_the_grandchild_of_a_reading_command_ends_if_recorder_and_runner_are_killed_at_once(tmp_path):
    token = f"81.{time.time_ns() % 1000000:06d}"
    reading = f"wall_w=sh -c '(setsid sleep {token} &); sleep {token}'"
    with recorder(tmp_path / "x.session.jsonl", f"readings=({reading!r},)") as process:
        wait_for(lambda: len([pid for pid in running_with(f"sleep {token}") if pid not in running_with("python")]) >= 3)
        for pid in (process.pid, *[one for one in descendants(process.pid) if one in running_with("reading_runner")]):
            os.kill(pid, signal.SIGKILL)
        wait_for(lambda: not is_left(token), patience_s=3.0)


def test_a_last_watcher_that_was_killed_is_replaced_for_the_next_load(tmp_path):
    token = f"82.{time.time_ns() % 1000000:06d}"
    command = f"CommandChoice(('sh', '-c', '(setsid sleep {token} &); sleep {token}'))"
    steps = f"steps=(PlanStep('one', 2.0, {command}), PlanStep('two', 60.0, {command})), tags={{'a': '{token}'}}"
    with recorder(tmp_path / "x.session.jsonl", steps) as process:
        wait_for(lambda: kept_by(process, "benchmon-keeper"))
        first = kept_by(process, "benchmon-keeper")
        for pid in last_watchers_of(process):
            os.kill(pid, signal.SIGKILL)
        wait_for(
            lambda: kept_by(process, "benchmon-keeper") and not set(kept_by(process, "benchmon-keeper")) & set(first)
        )
        wait_for(lambda: len(is_left(f"sleep {token}")) >= 3)
        for pid in (process.pid, *kept_by(process, "benchmon-keeper", "benchmon-reader")):
            os.kill(pid, signal.SIGKILL)
        wait_for(lambda: not is_left(f"sleep {token}"), patience_s=3.0)


def last_watchers_of(process):
    """Outside of the recorder's family, and with its environment: found by the name of one of its variables."""
    with open(f"/proc/{process.pid}/environ", "rb") as file:
        environment = file.read()
    found = []
    for name in filter(str.isdigit, os.listdir("/proc")):
        if _name_of(int(name)) == "benchmon-last":
            with (
                contextlib.suppress(OSError),
                open(f"/proc/{name}/environ", "rb") as file,
            ):  # one of another test may end now
                if file.read() == environment:
                    found.append(int(name))
    return found


def test_a_killed_recorder_leaves_a_file_that_can_be_read(tmp_path):
    path = tmp_path / "x.session.jsonl"
    with recorder(path, "period_s=0.1") as process:
        wait_for(lambda: path.read_text().count('["s",') > 3)
        process.send_signal(signal.SIGKILL)
        process.wait()
        session = read_session(path)
    assert session.end is None
    assert not session.is_complete
    assert sum(isinstance(record, Sample) for record in session.records) > 3


@pytest.mark.parametrize(
    ("number", "words"), [(signal.SIGTERM, "signal to end"), (signal.SIGINT, "Ctrl-C"), (signal.SIGHUP, "terminal")]
)
def test_signals_end_a_session_in_good_order(tmp_path, number, words):
    path = tmp_path / "x.session.jsonl"
    with recorder(path, "load=BuiltinChoice(1), period_s=10.0") as process:
        process.send_signal(number)
        assert process.wait(3) == 0  # at once, though the next sample is seconds away
    session = read_session(path)
    assert session.is_complete
    assert words in session.end.reason
    changes = [record for record in session.records if isinstance(record, LoadChange)]
    assert [change.action for change in changes] == [LoadAction.STARTED, LoadAction.STOPPED]
    assert words in changes[1].reason


def test_a_second_ctrl_c_in_haste_does_not_cost_the_end(tmp_path):
    """The load does not go when it is asked to: the recorder waits for it half a second, and hears the others there."""
    path, deaf = tmp_path / "x.session.jsonl", tmp_path / "deaf"
    script = f"trap '' TERM INT; touch {deaf}; while :; do sleep 0.1; done"
    with recorder(path, f"load=CommandChoice(('sh', '-c', {script!r})), period_s=10.0") as process:
        wait_for(deaf.exists)
        for _ in range(3):
            process.send_signal(signal.SIGINT)
            time.sleep(0.05)
        assert process.wait(8) == 0
    assert "Ctrl-C" in read_session(path).end.reason


def test_a_command_killed_from_outside_is_told_so(tmp_path):
    token = f"79.{time.time_ns() % 1000000:06d}"
    path = tmp_path / "x.session.jsonl"
    with recorder(path, f"load=CommandChoice(('sleep', '{token}')), period_s=5.0") as process:
        sleeping = []

        def started():
            sleeping[:] = [pid for pid in running_with(f"sleep {token}") if pid not in running_with("python")]
            return sleeping

        wait_for(started)
        os.kill(sleeping[0], signal.SIGSEGV)
        assert process.wait(5) == 6
    (exited,) = [r for r in read_session(path).records if isinstance(r, LoadChange) and r.action is LoadAction.EXITED]
    assert exited.exit_status == -signal.SIGSEGV
    assert "signal 11" in exited.reason
