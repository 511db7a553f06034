"""The words by which a load is asked for."""

import pytest

from benchmon.errors import UsageError
from benchmon.model.work_kinds import KIND_WORDS, WORK_KINDS, kind_named_in
from benchmon.stream.load_words import parse_load
from benchmon.stream.options import BuiltinChoice, CommandChoice

MAKE = CommandChoice(("make",))


@pytest.mark.parametrize(
    ("text", "choice"),
    [
        ("all", BuiltinChoice(None, "widest", 1.0)),
        (" One ", BuiltinChoice(1)),
        ("4", BuiltinChoice(4)),
        ("all memory", BuiltinChoice(None, "memory")),
        ("one  whole", BuiltinChoice(1, "whole")),
        ("all at 50 %", BuiltinChoice(None, "widest", 0.5)),
        ("ALL AT 50%", BuiltinChoice(None, "widest", 0.5)),
        ("2 mixture at 12.5 percent", BuiltinChoice(2, "mixture", 0.125)),
        ("one at 1 %", BuiltinChoice(1, "widest", 0.01)),
        ("all scalar at 100 %", BuiltinChoice(None, "scalar", 1.0)),
        ("command", MAKE),
        ("Command x3", CommandChoice(("make",), times=3)),
    ],
)
def test_what_can_be_asked_for(text, choice):
    assert parse_load(text, command=MAKE) == choice


def test_the_usual_work_gives_way_to_a_named_one():
    assert parse_load("all", "memory") == BuiltinChoice(None, "memory")
    assert parse_load("all scalar", "memory") == BuiltinChoice(None, "scalar")


@pytest.mark.parametrize(
    "text",
    [
        "", "some", "0", "-1", "²", "100000", "all dancing", "memory", "all all", "all memory scalar", "all at 0 %",
        "all at 0.9 %", "all at 101 %", "all at -5 %", "all at 50", "all at %", "all at 50 % memory", "at 50 %", "all matrix",
        "command at 50 %", "all at 5e1 %", "all at 50 % at 50 %",
    ],
)  # fmt: skip
def test_what_cannot_be_understood_is_refused_in_words(text):
    with pytest.raises(UsageError) as caught:
        parse_load(text, command=MAKE)
    assert caught.value.hint


def test_unknown_work_is_refused():
    with pytest.raises(UsageError, match="no work called"):
        parse_load("all", "dancing")


def test_no_command_to_run():
    with pytest.raises(UsageError, match="no command"):
        parse_load("command")


def test_kinds_in_sessions_that_did_not_name_them():
    assert kind_named_in("matrix work on all 6 cores") == "scalar"
    assert kind_named_in("memory work on one core") == "memory"
    assert kind_named_in("./matrix work") == ""
    assert kind_named_in("") == ""


def test_every_kind_has_words_of_its_own():
    assert len(set(KIND_WORDS.values())) == len(WORK_KINDS) == 5
