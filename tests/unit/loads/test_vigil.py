"""What the keeper makes of what it hears and does not hear."""

import pytest

from benchmon.loads.guard import Guarding
from benchmon.loads.vigil import SILENCE_S, Vigil


def vigil(file="sensor", **more):
    return Vigil(Guarding(file, patience_s=0.55, **more), is_steady=True, silence_s=SILENCE_S, now_s=0.0)


def test_nothing_is_wrong_while_both_speak():
    watched = vigil()
    for tick in range(1, 100):
        watched.recorder_spoke(tick / 5)
        assert watched.reader_spoke(tick / 5, {"temp_c": 60.0 + tick % 2}) == ""
        assert watched.silence(tick / 5) is None


def test_a_file_that_does_not_answer_counts_like_one_that_cannot_be_read():
    watched = vigil()
    watched.reader_spoke(0.2, {"temp_c": 60.0})
    assert watched.silence(0.5) is None
    assert watched.silence(0.7) is None
    assert "its file does not answer, for 0.8 s" in watched.silence(1.0)["guard"]


@pytest.mark.parametrize("file", ["sensor", ""])
def test_a_silent_recorder(file):
    watched = vigil(file)
    for tick in range(1, 11):
        watched.reader_spoke(tick / 5, {"temp_c": 60.0 + tick % 2})
    assert watched.silence(2.2) is None
    watched.reader_spoke(2.3, {"temp_c": 60.0})
    assert watched.silence(2.3) == {"silent": 2.2}


def test_a_silent_reader_ends_even_what_nothing_guards():
    watched = vigil("")
    watched.recorder_spoke(2.0)
    assert watched.silence(2.2) is None
    assert "second of its two keepers" in watched.silence(2.3)["lost"]


def test_where_nothing_guards_nothing_is_judged():
    watched = vigil("")
    assert [watched.reader_spoke(tick / 5, {"temp_c": 120.0}) for tick in range(9)] == [""] * 9


def test_a_temperature_that_is_never_read_ends_the_load():
    watched = vigil()
    said = [watched.reader_spoke(tick / 5, {"why": "not read: device gone,"}) for tick in range(1, 6)]
    assert [bool(one) for one in said] == [False, False, True, True, True]


def test_a_load_that_begins_may_jump():
    watched = Vigil(Guarding("sensor", patience_s=0.55), is_steady=True, silence_s=SILENCE_S, now_s=1000.0)
    watched.reader_spoke(1000.0, {"temp_c": 40.0})
    watched.load_began(1000.0)
    assert [watched.reader_spoke(1000.0 + tick / 5, {"temp_c": 85.0}) for tick in range(1, 9)] == [""] * 8
