"""Laws of the session file: what was written is what is read, however the file is cut."""

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from benchmon.errors import SessionFormatError
from benchmon.model.records import SessionEnd
from benchmon.model.usable import MOST_VALUE
from benchmon.session.decode import decode
from benchmon.session.encode import encode
from benchmon.session.follow import Follower
from benchmon.session.glimpse import glimpse
from benchmon.session.reader import read_session
from benchmon.session.rounding import decimals_kept
from benchmon.session.writer import SessionWriter
from tests.support.strategies import headers, other_records, samples, sessions

few = settings(max_examples=60, deadline=None)


def write(session, folder):
    path = Path(folder) / "a.session.jsonl"
    writer = SessionWriter(path)
    for record in (session.header, *session.records):
        writer.write(record)
    writer.close()
    return path


@settings(deadline=None)
@given(other_records)
def test_a_record_survives_its_line(record):
    assert decode(encode(record)) == record


@settings(deadline=None)
@given(st.data())
def test_a_header_and_its_samples_survive_their_lines(data):
    header = data.draw(headers())
    sample = data.draw(samples(header))
    assert decode(encode(header)) == header
    assert decode(encode(sample, [decimals_kept(channel) for channel in header.channels]), header) == sample


@settings(deadline=None)
@given(st.data(), st.lists(st.floats() | st.none(), min_size=3, max_size=3))
def test_any_values_are_written_and_rounding_twice_is_rounding_once(data, values):
    header = data.draw(headers(most_channels=3, least_channels=3))
    decimals = [decimals_kept(channel) for channel in header.channels]
    sample = data.draw(samples(header))
    line = encode(type(sample)(sample.t_s, tuple(values), sample.read_cost_s), decimals)
    once = decode(line, header)
    assert encode(once, decimals) == line
    for value, read in zip(values, once.values, strict=True):
        if value is None or value != value or abs(value) > MOST_VALUE:
            assert read is None
        else:
            assert abs(read - value) <= 0.05 + 1e-9 * abs(value)  # every unit keeps at least one decimal


@few
@given(sessions())
def test_what_was_written_is_what_is_read_and_followed(session):
    with tempfile.TemporaryDirectory() as folder:
        path = write(session, folder)
        assert read_session(path) == session
        assert Follower(path).poll() == (session.header, *session.records)
        seen = glimpse(path)
        assert (seen.header, seen.end) == (session.header, session.end)


@few
@given(sessions(ended=True), st.data())
def test_a_file_cut_anywhere_reads_as_a_prefix(session, data):
    with tempfile.TemporaryDirectory() as folder:
        path = write(session, folder)
        whole = path.read_bytes()
        length = data.draw(st.integers(0, len(whole) - 2))
        path.write_bytes(whole[:length])
        first_line = whole.index(b"\n")
        try:
            cut = read_session(path)
        except SessionFormatError:
            assert length < first_line
            return
        assert cut.header == session.header
        assert cut.records == session.records[: len(cut.records)]
        assert len(cut.records) >= whole[:length].count(b"\n") - 1, "no finished line may be lost"
        assert not cut.is_complete
        assert (cut.damage != ()) == (whole[length - 1 : length] != b"\n" and whole[length : length + 1] != b"\n")


@few
@given(sessions(), st.lists(st.integers(1, 200), min_size=1, max_size=30))
def test_following_in_any_portions_gives_the_same_records(session, portions):
    with tempfile.TemporaryDirectory() as folder:
        whole = write(session, folder).read_bytes()
        growing = Path(folder) / "growing.session.jsonl"
        growing.touch()
        follower = Follower(growing)
        got = []
        with growing.open("ab", buffering=0) as file:
            while whole:
                for size in portions:
                    file.write(whole[:size])
                    whole = whole[size:]
                    got += follower.poll()
        assert tuple(got) == (session.header, *session.records)
        assert follower.ended == any(isinstance(record, SessionEnd) for record in session.records)
        follower.close()
