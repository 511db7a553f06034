"""Where the recorder waits: it is woken by whatever comes first, however many files are open."""

import fcntl
import os
import resource
import time

import pytest

from benchmon.stream.doorbell import Doorbell


@pytest.mark.parametrize("least", [3, 1500])
def test_it_is_woken_by_what_can_be_read(least):
    """Numbers from 1024 on (FD_SETSIZE, select(2)) are those of a recorder with a thousand sensors."""
    if resource.getrlimit(resource.RLIMIT_NOFILE)[0] <= least:
        pytest.skip("so many files may not be open here")
    hears, says = os.pipe()
    high = fcntl.fcntl(hears, fcntl.F_DUPFD_CLOEXEC, least)
    doorbell, heard = Doorbell(), []
    doorbell.add(high, lambda: heard.append(os.read(high, 9)))
    try:
        begun_s = time.monotonic()
        assert not doorbell.wait(0.03)
        assert time.monotonic() - begun_s >= 0.03
        assert heard == []
        os.write(says, b"ring")
        doorbell.wait(5.0)
        assert heard == [b"ring"]
    finally:
        for descriptor in (hears, says, high):
            os.close(descriptor)
