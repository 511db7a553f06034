"""Answers about single sessions, kept: the same question about an unchanged file is not worked out twice."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from benchmon.library.cache import Cache, program_stamp
from benchmon.session.opening import open_session, unreadable

MOST_KEPT = 500
_PIECE_BYTES = 1 << 20


@dataclass(frozen=True, slots=True)
class Answer:
    """What a command printed about a session."""

    text: str
    is_throttled: bool
    """Whether the session holds a throttle event."""


def content_stamp(path: Path) -> str:
    """Names what a file holds, whatever the file is called and whenever it was written.

    Raises:
        SessionFormatError: if it cannot be read.
    """
    digest = hashlib.blake2b(digest_size=20)
    try:
        with open(open_session(path), "rb") as file:  # noqa: PTH123  (a descriptor, no path)
            while piece := file.read(_PIECE_BYTES):
                digest.update(piece)
    except OSError as fault:
        raise unreadable(path, fault) from None
    return digest.hexdigest()


def kept_answer(cache: Cache, path: Path, asked: Mapping[str, object], work: Callable[[], Answer]) -> Answer:
    """The answer to a question about a session: as it was kept, or worked out and kept.

    Args:
        cache: where answers are kept.
        path: the session.
        asked: all that the answer depends on besides the file and the program.
        work: works it out.

    Raises:
        SessionFormatError: if the file cannot be read.
    """
    content = content_stamp(path)
    stamp = f"{content} {program_stamp()}"
    key = json.dumps([stamp, dict(asked)], sort_keys=True, default=str)
    kept = cache.get("answer", key, stamp)
    if kept is not None:
        try:
            return Answer(**json.loads(kept))
        except (ValueError, TypeError):
            pass
    answer = work()
    if content_stamp(path) == content:  # it did not grow while it was read
        cache.put("answer", [(key, stamp, json.dumps(asdict(answer)))], most=MOST_KEPT)
    return answer
