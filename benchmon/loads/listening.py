"""The recorder's end of a listener: starts it, hears what it found, sees to its end. Never waits for it."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import time
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from benchmon.loads.child_python import command_line
from benchmon.loads.strays import own_children

_MOST_HEARD = 1 << 20
_LAST_LOOK_S = 1.5
"""So long a last look at the output may take [s]."""
_BEFORE_S = 0.005
"""What was printed last was printed before the phase ended [s]."""


class Heard(NamedTuple):
    """One thing that a command's output said, and how long ago it was printed [s]."""

    what: str
    """``score``, ``phase``, ``version``, ``remark`` or ``too much``."""
    text: str
    value: float | None
    ago_s: float


class Listening:
    """One listener.

    Args:
        output: the file that the command writes to; open for reading too.
        offset: where in it what the command prints begins [bytes].
        patterns: ``scores``, ``phases``, ``version``.

    Raises:
        OSError: if it cannot be started.
    """

    def __init__(self, output: int, offset: int, patterns: Mapping[str, Any]) -> None:
        words = (str(output), str(offset), str(os.getpid()), json.dumps(dict(patterns)))
        self._process = subprocess.Popen(
            command_line("benchmon.loads.listener", *words),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            pass_fds=(output,),
            start_new_session=True,
        )
        own_children.add(self._process.pid)
        self._pipe = self._process.stdout.fileno() if self._process.stdout is not None else -1
        os.set_blocking(self._pipe, False)
        self._rest = b""
        self._over_s: float | None = None
        """When the command was seen to have ended [s]: nothing was printed after that."""
        self.is_over = False
        """Whether all that it found was heard."""

    def hear(self) -> list[Heard]:
        """What it found since the last call."""
        if self.is_over:
            return []
        has_ended = self._process.poll() is not None  # asked first: what it said before is in the pipe
        if self._over_s is not None and not has_ended and time.monotonic() - self._over_s > _LAST_LOOK_S:
            self._process.kill()
        *whole, self._rest = (self._rest + self._read()).split(b"\n")
        if has_ended:
            self._let_go()
        return [one for line in whole for one in self._understood(line)]

    def finish(self) -> None:
        """The command has ended: have it look once more, and end."""
        if self._over_s is None:
            self._over_s = time.monotonic() - _BEFORE_S
            if self._process.stdin is not None:
                with contextlib.suppress(OSError):
                    self._process.stdin.close()

    def wait(self) -> None:
        """Wait for its last look; a second or so."""
        self.finish()
        left_s = _LAST_LOOK_S - (time.monotonic() - (self._over_s or 0.0))
        with contextlib.suppress(subprocess.TimeoutExpired):
            self._process.wait(max(left_s, 0.0))
        if self._process.poll() is None:
            self._process.kill()
            self._process.wait()

    def _read(self) -> bytes:
        with contextlib.suppress(BlockingIOError):
            return os.read(self._pipe, _MOST_HEARD)
        return b""

    def _let_go(self) -> None:
        self.is_over = True
        own_children.discard(self._process.pid)
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                pipe.close()

    def _understood(self, line: bytes) -> Iterator[Heard]:
        with contextlib.suppress(ValueError, KeyError, TypeError):
            found = json.loads(line)
            now_s = time.monotonic() if self._over_s is None else self._over_s
            printed_s = min(found["at_ns"] / 1e9, now_s)
            yield Heard(found["what"], found["text"], found["value"], time.monotonic() - printed_s)
