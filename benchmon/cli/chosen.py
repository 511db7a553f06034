"""Which session a command means."""

from __future__ import annotations

from pathlib import Path

from benchmon.stream.store import find_session, newest_session


def chosen_session(text: str | None) -> Path:
    """The session that was named, or the newest one."""
    return newest_session() if text is None else find_session(text)
