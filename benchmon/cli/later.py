"""Entering what became known when the recording was over: the same for the command and for the screen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from benchmon.model.records import Mark, Session


def enter_later(path: Path) -> Callable[[dict[str, object]], dict[str, object]]:
    """What the screen asks to enter into a session; it answers as a recorder does, and gives the ``mark`` as well.

    Args:
        path: the session's file.
    """

    def enter(request: dict[str, object]) -> dict[str, object]:
        from benchmon.session.reader import read_session
        from benchmon.stream.control import ControlClient
        from benchmon.stream.running import is_being_recorded

        session = read_session(path)
        if is_being_recorded(path):
            return ControlClient(session.header.session_id).send(request)
        mark = enter_mark(path, session, request)
        return {"ok": True, "number": mark.number, "mark": mark}

    return enter


def enter_mark(path: Path, session: Session, request: dict[str, object]) -> Mark:
    """Append the mark that a request asks for to a session that nobody records.

    Raises:
        UsageError: if it makes no sense.
        OutputError: if it cannot be written.
    """
    from benchmon.session.entries import append_entry
    from benchmon.stream.marking import MarkBook

    return append_entry(path, lambda count: MarkBook(count).from_request(length_s(session), request))


def length_s(session: Session) -> float:
    """Time of the end, or of the last thing that was written [s]."""
    from benchmon.stream.replay import came_at_s

    return max((came_at_s(record) for record in session.records), default=0.0)
