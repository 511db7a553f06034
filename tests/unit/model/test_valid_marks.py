"""Which marks hold where two speak of one moment."""

from benchmon.model.records import Mark, MarkKind
from benchmon.model.valid_marks import ValidMarks


def valid(*marks):
    book = ValidMarks()
    for mark in marks:
        book.feed(mark)
    return [(mark.number, mark.value) for mark in book.all()]


def test_a_later_entry_for_the_same_moment_takes_the_place_of_the_earlier():
    room = MarkKind.ROOM
    assert valid(Mark(1, 0.3, 0.3, room, "", 24.0), Mark(2, 0.0, 900.0, room, "", 23.5)) == [(2, 23.5)]
    assert valid(Mark(1, 0.9, 0.9, room, "", 24.0), Mark(2, 1.1, 5.0, room, "", 23.5)) == [(2, 23.5)]
    three = [Mark(number, 60.0, 60.0 + number, MarkKind.WALL, "", float(number)) for number in (1, 2, 3)]
    assert valid(*three) == [(3, 3.0)]


def test_other_moments_other_kinds_and_scores_are_kept():
    assert len(valid(Mark(1, 0.0, 0.0, MarkKind.ROOM, "", 24.0), Mark(2, 1.0, 1.0, MarkKind.ROOM, "", 23.5))) == 2
    assert len(valid(Mark(1, 5.0, 5.0, MarkKind.ROOM, "", 24.0), Mark(2, 5.0, 5.0, MarkKind.WALL, "", 23.5))) == 2
    assert len(valid(Mark(1, 5.0, 5.0, MarkKind.SCORE, "a", 1.0), Mark(2, 5.0, 5.0, MarkKind.SCORE, "b", 2.0))) == 2


def test_what_was_withdrawn_does_not_come_back():
    first, second = Mark(1, 5.0, 5.0, MarkKind.WALL, "", 40.0), Mark(2, 5.0, 9.0, MarkKind.WALL, "", 41.0)
    assert valid(first, second, Mark(3, 9.0, 9.0, MarkKind.WITHDRAW, replaces=2)) == []
