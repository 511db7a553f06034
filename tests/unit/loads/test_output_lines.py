"""What a command's output says: scores with unit and name, phases, version; and output that means ill."""

import os
import time

import pytest

from benchmon.loads import listener
from benchmon.loads.listener import HELD_BACK, Listener
from benchmon.loads.output_lines import LONGEST_S, MOST_LINE, MOST_SAID, TOO_MUCH, OutputLines, Said, score_number


def said(*lines, scores=(), phases=(), version=""):
    looked = OutputLines(scores, phases, version)
    return [one for line in lines for one in looked.look(line if isinstance(line, bytes) else line.encode())]


@pytest.mark.parametrize(
    ("pattern", "line", "text", "value"),
    [
        (r"Multi.*: (\d+) pts", "Multi core: 1842 pts", "pts (Multi core)", 1842.0),
        (r"Score\s*=\s*(\S+)", "Score = 77.5", "Score", 77.5),
        (r"(\d+) MIPS", "total 41230 MIPS", "MIPS", 41230.0),
        (
            r"took (?P<score>[\d.]+) (?P<unit>\w+) for (?P<name>.+)",
            "took 12.5 s for the render",
            "s (the render)",
            12.5,
        ),
        (r"(\w+): (?P<score>\d+)", "zip: 77", "zip", 77.0),
        (r"Score:   (\d+)\s+pts", "Score:   7   pts", "pts (Score)", 7.0),  # blanks stay as they are
        (r": (\d+)", "\x1b[32mresult: 42\x1b[0m", "", 42.0),
    ],
)
def test_a_score_with_what_stands_around_it(pattern, line, text, value):
    assert said(line, scores=[pattern]) == [Said("score", text, value)]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1842", 1842.0),
        ("-3.5", -3.5),
        ("12,5", 12.5),
        ("1,842.5", 1842.5),
        ("1.842,5", 1842.5),
        ("1 842", 1842.0),
        ("1,234,567", 1234567.0),
        ("1.2e3", 1200.0),
        ("1.842", 1.842),
        ("1,842", None),
        ("fast", None),
        ("nan", None),
        ("inf", None),
        ("9" * 50, None),
        ("1e300", None),
        ("", None),
    ],
)
def test_numbers_as_programs_print_them_and_no_guess_where_they_could_be_two(text, value):
    assert score_number(text) == value


def test_a_number_that_could_be_two_is_told():
    (remark,) = said("Multi: 1,842 pts", scores=[r": (\S+) pts"])
    assert (remark.what, remark.value) == ("remark", None)
    assert "'1,842' can be read in two ways" in remark.text


def test_a_phase_begins_when_its_name_changes():
    lines = ["Running single", "Running single: 50 %", "noise", "Running multi", "Running single"]
    names = [one.text for one in said(*lines, phases=[r"Running (\w+)"])]
    assert names == ["single", "multi", "single (2)"]


def test_the_version_is_the_first_line_that_fits():
    assert said("hello", "mybench 3.2", "mybench 9.9", version="^mybench") == [Said("version", "mybench 3.2")]


def test_a_pattern_that_takes_for_ever_is_given_up():
    """(x+x+)+y on x…x needs 2^n steps: the text-book case of a backtracking matcher."""
    began_s = time.process_time()
    found = said(*["x" * 60] * 10, "Score 5", scores=["(x+x+)+y", r"Score (\d+)"])
    assert time.process_time() - began_s < 5 * LONGEST_S
    assert [one.what for one in found] == ["remark", "score"]
    assert "takes too long" in found[0].text


def test_hostile_lines():
    lines = [b"\xff\xfe\x00\x1b]0;title\x07", b"Score " + b"9" * 10_000, b"Score 1\xe2\x80\xae2", b"a" * 1_000_000]
    for one in said(*lines, scores=[r"Score (\S+)", r"(a+)$"]):
        assert one.text.isprintable()
        assert len(one.text) < MOST_LINE


def test_so_many_scores_and_no_more():
    found = said(*["Score 5"] * (MOST_SAID + 50), scores=[r"Score (\d)"])
    assert len(found) == MOST_SAID + 1
    assert found[-1].what == "remark"


@pytest.fixture
def heard(tmp_path):
    """A file that is written to, and what the listener says of it."""
    path = tmp_path / "output.txt"
    with path.open("w+b", buffering=0) as file:
        told = []
        lines = OutputLines([r"(\d+) pts"], [r"Running (\w+)"], "")
        follower = Listener(file.fileno(), 0, lines, lambda one, at_ns: told.append((one, at_ns)))
        yield file, follower, told


def test_a_score_is_told_before_the_phase_that_was_printed_after_it(heard):
    file, follower, told = heard
    file.write(b"412 pts\nRunning multi\n77 pts\n")
    follower.look(1.0)
    assert [one.text for one, _ in told] == ["pts", "multi", "pts"]
    assert told[0][1] < told[1][1] <= told[2][1]


def test_lines_come_whole_and_what_has_no_end_counts_at_the_end(heard):
    file, follower, told = heard
    file.write(b"41")
    follower.look(1.0)
    file.write(b"2 pts")
    follower.look(1.0)
    assert told == []
    follower.look(1.0, is_last=True)
    assert [one.value for one, _ in told] == [412.0]


def test_phases_that_were_held_back_are_no_phases(heard):
    file, follower, told = heard
    file.write(b"Running single\n412 pts\nRunning multi\n1842 pts\n")
    follower.look(1.0, is_last=True)
    assert [one.value or one.text for one, _ in told] == [412.0, 1842.0, HELD_BACK]


def test_what_is_too_much_to_read_is_passed_over_and_told(heard):
    file, follower, told = heard
    file.write(b"412 pts\n" + b"." * 79 + b"\n")
    os.ftruncate(file.fileno(), 50 << 20)  # a hole reads as zeros
    file.seek(0, os.SEEK_END)
    file.write(b"\n1842 pts\n")
    began_s = time.process_time()
    follower.look(0.5, is_last=True)
    assert time.process_time() - began_s < 1.0
    assert [one.value for one, _ in told if one.what == "score"] == [1842.0]
    assert any("passed over" in one.text for one, _ in told)


def test_one_look_takes_no_longer_than_it_may(heard):
    file, follower, _ = heard
    file.write((b"a line of output\n" * 4000) * 10)
    began_s = time.process_time()
    follower.look(0.01)
    assert time.process_time() - began_s < 0.2


def test_output_without_end_is_told_once(heard, monkeypatch):
    file, follower, told = heard
    monkeypatch.setattr(listener, "MOST_PRINTED", 1000)
    file.write(b".\n" * 600)
    follower.look(1.0)
    follower.look(1.0)
    assert [one.what for one, _ in told] == [TOO_MUCH]
