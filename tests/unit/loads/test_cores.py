"""Which cores are loaded first."""

import os

import pytest

from benchmon.errors import LoadError
from benchmon.loads.builtin import BuiltinLoad, core_words
from benchmon.loads.cores import cpu_list, usable_cpus


def test_kernel_list_format():
    """Documentation/admin-guide/cputopology.rst and bitmap_parselist(): ranges and single numbers."""
    assert cpu_list("0-3\n") == [0, 1, 2, 3]
    assert cpu_list("0,2,8-9") == [0, 2, 8, 9]


@pytest.fixture
def four_threads(tmp_path, monkeypatch):
    """Two physical cores with two threads each; siblings are neighbours, as on many desktop parts."""
    for cpu, siblings in enumerate(["0-1", "0-1", "2-3", "2-3"]):
        folder = tmp_path / f"sys/devices/system/cpu/cpu{cpu}/topology"
        folder.mkdir(parents=True)
        (folder / "thread_siblings_list").write_text(siblings + "\n")
    monkeypatch.setattr(os, "sched_getaffinity", lambda _pid: {3, 1, 0, 2})
    return tmp_path


def test_physical_cores_come_first(four_threads):
    assert usable_cpus(four_threads) == [0, 2, 1, 3]


def test_without_topology_in_order(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "sched_getaffinity", lambda _pid: {2, 0})
    assert usable_cpus(tmp_path) == [0, 2]


def test_words():
    assert BuiltinLoad(None, "widest", [0, 1, 2, 3]).words == "widest arithmetic on all 4 cores"
    assert BuiltinLoad(1, "memory", [0, 1], duty=0.25).words == "memory copies on one core at 25 %"
    assert core_words(2, 4) == "2 of 4 cores"
    assert core_words(1, 1) == "one core"


@pytest.mark.parametrize("cores", [0, -1, 5])
def test_more_cores_than_there_are(cores):
    with pytest.raises(LoadError):
        BuiltinLoad(cores, "scalar", [0, 1, 2, 3])


def test_unknown_work():
    with pytest.raises(LoadError):
        BuiltinLoad(1, "dancing", [0])
