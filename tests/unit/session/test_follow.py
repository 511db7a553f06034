"""Following a file that grows."""

from benchmon.session import follow
from benchmon.session.follow import Follower
from tests.unit.session.test_reader import HEADER

SAMPLE = b'["s",0,[21],0]\n'


def test_nothing_yet_then_half_a_line_then_the_rest(tmp_path):
    path = tmp_path / "a"
    path.touch()
    follower = Follower(path)
    assert follower.poll() == ()
    assert follower.header is None
    with path.open("ab", buffering=0) as file:
        file.write(HEADER[:-1])
        assert follower.poll() == ()
        file.write(b"\n" + SAMPLE[:5])
        assert follower.poll() == (follower.header,)
        file.write(SAMPLE[5:] + b"nonsense\n" + SAMPLE)
        assert len(follower.poll()) == 2
        assert [damage.line for damage in follower.damage] == [3]
        assert not follower.ended
        file.write(b'{"record":"end","t_s":1,"reason":"x"}\n' + SAMPLE)
        assert len(follower.poll()) == 1
    assert follower.ended
    assert follower.poll() == ()
    follower.close()


def test_a_long_file_comes_in_portions(tmp_path, monkeypatch):
    path = tmp_path / "a"
    path.write_bytes(HEADER + SAMPLE * 100)
    monkeypatch.setattr(follow, "MOST_BYTES_PER_POLL", 400)
    follower, polls = Follower(path), []
    while records := follower.poll():
        polls.append(len(records))
    assert sum(polls) == 101
    assert max(polls) <= 400 // len(SAMPLE) + 1
    follower.close()


def test_it_reads_new_bytes_only(tmp_path, monkeypatch):
    path = tmp_path / "a"
    path.write_bytes(HEADER)
    follower = Follower(path)
    follower.poll()
    seen = []
    real = follow.os.read

    def spy(descriptor, count):
        got = real(descriptor, count)
        seen.append(len(got))
        return got

    monkeypatch.setattr(follow.os, "read", spy)
    with path.open("ab") as file:
        file.write(SAMPLE)
    follower.poll()
    follower.poll()
    assert seen == [len(SAMPLE), 0]
    follower.close()
