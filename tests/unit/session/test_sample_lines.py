"""Lines read many at once give the same records and the same damage as lines read one by one."""

import random

import pytest

from benchmon.session.lines import LineDecoder
from benchmon.session.reader import StoredSession, read_session
from benchmon.session.sample_lines import samples_of

HEADER = (
    b'{"record":"session","format":"benchmon session","version":1,"session_id":"a",'
    b'"started_at":"2026-11-25T13:10:00Z","period_s":1,"channels":['
    b'{"key":"a_c","label":"a","unit":"degC","source":"x"},{"key":"b_w","label":"b","unit":"W","source":"x"}]}'
)
GOOD = [b'["s",%d,[%d,4.5],0.001]' % (t, 40 + t % 7) for t in range(1, 30)]
ODD = [
    b'["s",1,[null,4],0]',
    b'["s",1,[1,2]]',
    b'["s",1,[1,2],0,7]',
    b'["s",1,[1],0]',
    b'["s",1,[1,2],0],["s",2,[1,2],0]',
    b'["s",1,[1',
    b"2],0]",
    b'["s",1,[1,[2]],0]',
    b'["s",1,[1,true],0]',
    b'["s",1,[1,"2"],0]',
    b'["s",1,[1,1e999],0]',
    b'["s",1,[1,1e16],0]',
    b'["s",1,[1,-1e16],0]',
    b'["s",1,[1,NaN],0]',
    b'["s",1,[1,9007199254740993],0]',
    b'["s",1e12,[1,2],0]',
    b'["s",null,[1,2],0]',
    b'["s",1,[1,2],null]',
    b'["s",1,null,0]',
    b'["s",1]',
    b'["s",]',
    b'["s",1,[1,2],0] ',
    b'["s",1,[1,2],0],[5]',
    b'["s",1,[1,\xff],0]',
    b'{"record":"mark","number":1,"t_s":1,"entered_s":1,"kind":"note","text":"\\u001b[31m"}',
    b'{"record":"end","t_s":99,"reason":"x"}',
    b"[]",
    b"",
]


def one_by_one(lines):
    decoder = LineDecoder("x")
    records = [(decoder.line, record) for line in lines if (record := decoder.feed(line)) is not None]
    return records, decoder.damage, decoder.line


def at_once(lines):
    decoder = LineDecoder("x")
    return decoder.feed_many(lines), decoder.damage, decoder.line


@pytest.mark.parametrize("odd", ODD)
def test_an_odd_line_among_good_ones_reads_the_same(odd):
    lines = [HEADER, *GOOD[:9], odd, *GOOD[9:]]
    assert at_once(lines) == one_by_one(lines)


@pytest.mark.parametrize("seed", range(20))
def test_odd_lines_together_read_the_same(seed):
    dice = random.Random(seed)
    lines = [HEADER, *dice.choices(ODD + GOOD, k=40)]
    assert at_once(lines) == one_by_one(lines)


def test_plain_samples_are_taken_together():
    assert len(samples_of(GOOD, 2)) == len(GOOD)
    assert samples_of([*GOOD, ODD[3]], 2) is None


@pytest.mark.parametrize("seed", range(6))
def test_gone_through_where_it_lies_a_session_is_the_same(tmp_path, seed, monkeypatch):
    """... wherever the pieces of the file end, with damaged times, late marks and what follows the end."""
    dice = random.Random(seed)
    mark = b'{"record":"mark","number":%d,"t_s":3,"entered_s":31,"kind":"phase","text":"late"}'
    wrong = [b'["s",%d,[1,2],0]' % dice.choice((0, 5, 900)) for _ in range(4)]
    lines = [*GOOD, *wrong]
    dice.shuffle(wrong)
    for line in wrong:
        lines.insert(dice.randrange(len(lines)), line)
    lines += [b'{"record":"end","t_s":31,"reason":"x"}', mark % 1, mark % 2]
    lines += [[], [GOOD[3]], [GOOD[3], mark % 3], [HEADER, mark % 3]][seed % 4]
    path = tmp_path / "a.session.jsonl"
    path.write_bytes(HEADER + b"\n" + b"\n".join(lines) + b"\n"[: seed % 2])
    whole = read_session(path)
    monkeypatch.setattr("benchmon.session.chunks.CHUNK_BYTES", dice.choice((50, 97, 400)))
    stored = StoredSession(path)
    assert tuple(stored.records) == whole.records
    assert stored.damage == whole.damage
    assert stored.others == whole.others
    assert read_session(path) == whole
