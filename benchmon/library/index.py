"""All sessions in some folders, found again in a moment: what was read of a file is kept until the file changes."""

from __future__ import annotations

import contextlib
import json
import os
import stat
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from benchmon.library.cache import Cache, Entry, program_stamp
from benchmon.library.facts import (
    Facts,
    WorkedOut,
    facts_as_kept,
    facts_from,
    facts_of,
    worked_out,
    worked_out_as_kept,
    worked_out_from,
)
from benchmon.library.processors import shared_out
from benchmon.session.naming import PACKED, SUFFIX

WORKED_ON_THE_WAY = 8
"""So many sessions that were not worked out yet are, without being asked: a second or two."""
_BATCH = 64
_FACTS_AT_ONCE, _WORKED_AT_ONCE = 64, 4
"""So many files are given to a process at once: some hundredths of a second of work."""
_FACTS, _WORKED = "facts", "worked out"
Watch = Callable[[float], None]
_Found = TypeVar("_Found")


@dataclass(slots=True)
class Listed:
    """One session of the list."""

    file: str
    """Absolute name."""
    stamp: str
    """Changes when the file does, or the program."""
    facts: Facts
    worked_out: WorkedOut | None = None
    """None: not worked out yet, or it cannot be read."""

    @property
    def path(self) -> Path:
        """Its file."""
        return Path(self.file)


class Index:
    """Sessions in folders and below them.

    Args:
        cache: where what was found is kept.
        say: takes a sentence about a folder that cannot be looked into.
    """

    def __init__(self, cache: Cache, say: Callable[[str], None]) -> None:
        self._cache = cache
        self._say = say
        self.missed_folders = 0
        """Folders that could not be looked into."""

    def sessions(self, folders: Sequence[Path], watch: Watch = lambda _: None) -> list[Listed]:
        """Every session file, the one begun last first; broken ones last.

        Args:
            folders: where to look, and below.
            watch: is told what share is done.
        """
        kept = self._cache.all(_FACTS)
        files = {_key(name): (name, stamp) for folder in folders for name, stamp in self._files(folder)}
        facts = _understood(kept, files, facts_from)
        worked = _understood(self._cache.all(_WORKED), files, worked_out_from)
        listed = [Listed(*files[key], found, worked.get(key)) for key, found in facts.items()]
        listed += self._read([key for key in files if key not in facts], files, watch)
        below = tuple(f"{str(folder.absolute()).rstrip('/')}/" for folder in folders)
        gone = [key for key in kept if key not in files and key.startswith(below)]
        if gone and not self.missed_folders:
            self._cache.put(_FACTS, (), gone)
            self._cache.put(_WORKED, (), gone)
        return sorted(listed, key=lambda one: (one.facts.started_at, one.file), reverse=True)

    def _read(self, keys: Sequence[str], files: Mapping[str, tuple[str, str]], watch: Watch) -> Iterator[Listed]:
        """What stands in these files, kept as it comes: what is interrupted need not be read again."""
        new: list[Entry] = []
        try:
            found = shared_out(_facts, [files[key][0] for key in keys], _FACTS_AT_ONCE)
            for place, (key, facts) in enumerate(zip(keys, found, strict=True)):
                watch((place + 1) / len(keys))
                if facts is None:
                    continue
                name, stamp = files[key]
                new.append((key, stamp, json.dumps(facts_as_kept(facts))))
                yield Listed(name, stamp, facts)
                if len(new) >= 16 * _BATCH:
                    self._cache.put(_FACTS, new)
                    new = []
        finally:
            self._cache.put(_FACTS, new)

    def work_out(self, sessions: Sequence[Listed], watch: Watch = lambda _: None) -> None:
        """Work out what is not yet, on as many processes as this machine has processors."""
        todo = [one for one in sessions if one.worked_out is None and not one.facts.problem]
        new: list[Entry] = []
        try:
            answers = shared_out(_worked_out, [one.file for one in todo], _WORKED_AT_ONCE)
            for place, (one, found) in enumerate(zip(todo, answers, strict=True)):
                one.worked_out = found
                if found is not None:
                    new.append((_key(one.file), one.stamp, json.dumps(worked_out_as_kept(found))))
                watch((place + 1) / len(todo))
                if len(new) >= _BATCH:
                    self._cache.put(_WORKED, new)
                    new = []
        finally:
            self._cache.put(_WORKED, new)

    def _files(self, folder: Path) -> Iterator[tuple[str, str]]:
        """Absolute name and stamp of each session file."""
        program = program_stamp()
        for place, _, names in os.walk(folder.absolute(), onerror=self._missed):
            for name in names:
                if not name.endswith((SUFFIX, SUFFIX + PACKED)):
                    continue
                path = f"{place}/{name}"
                try:
                    found = os.stat(path)  # noqa: PTH116  (ten thousand times, five times as quick)
                except OSError:
                    continue  # it has gone since, or is a link to nowhere
                if stat.S_ISREG(found.st_mode):
                    yield path, f"{found.st_ino} {found.st_size} {found.st_mtime_ns} {found.st_ctime_ns} {program}"

    def _missed(self, fault: OSError) -> None:
        self.missed_folders += 1
        self._say(f"The folder {fault.filename} cannot be looked into: {fault.strerror}.")


def _facts(file: str) -> Facts | None:
    try:
        return facts_of(Path(file))
    except OSError:
        return None  # it has gone since


def _worked_out(file: str) -> WorkedOut | None:
    return worked_out(Path(file))


def _key(file: str) -> str:
    """By what a file is kept; names that are no text have one too."""
    return file if file.isascii() else os.fsencode(file).decode(errors="backslashreplace")


def _understood(
    kept: Mapping[str, tuple[str, str]], files: Mapping[str, tuple[str, str]], from_kept: Callable[[Any], _Found]
) -> dict[str, _Found]:
    """What was kept of the present state of each file; not what makes no sense."""
    texts = {key: kept[key][1] for key, (_, stamp) in files.items() if key in kept and kept[key][0] == stamp}
    found: dict[str, _Found] = {}
    for key, values in zip(texts, _from_json(list(texts.values())), strict=True):
        with contextlib.suppress(ValueError, TypeError):
            found[key] = from_kept(values)
    return found


def _from_json(texts: Sequence[str]) -> list[Any]:
    """The value of each text: of all at once, which takes a third of the time; None for one that is no JSON."""
    with contextlib.suppress(ValueError):
        values: list[Any] = json.loads(f"[{','.join(texts)}]")
        if len(values) == len(texts):
            return values
    return [_value_or_none(text) for text in texts]


def _value_or_none(text: str) -> Any:
    try:
        return json.loads(text)
    except ValueError:
        return None
