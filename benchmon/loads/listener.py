"""Reads what a command prints, beside recorder and load: a small process of its own, which may be slow or stuck.

The command writes to its file and waits for nobody; the listener reads that file and tells the recorder, a JSON line
each, what fits the patterns. However much is printed, it takes a tenth of a core at most: what it cannot keep up with
it passes over, and says so. It ends when the recorder closes its standard input, after a last look, or dies.
"""

from __future__ import annotations

import json
import os
import select
import signal
import sys
import time
from collections.abc import Callable, Sequence

from benchmon.loads.output_lines import MOST_LINE, TOO_MUCH, OutputLines, Said
from benchmon.loads.tether import die_with_parent

LOOK_EVERY_S = 0.1
SELDOM_S = 1.0
"""Where nothing is looked for but how much is printed [s]."""
_SHARE = 0.1
"""Of a core, at most."""
_PIECE = 65_536
_MOST_BEHIND = 1 << 20
"""What is further behind than so many bytes is passed over."""
_MOST_LAST_LOOK_S = 0.5
"""Processor time of the last look [s]."""
MOST_PRINTED = 1 << 30
"""A command that prints more than this is taken for one that has gone wrong [bytes]."""
HELD_BACK = "phases of the command were printed late: it holds its output back; try it with stdbuf -oL before its name"
_AFTER_NS = 2_000_000
_RECORDER_IN, _RECORDER_OUT = 0, 1


def main(arguments: Sequence[str]) -> None:
    """``FD OFFSET PARENT PATTERNS``: read the file from there on, until told to end."""
    descriptor, offset, parent_pid = (int(word) for word in arguments[:3])
    die_with_parent(parent_pid)
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGTSTP):
        signal.signal(number, signal.SIG_IGN)
    os.nice(5)
    patterns = json.loads(arguments[3])
    lines = OutputLines(patterns["scores"], patterns["phases"], patterns["version"])
    listener = Listener(descriptor, offset, lines, _tell)
    every_s = LOOK_EVERY_S if any(patterns.values()) else SELDOM_S
    while not select.select((_RECORDER_IN,), (), (), every_s)[0]:
        listener.look(_SHARE * LOOK_EVERY_S)
    listener.look(_MOST_LAST_LOOK_S, is_last=True)


class Listener:
    """Follows one file.

    Args:
        descriptor: the file, open for reading.
        offset: where what is to be read begins [bytes].
        lines: what the lines say.
        tell: hears what was found, with the time at which it was surely printed (``time.monotonic_ns``).
    """

    def __init__(self, descriptor: int, offset: int, lines: OutputLines, tell: Callable[[Said, int], None]) -> None:
        self._descriptor = descriptor
        self._begun_at = self._offset = offset
        self._lines = lines
        self._tell = tell
        self._rest = b""
        self._passed_over = False
        self._is_too_much = False
        self._held_back = False

    def look(self, longest_s: float, *, is_last: bool = False) -> None:
        """Read what has come, for so long at most [s of processor time].

        Args:
            longest_s: the rest stays for the next look.
            is_last: nothing more will come: an unfinished line counts too.
        """
        at_ns = time.monotonic_ns()
        gives_up_s = time.process_time() + longest_s
        size = os.fstat(self._descriptor).st_size
        if size - self._begun_at > MOST_PRINTED and not self._is_too_much:
            self._is_too_much = True
            self._tell(Said(TOO_MUCH, f"it printed more than {MOST_PRINTED >> 30} GiB"), at_ns)
        self._catch_up(size, at_ns)
        said: list[Said] = []
        while self._offset < size and time.process_time() < gives_up_s:
            piece = os.pread(self._descriptor, min(_PIECE, size - self._offset), self._offset)
            if not piece:
                break
            self._offset += len(piece)
            said += self._said(piece)
        if is_last and self._rest:
            said += self._said(b"\n")
        self._tell_in_order(said, at_ns, is_last=is_last)

    def _tell_in_order(self, said: Sequence[Said], at_ns: int, *, is_last: bool) -> None:
        """A phase begins after what was said before it; of several that were printed at one moment the last counts."""
        phases = [one for one in said if one.what == "phase"]
        is_held_back = len(phases) > (0 if is_last else 1)
        for one in said:
            if one.what == "phase":
                if is_last or one is not phases[-1]:
                    continue
                at_ns += _AFTER_NS
            self._tell(one, at_ns)
        if is_held_back and not self._held_back:
            self._held_back = True
            self._tell(Said("remark", HELD_BACK), at_ns)

    def _catch_up(self, size: int, at_ns: int) -> None:
        if size - self._offset <= _MOST_BEHIND:
            return
        self._offset, self._rest = size - _MOST_BEHIND // 2, b""
        if not self._passed_over:
            self._passed_over = True
            self._tell(
                Said("remark", "the command printed too much to be read whole; part of it was passed over"), at_ns
            )

    def _said(self, piece: bytes) -> list[Said]:
        *whole, rest = (self._rest + piece).replace(b"\r", b"\n").split(b"\n")
        self._rest = rest[:MOST_LINE]
        return [said for line in whole if line.strip() for said in self._lines.look(line)]


def _tell(said: Said, at_ns: int) -> None:
    try:
        os.write(_RECORDER_OUT, json.dumps({**said._asdict(), "at_ns": at_ns}).encode() + b"\n")
    except OSError:
        sys.exit(0)  # nobody listens any more
