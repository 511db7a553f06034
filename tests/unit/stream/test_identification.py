"""What the machine is, found out beside the recording."""

import os
import sys
import time
from pathlib import Path

import pytest

from benchmon.model.records import Setting
from benchmon.stream.doorbell import Doorbell
from benchmon.stream.identification import Identification


def ask(root=Path("/"), patience_s=30.0, box=None):
    doorbell, found, failed = Doorbell(), [], []
    identification = Identification(root, doorbell, found.append, failed.append)
    identification.start(2.0, box)
    ends = time.monotonic() + patience_s
    while not found and not failed and time.monotonic() < ends:
        doorbell.wait(0.1)
    identification.close()
    return found, failed


@pytest.mark.system
def test_this_machine():
    """Processors as the kernel lists them in /proc/cpuinfo; the name that it gives the first one."""
    (machine, *_), failed = ask()
    assert failed == []
    assert machine.threads == os.cpu_count()
    assert machine.processor
    assert machine.t_s == 2.0
    assert not machine.virtual


@pytest.mark.system
def test_the_box_is_kept_for_the_next_recording(monkeypatch, tmp_path):
    monkeypatch.setenv("BENCHMON_SESSIONS", str(tmp_path / "sessions"))
    (tmp_path / "etc").mkdir()
    (tmp_path / "etc/machine-id").write_text("5f0c")
    for box, source in (({"cooler": "92 mm tower"}, "entered"), ({}, "entered once, kept for this machine")):
        (_, *parts), failed = ask(root=tmp_path, box=box)
        assert failed == []
        assert parts == [Setting(2.0, "box_cooler", "92 mm tower", None, source)]


def test_starting_it_takes_no_time(monkeypatch):
    before_s = time.perf_counter()
    identification = Identification(Path("/"), Doorbell(), print, print)
    identification.start(0.0)
    took_s = time.perf_counter() - before_s
    identification.close()
    assert took_s < 0.25


@pytest.mark.parametrize(
    ("program", "words"), [("/bin/false", "no usable answer"), ("/no/such/python", "No such file")]
)
def test_failure_is_a_sentence(monkeypatch, program, words):
    monkeypatch.setattr(sys, "executable", program)
    found, (sentence,) = ask(patience_s=5.0)
    assert found == []
    assert words in sentence


def test_it_does_not_wait_for_ever(monkeypatch, tmp_path):
    slow = tmp_path / "python"
    slow.write_text("#!/bin/sh\nexec sleep 60\n")
    slow.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(slow))
    failed = []
    identification = Identification(Path("/"), Doorbell(), print, failed.append)
    identification.start(0.0)
    identification.check(59.0)
    assert failed == []
    identification.check(61.0)
    assert "within 60 s" in failed[0]
    identification.check(62.0)
    assert len(failed) == 1
