"""Starts a recorder as a process of its own, which outlives the screen and the line it was started from."""

from __future__ import annotations

import json
import os
import select
import subprocess
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from benchmon.errors import BenchmonError, MachineError
from benchmon.loads.child_python import command_line
from benchmon.stream.signals import ANNOUNCE_VARIABLE

_LONGEST_START_S = 20.0
_LONGEST_END_S = 3.0


@dataclass(frozen=True, slots=True)
class LiveRecorder:
    """A recorder that runs."""

    process: subprocess.Popen[bytes]
    path: Path
    """The session file; its header is written."""
    session_id: str
    errors: IO[bytes]
    """What the recorder says on standard error."""

    def complaint(self) -> str:
        """What the recorder has complained about so far; empty if nothing."""
        self.errors.seek(0)
        return self.errors.read().decode("utf-8", "replace").strip()


def start_recorder(arguments: Sequence[str]) -> LiveRecorder:
    """Start ``benchmon record`` in a session of its own, and wait until its file has a header.

    Args:
        arguments: as for ``benchmon record``.

    Raises:
        BenchmonError: what the recorder complained of, with its hint and exit code.
    """
    heard, told = os.pipe2(os.O_CLOEXEC)
    # A file, not a pipe: the recorder must be able to complain when nobody is left to listen.
    errors = tempfile.TemporaryFile()  # noqa: SIM115  # lives as long as the recorder
    try:
        process = subprocess.Popen(
            command_line("benchmon.cli.main", "record", "--quiet", *arguments, with_site=True),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=errors,
            pass_fds=(told,),
            env={**os.environ, ANNOUNCE_VARIABLE: str(told)},
            start_new_session=True,
        )
    except OSError as error:
        raise MachineError(f"the recorder cannot be started: {error.strerror or error}") from error
    finally:
        os.close(told)
    try:
        line = _first_line(heard)
    finally:
        os.close(heard)
    if line:
        where = json.loads(line)
        return LiveRecorder(process, Path(where["path"]), where["session_id"], errors)
    try:
        status = process.wait(_LONGEST_END_S)
    except subprocess.TimeoutExpired:
        process.kill()
        status = process.wait()
    errors.seek(0)
    raise _error_from(errors.read().decode("utf-8", "replace"), status)


def _first_line(descriptor: int) -> bytes:
    """What comes until the first line end; empty if the other side closes first, or takes too long."""
    heard = b""
    gives_up_s = time.monotonic() + _LONGEST_START_S
    while not heard.endswith(b"\n"):
        ready, _, _ = select.select((descriptor,), (), (), max(gives_up_s - time.monotonic(), 0.0))
        piece = os.read(descriptor, 4096) if ready else b""
        if not piece:
            return b""
        heard += piece
    return heard


def _error_from(text: str, status: int) -> BenchmonError:
    """The recorder's own error again: ``benchmon: MESSAGE`` and an indented hint."""
    message, _, hint = text.strip().partition("\n")
    message = message.removeprefix("benchmon: ") or "the recorder ended before it began"
    kinds = {int(kind.exit_code): kind for kind in BenchmonError.__subclasses__()}
    return kinds.get(status, BenchmonError)(message, hint.strip())
