"""Each fault of a file has a treatment of its own."""

import errno
import gc
import os

import pytest

from benchmon.sensors import number_file
from benchmon.sensors.number_file import GONE, OFFLINE, NumberFile


class Kernel:
    """Answers ``os.pread`` as a faulty device would."""

    def __init__(self, monkeypatch):
        self.fault: int | None = None
        self.asked = 0
        self._real = os.pread
        monkeypatch.setattr(number_file.os, "pread", self._answer)

    def _answer(self, fd, count, offset):
        self.asked += 1
        if self.fault is not None:
            raise OSError(self.fault, os.strerror(self.fault))
        return self._real(fd, count, offset)


@pytest.fixture
def kernel(monkeypatch):
    return Kernel(monkeypatch)


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "temp1_input"
    path.write_text("42000\n")
    return path


def test_the_file_is_opened_once(path, monkeypatch):
    file = NumberFile(str(path))
    monkeypatch.setattr(os, "open", lambda *_: pytest.fail("opened again"))
    assert [file.read(t) for t in range(3)] == [42000] * 3
    with path.open("r+") as same:
        same.write("43000\n")
    assert file.read(3.0) == 43000
    assert file.why == ""


@pytest.mark.parametrize("fault", [errno.ENODEV, errno.ENOENT])
def test_a_vanished_device_is_looked_for_by_name_and_comes_back(path, tmp_path, kernel, fault):
    found = []
    file = NumberFile(str(path), lambda: found[-1] if found else None)
    assert file.read(0.0) == 42000
    kernel.fault = fault
    path.unlink()
    assert file.read(1.0) is None
    assert file.why == GONE
    kernel.fault = None
    elsewhere = tmp_path / "hwmon7_temp1_input"
    elsewhere.write_text("39000")
    found.append(str(elsewhere))
    assert file.read(1.5) is None  # not yet: it is not looked for in every round
    assert file.read(2.1) == 39000
    assert file.why == ""


def test_the_search_gets_rarer(path, kernel):
    looked_at = []
    now = 0.0
    file = NumberFile(str(path), lambda: looked_at.append(now))
    kernel.fault = errno.ENODEV
    path.unlink()
    for tick in range(1200):
        now = tick * 0.1
        file.read(now)
    gaps = [later - earlier for earlier, later in zip(looked_at, looked_at[1:], strict=False)]
    assert gaps == sorted(gaps)
    assert gaps[-1] == pytest.approx(30.0, abs=0.2)
    assert len(looked_at) <= 9


@pytest.mark.parametrize("fault", [None, errno.EBUSY])
def test_an_offline_core_is_asked_again_in_every_round(path, kernel, fault):
    """An offline core's counter reads as an empty string (kernel, drivers/thermal/intel/therm_throt.c)."""
    file = NumberFile(str(path))
    kernel.fault = fault
    if fault is None:
        path.write_text("")
    assert file.read(0.0) is None
    assert file.why == OFFLINE
    kernel.fault = None
    path.write_text("17")
    assert file.read(0.001) == 17


@pytest.mark.parametrize("fault", [errno.ENODATA, errno.EAGAIN, errno.EIO])
def test_no_data_is_no_reason_to_open_again(path, kernel, monkeypatch, fault):
    file = NumberFile(str(path))
    monkeypatch.setattr(os, "open", lambda *_: pytest.fail("opened again"))
    kernel.fault = fault
    assert file.read(0.0) is None
    assert file.why.startswith("no data: ")
    kernel.fault = None
    assert file.read(0.001) == 42000


def test_permission_that_is_withdrawn_and_given_back(path, kernel):
    file = NumberFile(str(path))
    kernel.fault = errno.EACCES
    assert file.read(0.0) is None
    assert file.is_denied
    asked = kernel.asked
    assert file.read(0.5) is None
    assert kernel.asked == asked
    kernel.fault = None
    assert file.read(1.5) == 42000


def test_what_is_no_number_is_no_value(path):
    path.write_text("<unknown>\n")
    file = NumberFile(str(path))
    assert file.read(0.0) is None
    assert "no number" in file.why


def test_a_fault_closes_no_descriptor_twice(path, kernel):
    file = NumberFile(str(path))
    kernel.fault = errno.ENODEV
    file.read(0.0)
    file.close()
    file.close()


def test_many_faults_leave_no_descriptor_open(path, kernel):
    gc.collect()  # what earlier tests left behind must not be closed in between
    before = len(os.listdir("/proc/self/fd"))
    file = NumberFile(str(path))
    for second in range(0, 6000, 60):
        kernel.fault = errno.ENODEV if second % 120 else None
        file.read(float(second))
    file.close()
    assert len(os.listdir("/proc/self/fd")) == before
