"""All sessions in some folders, found again in a moment: what was read of a file is kept until the file changes."""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from benchmon.library.cache import Cache, Entry, program_stamp
from benchmon.library.facts import Facts, WorkedOut, as_kept, facts_from, facts_of, worked_out, worked_out_from
from benchmon.session.naming import PACKED, SUFFIX

WORKED_ON_THE_WAY = 8
"""So many sessions that were not worked out yet are, without being asked: a second or two."""
_BATCH = 64
_FACTS, _WORKED = "facts", "worked out"
Watch = Callable[[float], None]


@dataclass(slots=True)
class Listed:
    """One session of the list."""

    path: Path
    file_stamp: str
    """Changes when the file does."""
    facts: Facts
    worked_out: WorkedOut | None = None
    """None: not worked out yet, or it cannot be read."""


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

    def sessions(self, folders: Iterable[Path], watch: Watch = lambda _: None) -> list[Listed]:
        """Every session file, the one begun last first; broken ones last.

        Args:
            folders: where to look, and below.
            watch: is told what share is done.
        """
        kept, worked = self._cache.all(_FACTS), self._cache.all(_WORKED)
        files = dict(file for folder in folders for file in self._files(folder))
        gone = [key for key in kept if key not in files and any(_is_below(key, folder) for folder in folders)]
        listed, new = [], list[Entry]()
        for place, (name, file_stamp) in enumerate(files.items()):
            facts = _kept_facts(kept.get(name), file_stamp)
            if facts is None:
                try:
                    facts = facts_of(Path(name))
                except OSError:
                    continue  # it has gone since
                new.append((name, file_stamp, json.dumps(as_kept(facts))))
                watch(place / len(files))
            listed.append(Listed(Path(name), file_stamp, facts, _kept_worked_out(worked.get(name), file_stamp)))
            if len(new) >= 16 * _BATCH:  # what is interrupted need not be read again
                self._cache.put(_FACTS, new)
                new = []
        if new or gone:
            self._cache.put(_FACTS, new, gone)
        if gone:
            self._cache.put(_WORKED, (), gone)
        return sorted(listed, key=lambda one: (one.facts.started_at, str(one.path)), reverse=True)

    def work_out(self, sessions: Sequence[Listed], watch: Watch = lambda _: None) -> None:
        """Work out what is not yet, on as many processes as this machine has processors."""
        todo = [one for one in sessions if one.worked_out is None and not one.facts.problem]
        new: list[Entry] = []
        try:
            for place, (one, found) in enumerate(zip(todo, _worked_out([one.path for one in todo]), strict=True)):
                one.worked_out = found
                if found is not None:
                    new.append((str(one.path), _stamp(one.file_stamp), json.dumps(as_kept(found))))
                watch((place + 1) / len(todo))
                if len(new) >= _BATCH:
                    self._cache.put(_WORKED, new)
                    new = []
        finally:
            self._cache.put(_WORKED, new)

    def _files(self, folder: Path) -> Iterator[tuple[str, str]]:
        """Absolute name and stamp of each session file."""
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
                    yield path, f"{found.st_ino} {found.st_size} {found.st_mtime_ns} {found.st_ctime_ns}"

    def _missed(self, fault: OSError) -> None:
        self.missed_folders += 1
        self._say(f"The folder {fault.filename} cannot be looked into: {fault.strerror}.")


def _worked_out(paths: Sequence[Path]) -> Iterator[WorkedOut | None]:
    count = min(len(os.sched_getaffinity(0)), len(paths) // 4)
    if count < 2:
        yield from map(worked_out, paths)
        return
    from concurrent.futures import ProcessPoolExecutor  # noqa: PLC0415  (costs a tenth of a second to load)

    with ProcessPoolExecutor(count) as pool:
        yield from pool.map(worked_out, paths, chunksize=4)


def _stamp(file_stamp: str) -> str:
    """What the analysis said holds for this file and this program."""
    return f"{file_stamp} {program_stamp()}"


def _is_below(name: str, folder: Path) -> bool:
    return name.startswith(str(folder.absolute()).rstrip("/") + "/")


def _kept_facts(kept: tuple[str, str] | None, file_stamp: str) -> Facts | None:
    if kept is None or kept[0] != file_stamp:
        return None
    try:
        return facts_from(json.loads(kept[1]))
    except (ValueError, TypeError, KeyError):
        return None


def _kept_worked_out(kept: tuple[str, str] | None, file_stamp: str) -> WorkedOut | None:
    if kept is None or kept[0] != _stamp(file_stamp):
        return None
    try:
        return worked_out_from(json.loads(kept[1]))
    except (ValueError, TypeError, KeyError):
        return None
