"""Packed sessions: every command reads them, entries go into them, nothing is lost."""

import gzip
import shutil
import subprocess
from pathlib import Path

import pytest

from benchmon.errors import OutputError, SessionFormatError
from benchmon.model.records import Mark, MarkKind
from benchmon.session.entries import append_entry
from benchmon.session.glimpse import glimpse
from benchmon.session.packing import is_packed, pack, packed_path, unpack, unpacked_path
from benchmon.session.reader import StoredSession, read_session

RECORDED = Path(__file__).parents[3] / "recordings" / "box-as-bought.session.jsonl"


@pytest.fixture
def plain(tmp_path):
    return Path(shutil.copy(RECORDED, tmp_path / "run.session.jsonl"))


@pytest.fixture
def packed(plain):
    pack(plain, packed_path(plain))
    return packed_path(plain)


def test_packed_is_the_same_session_and_small(plain, packed):
    assert read_session(packed) == read_session(plain)
    assert tuple(StoredSession(packed).records) == read_session(plain).records
    assert glimpse(packed) == glimpse(plain)
    assert packed.stat().st_size * 4 < plain.stat().st_size
    assert is_packed(packed) and not is_packed(plain)
    assert packed.stat().st_mtime_ns == plain.stat().st_mtime_ns  # the newest session stays the newest


def test_any_gzip_opens_it(plain, packed):
    """The gzip command is the reference for RFC 1952."""
    done = subprocess.run(["gzip", "-dc", str(packed)], capture_output=True, check=True)
    assert done.stdout == plain.read_bytes()


def test_what_is_entered_into_a_packed_session_is_there(plain, packed):
    for text in ("one", "two"):
        append_entry(packed, lambda highest, text=text: Mark(highest + 1, 1.0, 2.0, MarkKind.NOTE, text))
        append_entry(plain, lambda highest, text=text: Mark(highest + 1, 1.0, 2.0, MarkKind.NOTE, text))
    assert read_session(packed) == read_session(plain)
    assert gzip.decompress(packed.read_bytes()) == plain.read_bytes()
    assert unpack(packed, packed.with_name("b.session.jsonl"))
    assert packed.with_name("b.session.jsonl").read_bytes() == plain.read_bytes()


def test_nothing_is_overwritten(plain, packed):
    with pytest.raises(OutputError, match="exists already"):
        pack(plain, packed)
    with pytest.raises(OutputError, match="exists already"):
        unpack(packed, plain)
    assert [each.name for each in plain.parent.iterdir() if each.name.endswith(".part")] == []


def test_a_cut_packed_session_opens_and_says_so(plain, packed):
    whole = read_session(plain)
    packed.write_bytes(packed.read_bytes()[: packed.stat().st_size * 3 // 4])
    cut = read_session(packed)
    assert 0 < len(cut.records) < len(whole.records)
    assert cut.records == whole.records[: len(cut.records)]
    assert "packed file ends here" in cut.damage[-1].problem
    assert not unpack(packed, unpacked_path(packed.with_name("b.session.jsonl.gz")))
    with pytest.raises(OutputError, match="damaged"):
        append_entry(packed, lambda highest: Mark(highest + 1, 1.0, 2.0, MarkKind.NOTE, "x"))


@pytest.mark.parametrize("place", (30, 900, 3000))
def test_a_damaged_packed_session_ends_in_a_sentence(packed, place):
    data = bytearray(packed.read_bytes())
    data[place] ^= 0x55
    packed.write_bytes(data)
    try:
        assert read_session(packed).damage
    except SessionFormatError:
        pass


def test_what_fills_memory_is_not_unpacked_at_once(tmp_path):
    """A line of zeros packs a thousandfold; no more than a piece of it is ever held."""
    path = tmp_path / "a.session.jsonl.gz"
    path.write_bytes(gzip.compress(RECORDED.read_bytes() + b"0" * 30_000_000))
    assert "longer than any record" in read_session(path).damage[-1].problem


def test_only_sessions_are_packed(tmp_path):
    path = tmp_path / "a.session.jsonl"
    path.write_text("nothing of the kind\n")
    with pytest.raises(SessionFormatError):
        pack(path, packed_path(path))


def test_a_packed_file_made_to_fill_a_disk_is_refused(plain, tmp_path):
    bomb = tmp_path / "bomb.session.jsonl.gz"
    with gzip.open(bomb, "wb") as file:
        file.write(plain.read_bytes().split(b"\n")[0] + b"\n")
        for _ in range(70):
            file.write(b" " * (1 << 20))
    for look in (
        lambda: unpack(bomb, tmp_path / "out.session.jsonl"),
        lambda: glimpse(bomb),
        lambda: read_session(bomb),
    ):
        with pytest.raises(SessionFormatError, match="made to fill memory or disk"):
            look()
    assert sorted(tmp_path.iterdir()) == [bomb, plain]


def test_members_that_hold_nothing_end_the_file(tmp_path, monkeypatch):
    path = tmp_path / "a.session.jsonl.gz"
    path.write_bytes(gzip.compress(RECORDED.read_bytes()) + 50 * gzip.compress(b""))
    assert not read_session(path).damage
    monkeypatch.setattr("benchmon.session.chunks.MOST_MEMBERS", 40)
    assert "damaged" in read_session(path).damage[-1].problem
    assert read_session(path).end is not None
