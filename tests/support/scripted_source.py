"""A source that gives records when the test says so, and a recorder that notes what it is asked."""

from __future__ import annotations

from benchmon.model.records import Record, SessionEnd


class ScriptedSource:
    """Gives ``first`` at once; ``give`` adds more for the next poll."""

    title = "scripted"

    def __init__(self, first: list[Record]) -> None:
        self._waiting = list(first)
        self.ended = False

    def give(self, *records: Record) -> None:
        self._waiting += records

    def poll(self) -> tuple[Record, ...]:
        given, self._waiting = tuple(self._waiting), []
        self.ended = self.ended or any(isinstance(record, SessionEnd) for record in given)
        return given


class NotedControl:
    """Answers every request with yes, or with what ``answer`` holds, and remembers it; a ping asks for nothing."""

    def __init__(self) -> None:
        self.requests: list[dict[str, object]] = []
        self.answer: dict[str, object] = {"ok": True}

    def __call__(self, request: dict[str, object]) -> dict[str, object]:
        if request != {"do": "ping"}:
            self.requests.append(request)
        return self.answer
