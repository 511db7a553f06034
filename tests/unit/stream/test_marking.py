"""What may be entered, and what becomes of it."""

import math

import pytest

from benchmon.errors import UsageError
from benchmon.model.records import Mark, MarkKind
from benchmon.stream.marking import MarkBook


def test_marks_are_numbered_and_timed():
    book = MarkBook()
    assert book.enter(0.0, MarkKind.ROOM, value=23.5) == Mark(1, 0.0, 0.0, MarkKind.ROOM, "", 23.5)
    mark = book.from_request(12.0, {"kind": "phase", "text": "all cores", "value": None, "t_s": None, "ago_s": None})
    assert mark == Mark(2, 12.0, 12.0, MarkKind.PHASE, "all cores")


def test_back_dating():
    book = MarkBook()
    assert book.from_request(60.0, {"kind": "wall", "value": 41.5, "ago_s": 12}).t_s == 48.0
    assert book.from_request(60.0, {"kind": "wall", "value": 41.5, "t_s": 30.25}).t_s == 30.25
    assert book.from_request(5.0, {"kind": "wall", "value": 41.5, "ago_s": 5.5}).t_s == 0.0


def test_withdrawing_and_correcting_name_an_earlier_mark():
    book = MarkBook()
    book.from_request(1.0, {"kind": "wall", "value": 41.5})
    assert book.from_request(2.0, {"kind": "wall", "value": 14.5, "replaces": 1}).replaces == 1
    assert book.from_request(3.0, {"kind": "withdraw", "replaces": 2}).replaces == 2


@pytest.mark.parametrize(
    "request_",
    [
        {},
        {"kind": "dance"},
        {"kind": ["phase"], "text": "x"},
        {"kind": "phase"},
        {"kind": "phase", "text": "   "},
        {"kind": "note", "text": 7},
        {"kind": "note", "text": "x" * 501},
        {"kind": "wall"},
        {"kind": "wall", "value": "41"},
        {"kind": "wall", "value": True},
        {"kind": "wall", "value": -1},
        {"kind": "wall", "value": math.nan},
        {"kind": "room", "value": 800},
        {"kind": "wall", "value": 41, "ago_s": 100},
        {"kind": "wall", "value": 41, "t_s": 100},
        {"kind": "withdraw"},
        {"kind": "withdraw", "replaces": 1},
        {"kind": "withdraw", "replaces": True},
        {"kind": "note", "text": "x", "replaces": -1},
    ],
)
def test_nonsense_is_refused_and_takes_no_number(request_):
    book = MarkBook()
    with pytest.raises(UsageError):
        book.from_request(50.0, request_)
    assert book.from_request(50.0, {"kind": "note", "text": "ok"}).number == 1


def test_nothing_that_steers_a_terminal_gets_through():
    mark = MarkBook().from_request(0.0, {"kind": "note", "text": "lid\x1b[2J off\n\t– 23 °C"})
    assert mark.text == "lid [2J off – 23 °C"
