"""What the recorder says on standard error, and what of it decides how the recording is said to have ended."""

from __future__ import annotations

import contextlib
import sys
from dataclasses import dataclass
from pathlib import Path

from benchmon.errors import ExitCode
from benchmon.plain_text import one_line
from benchmon.stream.echo import Echo, echo_of


@dataclass(frozen=True, slots=True)
class RecordOutcome:
    """How a recording ended."""

    path: Path
    exit_code: ExitCode
    reason: str
    """What went wrong first, else why it ended."""
    output: Path | None = None
    """Where the command's output is; None if none ran."""


class Trouble:
    """Says what goes wrong; keeps the first trouble, or the disk's, which comes before all others.

    Args:
        quiet: what is no trouble is not mentioned.
    """

    def __init__(self, *, quiet: bool = False) -> None:
        self._quiet = quiet
        self._voice = echo_of(sys.stderr)
        self.exit_code = ExitCode.OK
        self.sentence = ""
        """The trouble that counts; empty if there was none."""

    def happened(self, sentence: str, exit_code: ExitCode) -> None:
        """Something went wrong: say it, and let the outcome tell of it."""
        if self.exit_code is ExitCode.OK or exit_code is ExitCode.OUTPUT:
            self.exit_code, self.sentence = exit_code, sentence
        self.say(sentence)

    def say(self, text: str) -> None:
        """A sentence on standard error, if that is still there; never waits."""
        with contextlib.suppress(OSError):
            self._voice.write(f"benchmon: {one_line(text)}\n")
            self._voice.flush()

    def mention(self, text: str) -> None:
        """Say what is no trouble, unless nothing but trouble is to be said."""
        if not self._quiet:
            self.say(text)

    def finish(self) -> None:
        """Give standard error a moment to take what is left."""
        if isinstance(self._voice, Echo):
            with contextlib.suppress(OSError):
                self._voice.finish()
