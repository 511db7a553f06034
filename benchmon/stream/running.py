"""Sessions that are being recorded now."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from benchmon.errors import BenchmonError
from benchmon.model.records import SessionHeader
from benchmon.session.glimpse import glimpse
from benchmon.stream.control import ControlClient, is_private, socket_folder


@dataclass(frozen=True, slots=True)
class RunningSession:
    """A session that is being recorded right now."""

    path: Path
    header: SessionHeader


def running_sessions() -> tuple[RunningSession, ...]:
    """This user's sessions that are being recorded now, wherever their files are; the one begun last comes first."""
    found = [_recorded_through(socket) for socket in _sockets()]
    running = [session for session in found if session is not None]
    return tuple(sorted(running, key=lambda session: session.header.started_at, reverse=True))


def is_being_recorded(path: Path) -> bool:
    """Whether a recorder of this user is writing the file now."""
    return path.exists() and any(session.path.samefile(path) for session in running_sessions())


def _sockets() -> list[Path]:
    """The sockets in this user's folder; none if it belongs to somebody else, as it might in /tmp."""
    return sorted(socket_folder().glob("*.sock")) if is_private(socket_folder()) else []


def _recorded_through(socket: Path) -> RunningSession | None:
    """The session whose recorder listens there; None if it has gone (a killed one leaves its socket behind)."""
    try:
        client = ControlClient(socket.stem)
        try:
            path = Path(str(client.send({"do": "ping"}).get("file")))
        finally:
            client.close()
        return RunningSession(path, glimpse(path).header)
    except BenchmonError:
        return None
