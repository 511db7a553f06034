"""Finds out what the machine is, beside the recording: it may take seconds, and no sample waits for it."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
from collections.abc import Callable, Mapping
from dataclasses import fields
from pathlib import Path

from benchmon.errors import OutputError
from benchmon.loads.child_python import command_line
from benchmon.loads.strays import own_children
from benchmon.model.box_parts import PARTS, setting_key
from benchmon.model.records import Machine, Setting
from benchmon.stream.doorbell import Doorbell
from benchmon.stream.store import sessions_folder

LONGEST_S = 60.0
_LOWEST_PRIORITY = 19
_KNOWN = {field.name for field in fields(Machine)} - {"t_s", "virtual"}


class Identification:
    """A child of lowest priority that prints what the machine is.

    Args:
        root: folder in which ``sys/`` and ``proc/`` lie.
        doorbell: rings when the child has something to say.
        on_record: gets what the machine is, and each part of its box.
        on_failure: gets a sentence if that could not be found out.
    """

    def __init__(
        self,
        root: Path,
        doorbell: Doorbell,
        on_record: Callable[[Machine | Setting], None],
        on_failure: Callable[[str], None],
    ) -> None:
        self._root = root
        self._doorbell = doorbell
        self._on_record = on_record
        self._on_failure = on_failure
        self._child: subprocess.Popen[bytes] | None = None
        self._heard = b""
        self._gives_up_s = 0.0

    def start(self, t_s: float, box: Mapping[str, str] | None = None) -> None:
        """Start the child.

        Args:
            t_s: session time [s].
            box: parts of the box that a person described; they are kept for this machine.
        """
        self._gives_up_s = t_s + LONGEST_S
        try:
            self._child = subprocess.Popen(
                command_line("benchmon.sensors.machine", str(self._root), *_kept(box or {}), with_site=True),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
        except OSError as error:
            self._on_failure(f"the machine could not be identified: {error.strerror or error}")
            return
        own_children.add(self._child.pid)
        with contextlib.suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, self._child.pid, _LOWEST_PRIORITY)
        if self._child.stdout is not None:
            os.set_blocking(self._child.stdout.fileno(), False)
            self._doorbell.add(self._child.stdout.fileno(), lambda: self._listen(t_s))

    def check(self, t_s: float) -> None:
        """Give up if it takes too long; called now and then."""
        if self._child is not None and t_s > self._gives_up_s:
            self.close()
            self._on_failure(f"the machine could not be identified within {LONGEST_S:g} s")

    def close(self) -> None:
        """End the child if it still runs."""
        child, self._child = self._child, None
        if child is None:
            return
        if child.stdout is not None:
            self._doorbell.remove(child.stdout.fileno())
            child.stdout.close()
        child.kill()
        child.wait()
        own_children.discard(child.pid)

    def _listen(self, t_s: float) -> None:
        if self._child is None or self._child.stdout is None:
            return
        try:
            piece = os.read(self._child.stdout.fileno(), 65_536)
        except BlockingIOError:
            return
        self._heard += piece
        if piece:
            return
        self.close()
        self._take(t_s)

    def _take(self, t_s: float) -> None:
        try:
            found = json.loads(self._heard)
            machine = Machine(t_s, **{key: value for key, value in found.items() if key in _KNOWN})
            parts = [
                Setting(t_s, setting_key(part), text, None, source)
                for part, (text, source) in found["box"].items()
                if part in PARTS
            ]
            problem = found["problem"]
        except (ValueError, AttributeError, TypeError, KeyError):
            self._on_failure("the machine could not be identified: no usable answer")
            return
        self._on_record(machine)
        for part in parts:
            self._on_record(part)
        if problem:
            self._on_failure(problem)


def _kept(box: Mapping[str, str]) -> tuple[str, str]:
    """Where descriptions of boxes are kept, and the one that was entered now."""
    try:
        folder = str(sessions_folder() / "boxes")
    except OutputError:
        folder = ""
    return folder, json.dumps(dict(box))
