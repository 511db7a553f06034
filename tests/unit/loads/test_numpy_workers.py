"""Workers that need numpy: alone on their core, small, and honest where numpy is not there."""

import os
import sys

import pytest

from benchmon.loads import builtin
from benchmon.loads.builtin import BuiltinLoad
from benchmon.model.records import LoadAction
from tests.support.recorder_process import descendants, running_with, wait_for

MOST_RSS_KB = 60 * 1000 * 1000 // 1024


def worker_of(load):
    (worker,) = set(descendants(load._keeping.process.pid)) & set(running_with("benchmon.loads.worker"))
    return worker


def status_of(pid):
    with open(f"/proc/{pid}/status") as file:
        return dict(line.split(":", 1) for line in file)


@pytest.fixture
def run():
    loads = []

    def start(*what, **options):
        load = BuiltinLoad(*what, **options)
        loads.append(load)
        return load, load.start(1.0)

    yield start
    for load in loads:
        load.close()


@pytest.mark.parametrize("kind", ["widest", "mixture"])
def test_one_thread_under_sixty_megabytes_on_its_core(run, kind):
    load, change = run(1, kind)
    wait_for(lambda: load.work_count() > 5)
    status = status_of(worker_of(load))
    assert int(status["Threads"]) == 1
    assert int(status["VmHWM"].split()[0]) < MOST_RSS_KB
    assert os.sched_getaffinity(worker_of(load)) == {load._cpus[0]}
    assert (change.work, change.duty, change.reason) == (kind, 1.0, "")
    assert change.unit_operations > 25e6
    assert (change.unit_bytes is not None) is (kind == "mixture")


def test_memory_stays_under_sixty_megabytes_a_worker(run):
    load, change = run(1, "memory", duty=0.2)
    wait_for(lambda: load.work_count() > 1)
    assert int(status_of(worker_of(load))["VmHWM"].split()[0]) < MOST_RSS_KB
    assert (change.work, change.duty, change.unit_operations, change.unit_bytes) == ("memory", 0.2, None, 2 * 2**24)


def test_without_numpy_it_is_scalar_work_by_name(run, monkeypatch):
    monkeypatch.setattr(builtin, "numpy_folder", lambda: "")
    load, change = run(1, "widest")
    assert change.action is LoadAction.STARTED
    assert (change.what, change.work) == ("scalar arithmetic on one core", "scalar")
    assert change.what == load.words
    assert change.reason == "numpy is not installed, so that this runs in place of widest arithmetic"
    wait_for(lambda: load.work_count() > 2)


@pytest.mark.parametrize(
    "numpy", ["raise ImportError('no library')", "import os, signal; os.kill(os.getpid(), signal.SIGILL)", "1 / 0"]
)
def test_a_numpy_that_cannot_be_loaded_gives_way_to_scalar_work(run, monkeypatch, tmp_path, numpy):
    """A damaged installation, or one that was built for another processor."""
    (tmp_path / "numpy.py").write_text(numpy)
    monkeypatch.setattr(builtin, "numpy_folder", lambda: str(tmp_path))
    load, change = run(1, "mixture", duty=0.8)
    assert change.work == "mixture"
    changes = []
    wait_for(lambda: changes.append(load.poll(2.0)) or changes[-1] is not None)
    became = changes[-1]
    assert (became.action, became.work, became.duty) == (LoadAction.STARTED, "scalar", 0.8)
    assert became.what == load.words == "scalar arithmetic on one core at 80 %"
    assert became.reason.startswith("numpy cannot be loaded")
    wait_for(lambda: load.work_count() > 2)
    assert load.poll(3.0) is None
    load.stop(4.0, "")
    load.close()
    assert load.is_over()


def test_finding_numpy_does_not_load_it():
    """The recorder stays small: it is asked where numpy lies, not for numpy."""
    script = "import sys; from benchmon.loads.builtin import numpy_folder; f = numpy_folder(); print(f, 'numpy' in sys.modules)"
    import subprocess

    said = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout.split()
    import numpy

    assert said == [os.path.dirname(os.path.dirname(numpy.__file__)), "False"]
