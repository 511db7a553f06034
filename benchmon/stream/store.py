"""Where sessions live, and how one is found again."""

from __future__ import annotations

import os
from pathlib import Path

from benchmon.errors import NoSessionError, OutputError
from benchmon.session.naming import PACKED, SUFFIX, bare_name

_MOST_NAMED = 5
"""So many names are listed when a search fits several sessions."""


def sessions_folder() -> Path:
    """The folder of this user's sessions; it need not exist yet.

    ``$BENCHMON_SESSIONS``, else ``$XDG_DATA_HOME/benchmon``, else ``~/.local/share/benchmon`` (XDG Base Directory
    Specification 0.8, which also says that a relative ``$XDG_DATA_HOME`` is to be ignored).

    Raises:
        OutputError: if this user has no home folder and the variables say nothing.
    """
    if chosen := os.environ.get("BENCHMON_SESSIONS"):
        return Path(os.path.expanduser(chosen))  # noqa: PTH111 - unlike Path's, it leaves an unknown ~name as it is
    data_home = Path(os.environ.get("XDG_DATA_HOME", ""))
    if data_home.is_absolute():
        return data_home / "benchmon"
    try:
        return Path.home() / ".local" / "share" / "benchmon"
    except RuntimeError:
        raise OutputError(
            "There is no home folder to keep sessions in.", "Set BENCHMON_SESSIONS to a folder, or use --to."
        ) from None


def stored_sessions() -> tuple[Path, ...]:
    """All session files in the sessions folder, the one written to last first."""
    try:
        found = [(entry.stat().st_mtime, Path(entry.path)) for entry in os.scandir(sessions_folder())
                 if entry.name.endswith((SUFFIX, SUFFIX + PACKED)) and entry.is_file()]  # fmt: skip
    except OSError:
        return ()
    return tuple(path for _, path in sorted(found, reverse=True))


def newest_session() -> Path:
    """The session written to last.

    Raises:
        NoSessionError: if there is none.
    """
    sessions = stored_sessions()
    if not sessions:
        raise NoSessionError(f"There is no session in {sessions_folder()}.", "Record one first, or name a file.")
    return sessions[0]


def find_session(text: str) -> Path:
    """The one session that a text means: a path, or a name in the sessions folder, or a part of one name.

    The suffix may be left out. Names that begin with the text come before names that hold it somewhere.

    Raises:
        NoSessionError: if none or more than one fits.
    """
    given = Path(os.path.expanduser(text))  # noqa: PTH111 - unlike Path's, it leaves an unknown ~name as it is
    if os.path.exists(given):  # noqa: PTH110 - unlike Path's, it takes any text for a name
        return given
    if os.sep in text:
        raise NoSessionError(f"There is no file {text}.")
    sessions = stored_sessions()
    for fits in (
        [path for path in sessions if path.name == text or bare_name(path.name) == text],
        [path for path in sessions if path.name.startswith(text)],
        [path for path in sessions if text in bare_name(path.name)],
    ):
        if len(fits) == 1:
            return fits[0]
        if fits:
            names = ", ".join(bare_name(path.name) for path in fits[:_MOST_NAMED])
            more = " …" if len(fits) > _MOST_NAMED else ""
            raise NoSessionError(f"“{text}” fits {len(fits)} sessions: {names}{more}.", "Write more of the name.")
    raise NoSessionError(f"No session in {sessions_folder()} is called “{text}”.", "Give its path, or another name.")
