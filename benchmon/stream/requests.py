"""What may be asked of a running recorder, and how it answers."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Protocol

from benchmon.errors import BenchmonError, UsageError
from benchmon.model.records import LoadAction, LoadChange, Mark
from benchmon.stream.control import Answer, Request
from benchmon.stream.options import CommandChoice, LoadChoice
from benchmon.stream.plan import parse_load


class Recording(Protocol):
    """What requests are made to."""

    path: Path
    command: CommandChoice | None
    """The user's own command; None if none was given."""

    @property
    def now_s(self) -> float:
        """Session time [s]."""

    @property
    def is_loaded(self) -> bool:
        """Whether a load runs."""

    def mark(self, request: Request) -> Mark:
        """Enter a mark."""

    def check_load(self, choice: LoadChoice) -> None:
        """Refuse a load that there cannot be."""

    def start_load(self, choice: LoadChoice) -> LoadChange:
        """Start a load."""

    def stop_load(self, reason: str) -> None:
        """Stop the load if one runs."""

    def abandon_plan(self) -> None:
        """From now on a person says what happens."""

    def end(self, reason: str) -> None:
        """End the recording."""


def answer(recording: Recording, request: Request) -> Answer:
    """Do what a request asks for; ``{"ok": true, …}`` or ``{"ok": false, "why": "…"}``."""
    try:
        return {"ok": True, **_do(recording, request)}
    except BenchmonError as error:
        return {"ok": False, "why": error.message}


def _do(recording: Recording, request: Request) -> Answer:
    match request.get("do"):
        case "ping":
            return {"t_s": recording.now_s, "file": str(recording.path), "pid": os.getpid()}
        case "mark":
            mark = recording.mark(request)
            return {"number": mark.number, "t_s": mark.t_s}
        case "load_start":
            return _start_load(recording, request)
        case "load_stop":
            if not recording.is_loaded:
                raise UsageError("no load is running")
            recording.abandon_plan()
            recording.stop_load("asked to")
            return {}
        case "end":
            recording.end("asked to")
            return {}
    raise UsageError(f"there is nothing called {request.get('do')!r} to do")


def _start_load(recording: Recording, request: Request) -> Answer:
    if recording.is_loaded:
        raise UsageError("a load is running already")
    choice = parse_load(str(request.get("load", "all")), str(request.get("work", "matrix")), recording.command)
    recording.check_load(choice)
    recording.abandon_plan()
    change = recording.start_load(choice)
    if change.action is LoadAction.FAILED:
        raise UsageError(change.reason)
    return {"load": change.what, "warning": change.reason}
