"""Where a screen's records come from: a file that is being written, or a replay. Both look the same from outside."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from benchmon.model.records import Record
from benchmon.session.follow import Follower
from benchmon.stream.replay import Replay


class Source(Protocol):
    """Records in the order in which they came; a header means: begin anew."""

    @property
    def title(self) -> str:
        """What is shown, in a few words."""

    @property
    def ended(self) -> bool:
        """True when nothing more will come (a replay can be turned back)."""

    def poll(self) -> tuple[Record, ...]:
        """What has come since the last call; empty if nothing has.

        Raises:
            SessionFormatError: if the file is no session that can be read.
        """


class FollowSource:
    """A session file that is being written, or was.

    Args:
        path: the file; it must exist.

    Raises:
        SessionFormatError: if it is missing, may not be read or is no ordinary file.
    """

    def __init__(self, path: Path) -> None:
        self.follower = Follower(path)
        self.title = path.name

    @property
    def ended(self) -> bool:
        """True after the session's end record."""
        return self.follower.ended

    def poll(self) -> tuple[Record, ...]:
        """What has been written since the last call; a long file comes in several portions.

        Raises:
            SessionFormatError: if the file is no session that can be read.
        """
        return self.follower.poll()


class ReplaySource:
    """A stored session, played again.

    Args:
        replay: what to play; its ``speed``, ``paused``, ``seek`` and ``position_s`` stay in the caller's hands.
        title: what is shown, in a few words.
        now_s: gives the watcher's time, which never goes back [s].
    """

    def __init__(self, replay: Replay, title: str = "replay", now_s: Callable[[], float] = time.monotonic) -> None:
        self.replay = replay
        self.title = title
        self._now_s = now_s

    @property
    def ended(self) -> bool:
        """True when the last record has been given."""
        return self.replay.ended

    def poll(self) -> tuple[Record, ...]:
        """What has come since the last call, at the replay's pace."""
        return self.replay.poll(self._now_s())
