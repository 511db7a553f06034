"""What may be asked of a running recorder, and how it answers."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from benchmon.errors import BenchmonError, UsageError
from benchmon.model import phase_names
from benchmon.model.records import LoadAction, LoadChange, Mark, MarkKind
from benchmon.model.work_kinds import WIDEST
from benchmon.stream.control import Answer, Request
from benchmon.stream.load_words import parse_load
from benchmon.stream.options import CommandChoice, LoadChoice
from benchmon.stream.planned import Planned

_MOST_WORDS = 1000


class Recording(Protocol):
    """What requests are made to."""

    path: Path
    command: CommandChoice
    """The user's own command; without words if none was given, then how one that is named now is run and read."""

    plan: Planned

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
            recording.stop_load("stopped by user")
            return {}
        case "confirm":
            if not recording.plan.confirm():
                raise UsageError("nothing waits for that", "Only a phase of a plan that says so is ended like this.")
            return {}
        case "end":
            recording.end("stopped by user")
            return {}
    raise UsageError(f"there is nothing called {request.get('do')!r} to do")


def _start_load(recording: Recording, request: Request) -> Answer:
    if recording.is_loaded:
        raise UsageError("a load is running already")
    given = recording.command if recording.command.argv else None
    if "argv" in request:
        choice: LoadChoice = _command(request["argv"], recording.command)
    else:
        choice = parse_load(str(request.get("load", "all")), str(request.get("work", WIDEST)), given)
    recording.check_load(choice)
    recording.abandon_plan()
    if isinstance(choice, CommandChoice) and choice.phases:  # the phases that it prints follow one of its own
        recording.mark({"kind": MarkKind.PHASE.value, "text": phase_names.COMMAND})
    change = recording.start_load(choice)
    if change.action is LoadAction.FAILED:
        raise UsageError(change.reason)
    return {"load": change.what, "warning": change.reason}


def _command(argv: object, given: CommandChoice) -> CommandChoice:
    """A command that was typed while recording; read as the one that the recording was started with.

    Whoever can open the socket is the user whose recorder it is, and the recorder runs as that user.
    """
    words = argv if isinstance(argv, list) else []
    if not words or len(words) > _MOST_WORDS or not all(isinstance(word, str) and "\0" not in word for word in words):
        raise UsageError("a command is a list of words")
    if not words[0]:
        raise UsageError("a command has a name")
    return replace(given, argv=tuple(words), times=1)
