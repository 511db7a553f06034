"""The writer: never overwrites, one line a record, and a clear sentence when the disk will not take any more."""

import errno
import os
import stat
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from benchmon.errors import OutputError
from benchmon.model.channel import Channel
from benchmon.model.records import Sample, SessionEnd, SessionHeader
from benchmon.model.units import Unit
from benchmon.session.reader import read_session
from benchmon.session.writer import SessionWriter

HEADER = SessionHeader(
    "id", datetime(2026, 1, 1, tzinfo=UTC), 0.5, (Channel("processor_temp_c", "processor", Unit.CELSIUS, "x"),)
)
SAMPLES = [Sample(count / 2, (40.0 + count,)) for count in range(50)]

ROOT = str(Path(__file__).resolve().parents[3])


@pytest.fixture
def path(tmp_path):
    return tmp_path / "a.session.jsonl"


def test_each_record_can_be_read_as_soon_as_it_is_written(path):
    writer = SessionWriter(path)
    writer.write(HEADER)
    for count, sample in enumerate(SAMPLES, start=1):
        writer.write(sample)
        assert len(read_session(path).records) == count
    writer.write(SessionEnd(25.0, "you ended it"))
    writer.close()
    writer.close()
    assert read_session(path).is_complete


def test_only_the_owner_may_read_and_write(path):
    before = os.umask(0o022)
    try:
        SessionWriter(path).close()
    finally:
        os.umask(before)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_an_existing_file_is_never_touched(path):
    path.write_text("precious")
    with pytest.raises(OutputError, match="exists already"):
        SessionWriter(path)
    assert path.read_text() == "precious"


def test_a_link_is_not_followed(path, tmp_path):
    path.symlink_to(tmp_path / "elsewhere")
    with pytest.raises(OutputError, match="exists already"):
        SessionWriter(path)


@pytest.mark.parametrize(
    ("where", "sentence"),
    [
        ("missing/a.session.jsonl", "there is no such folder"),
        ("file/a.session.jsonl", "not a folder"),
        ("a" * 300, "the name is too long"),
        ("nul\0", "embedded null byte"),
    ],
)
def test_why_it_cannot_be_created_is_said(tmp_path, where, sentence):
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match=sentence):
        SessionWriter(tmp_path / where)


@pytest.mark.parametrize(
    ("code", "sentence"), [(errno.EACCES, "you may not write there"), (errno.EROFS, "can only be read")]
)
def test_a_folder_that_refuses(path, monkeypatch, code, sentence):
    def refuse(*args, **kwargs):
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(OutputError, match=sentence) as caught:
        SessionWriter(path)
    assert "--to" in caught.value.hint
    with pytest.raises(OutputError) as caught:
        SessionWriter(path, elsewhere="-o")
    assert "-o" in caught.value.hint
    assert "--to" not in caught.value.hint


def test_the_header_comes_first_and_once(path):
    writer = SessionWriter(path)
    with pytest.raises(ValueError):
        writer.write(SAMPLES[0])
    writer.write(HEADER)
    with pytest.raises(ValueError):
        writer.write(HEADER)
    writer.close()


def test_a_full_disk_leaves_a_readable_file_without_half_a_line(path):
    """A limit of the file's size stands in for a full disk: the kernel also takes a part and refuses the rest."""
    code = f"""
import resource, signal, sys
sys.path.insert(0, {ROOT!r})
from tests.unit.session.test_writer import HEADER, SAMPLES, SessionWriter
from benchmon.errors import OutputError
from pathlib import Path
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (700, 700))
writer = SessionWriter(Path({str(path)!r}))
writer.write(HEADER)
for count, sample in enumerate(SAMPLES):
    try:
        writer.write(sample)
    except OutputError as error:
        print(count, error.message)
        break
try:
    writer.write(sample)
except OutputError:
    print("again")
writer.close()
"""
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split("\n")
    count = int(said[0].split()[0])
    assert 0 < count < len(SAMPLES)
    assert "cannot be written any further" in said[0]
    assert said[1] == "again"
    session = read_session(path)
    assert session.records == tuple(SAMPLES[:count])
    assert session.damage == ()
    assert path.stat().st_size < 700


@pytest.mark.system
def test_a_file_system_that_is_really_full(tmp_path):
    """A RAM disk of 64 kB in a mount namespace of its own."""
    code = f"""
import sys
sys.path.insert(0, {ROOT!r})
from itertools import count
from pathlib import Path
from benchmon.errors import OutputError
from benchmon.session.reader import read_session
from tests.unit.session.test_writer import HEADER, Sample, SessionWriter
path = Path({str(tmp_path)!r}) / "a.session.jsonl"
writer = SessionWriter(path)
writer.write(HEADER)
for number in count():
    try:
        writer.write(Sample(number / 2, (40.0,)))
    except OutputError as error:
        message = error.message
        break
writer.close()
session = read_session(path)
print(number == len(session.records), session.damage == (), number > 1000, "the disk is full" in message)
"""
    mounted = f"mount -t tmpfs -o size=64k none {tmp_path}"
    if subprocess.run(["unshare", "-rm", "sh", "-c", mounted], capture_output=True, check=False).returncode:
        pytest.skip("no mount namespaces here")
    command = ["unshare", "-rm", "sh", "-c", f'{mounted} && exec "$0" -c "$1"', sys.executable, code]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    assert said.split() == ["True"] * 4


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no /dev/full")
def test_the_kernels_own_full_device(path, monkeypatch):
    writer = SessionWriter(path)
    full = os.open("/dev/full", os.O_WRONLY)
    os.dup2(full, writer._descriptor)
    os.close(full)
    with pytest.raises(OutputError, match="the disk is full") as caught:
        writer.write(HEADER)
    assert str(path) in caught.value.message
    writer.close()


def test_a_disk_that_cannot_store_stops_the_recording(path, monkeypatch):
    def fail(descriptor):
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "fdatasync", fail)
    writer = SessionWriter(path, sync_every_s=0.001)
    writer.write(HEADER)
    writer._syncer.join(0.2)
    with pytest.raises(OutputError, match="the disk reports an error"):
        for sample in SAMPLES:
            writer.write(sample)
            writer._syncer.join(0.01)
    writer.close()


def test_storing_is_asked_for_now_and_then_and_only_if_something_was_written(path, monkeypatch):
    stored = []
    monkeypatch.setattr(os, "fdatasync", stored.append)
    writer = SessionWriter(path, sync_every_s=0.002)
    writer._syncer.join(0.05)
    assert stored == []
    writer.write(HEADER)
    for _ in range(100):
        if stored:
            break
        writer._syncer.join(0.01)
    writer._syncer.join(0.05)
    assert len(stored) == 1
    writer.close()


def test_killed_while_writing_every_finished_line_is_there(path):
    code = f"""
import os, signal, sys
sys.path.insert(0, {ROOT!r})
from tests.unit.session.test_writer import HEADER, SAMPLES, SessionWriter
from pathlib import Path
writer = SessionWriter(Path({str(path)!r}))
for record in (HEADER, *SAMPLES):
    writer.write(record)
os.kill(os.getpid(), signal.SIGKILL)
"""
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == -9
    session = read_session(path)
    assert session.records == tuple(SAMPLES)
    assert session.end is None
    assert session.damage == ()
