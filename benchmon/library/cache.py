"""What was worked out before, kept in one SQLite file in the user's cache folder.

It is only a cache: whoever deletes it loses time and nothing else. Where it cannot be opened, is busy for long or is
broken, everything is worked out anew, and one sentence says so.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from pathlib import Path

import benchmon

_WAIT_S = 3.0
"""Another benchmon holds the file for milliseconds; longer means that something is wrong."""
_NAME = "worked-out-2.sqlite3"
"""With the number of its layout: programs of several versions that are used side by side do not disturb each other."""
_MAKE = "CREATE TABLE IF NOT EXISTS kept (kind TEXT, key TEXT, stamp TEXT, value TEXT, PRIMARY KEY (kind, key))"
Entry = tuple[str, str, str]
"""Key, stamp and value. The stamp says what the value was made from; another stamp makes it worthless."""


def cache_folder() -> Path | None:
    """The folder of this user's caches; None if there is no home (XDG Base Directory Specification 0.8)."""
    given = Path(os.environ.get("XDG_CACHE_HOME", ""))
    if given.is_absolute():
        return given / "benchmon"
    try:
        home = Path.home()
    except RuntimeError:
        return None
    return home / ".cache" / "benchmon" if home.is_absolute() else None


@cache
def program_stamp() -> str:
    """Changes whenever the program does: sizes and times of its modules. What another program said is worthless."""
    import hashlib  # noqa: PLC0415  (commands that keep nothing start without it)

    root = Path(benchmon.__file__).parent
    said = []
    for folder, inner, names in os.walk(root):
        inner.sort()
        said += [_file_stamp(f"{folder}/{name}", name) for name in sorted(names) if name.endswith(".py")]
    return hashlib.blake2b("|".join(said).encode(), digest_size=12).hexdigest()


def _file_stamp(path: str, name: str) -> str:
    found = os.stat(path)  # noqa: PTH116  (three hundred times at every start, five times as quick)
    return f"{name}:{found.st_size}:{found.st_mtime_ns}"


class Cache:
    """Values by kind and key. Every method works, whatever is wrong with the file: then nothing is known.

    Args:
        say: takes a sentence about what is wrong.
        folder: where the file is; None for the user's cache folder.
    """

    def __init__(self, say: Callable[[str], None], folder: Path | None = None) -> None:
        self._say = say
        self._folder = folder or cache_folder()
        self._database: sqlite3.Connection | None = None
        if self._folder is not None:
            self._open(self._folder, is_first=True)

    def _open(self, folder: Path, *, is_first: bool) -> None:
        path = folder / _NAME
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            database = sqlite3.connect(path, timeout=_WAIT_S, isolation_level=None)
            database.execute("PRAGMA synchronous = OFF")  # a power cut may cost the cache, and nothing else
            database.execute(_MAKE)
            database.execute("SELECT kind, key, stamp, value FROM kept LIMIT 1").fetchone()
            self._database = database
        except OSError as fault:
            self._say(f"What was worked out before cannot be used, nor kept: {folder}: {fault.strerror}.")
        except sqlite3.DatabaseError as fault:
            if _is_broken(fault):
                self._begin_anew(path, is_first=is_first)
            else:
                self._say(f"What was worked out before cannot be used, nor kept: {path}: {fault}.")

    def _begin_anew(self, path: Path, *, is_first: bool) -> None:
        """A broken file holds nothing that cannot be worked out again."""
        self._database = None
        self._say(f"{path} was broken; it is only a cache, and is made anew.")
        with contextlib.suppress(OSError):
            path.with_name(f"{path.name}-journal").unlink(missing_ok=True)  # it speaks of the broken one
            path.unlink()
            if is_first:
                self._open(path.parent, is_first=False)

    def get(self, kind: str, key: str, stamp: str) -> str | None:
        """The value that was made from what the stamp says; None if there is none."""
        found = self._ask("SELECT value FROM kept WHERE kind = ? AND key = ? AND stamp = ?", (kind, key, stamp))
        return next((value for (value,) in found), None)

    def all(self, kind: str) -> dict[str, tuple[str, str]]:
        """Every key of a kind with its stamp and value."""
        found = self._ask("SELECT key, stamp, value FROM kept WHERE kind = ?", (kind,))
        return {key: (stamp, value) for key, stamp, value in found}

    def put(self, kind: str, entries: Iterable[Entry], gone: Iterable[str] = (), most: int | None = None) -> None:
        """Keep values, and forget keys that are gone; with ``most`` only so many of the kind, the latest ones."""
        if self._database is None:
            return
        with self._guarded(), self._database as database:
            database.execute("BEGIN IMMEDIATE")
            database.executemany("DELETE FROM kept WHERE kind = ? AND key = ?", [(kind, key) for key in gone])
            rows = [(kind, *entry) for entry in entries]
            database.executemany("INSERT OR REPLACE INTO kept VALUES (?, ?, ?, ?)", rows)
            if most is not None:
                database.execute(
                    "DELETE FROM kept WHERE kind = ? AND rowid NOT IN "
                    "(SELECT rowid FROM kept WHERE kind = ? ORDER BY rowid DESC LIMIT ?)",
                    (kind, kind, most),
                )

    def _ask(self, question: str, values: Sequence[str]) -> list[tuple[str, ...]]:
        if self._database is not None:
            with self._guarded():
                return list(self._database.execute(question, values))
        return []

    @contextlib.contextmanager
    def _guarded(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.DatabaseError as fault:
            self._database = None
            if _is_broken(fault) and self._folder is not None:
                self._begin_anew(self._folder / _NAME, is_first=True)
            else:  # busy for long, a full disk: what is known now is enough
                self._say(f"What is worked out cannot be kept in {self._folder}: {fault}.")

    def close(self) -> None:
        """Let the file go."""
        if self._database is not None:
            self._database.close()
            self._database = None


def _is_broken(fault: sqlite3.DatabaseError) -> bool:
    """Whether the file itself is at fault: damaged, no database, or with other tables than ours."""
    return (
        not isinstance(fault, sqlite3.OperationalError) or getattr(fault, "sqlite_errorcode", 0) == sqlite3.SQLITE_ERROR
    )
