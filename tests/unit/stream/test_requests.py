"""What may be asked of a recorder, answered without one."""

from pathlib import Path

import pytest

from benchmon.errors import LoadError
from benchmon.model.records import LoadAction, LoadChange, Mark, MarkKind
from benchmon.stream.options import BuiltinChoice, CommandChoice
from benchmon.stream.requests import answer


class FakeRecording:
    path = Path("/x.session.jsonl")
    command = CommandChoice(("my", "load"), times=3)
    now_s = 12.5

    def __init__(self):
        self.is_loaded = False
        self.did = []
        self.outcome = LoadAction.STARTED

    def mark(self, request):
        return Mark(7, 12.0, 12.5, MarkKind.NOTE, str(request["text"]))

    def check_load(self, choice):
        if getattr(choice, "cores", None) == 64:
            raise LoadError("this machine lets benchmon use 2 cores, not 64")

    def start_load(self, choice):
        self.did.append(choice)
        return LoadChange(self.now_s, self.outcome, "the load", reason="hm")

    def stop_load(self, reason):
        self.did.append(reason)

    def abandon_plan(self):
        self.did.append("plan abandoned")

    def end(self, reason):
        self.did.append(f"ended: {reason}")


@pytest.fixture
def recording():
    return FakeRecording()


def test_ping(recording):
    assert answer(recording, {"do": "ping"})["file"] == "/x.session.jsonl"


def test_mark(recording):
    assert answer(recording, {"do": "mark", "text": "x"}) == {"ok": True, "number": 7, "t_s": 12.0}


def test_load_start(recording):
    said = answer(recording, {"do": "load_start", "load": "2 at 40 %", "work": "memory"})
    assert said == {"ok": True, "load": "the load", "warning": "hm"}
    assert recording.did == ["plan abandoned", BuiltinChoice(2, "memory", 0.4)]


def test_the_command_is_the_one_the_recorder_was_started_with(recording):
    answer(recording, {"do": "load_start", "load": "command"})
    assert recording.did[-1] == CommandChoice(("my", "load"), times=3)


def test_another_command_can_be_named_and_is_read_in_the_same_way(recording):
    recording.command = CommandChoice(("my", "load"), times=3, cores=(1,), score_from=("(x)",))
    assert answer(recording, {"do": "load_start", "argv": ["./other", "-n", "4"]})["ok"] is True
    assert recording.did[-1] == CommandChoice(("./other", "-n", "4"), cores=(1,), score_from=("(x)",))
    recording.command = CommandChoice((), version_from="v")
    answer(recording, {"do": "load_start", "argv": ["other"]})
    assert recording.did[-1] == CommandChoice(("other",), version_from="v")
    assert answer(recording, {"do": "load_start", "load": "command"})["ok"] is False


@pytest.mark.parametrize("argv", [None, "rm -r x", [], [""], ["a\0b"], [7], ["x"] * 1001, {"x": 1}])
def test_what_is_no_command_is_refused(recording, argv):
    assert answer(recording, {"do": "load_start", "argv": argv})["ok"] is False
    assert recording.did == []


def test_a_failed_start_is_an_answer(recording):
    recording.outcome = LoadAction.FAILED
    assert answer(recording, {"do": "load_start"}) == {"ok": False, "why": "hm"}


def test_load_stop(recording):
    assert answer(recording, {"do": "load_stop"}) == {"ok": False, "why": "no load is running"}
    recording.is_loaded = True
    assert answer(recording, {"do": "load_stop"}) == {"ok": True}
    assert recording.did == ["plan abandoned", "stopped by user"]


@pytest.mark.parametrize(
    "request_", [{}, {"do": None}, {"do": ["ping"]}, {"do": "load_start", "load": {}}, {"do": "load_start", "work": 7}]
)
def test_nonsense_is_answered(recording, request_):
    said = answer(recording, request_)
    assert said["ok"] is False
    assert said["why"]
    assert not any(isinstance(done, BuiltinChoice) for done in recording.did)


class WaitingPlan:
    def __init__(self, *, waits):
        self.confirm = lambda: waits


def test_a_pause_is_confirmed_and_nothing_else_is(recording):
    recording.plan = WaitingPlan(waits=True)
    assert answer(recording, {"do": "confirm"}) == {"ok": True}
    recording.plan = WaitingPlan(waits=False)
    assert answer(recording, {"do": "confirm"}) == {"ok": False, "why": "nothing waits for that"}
