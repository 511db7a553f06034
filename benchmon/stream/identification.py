"""Finds out what the machine is, beside the recording: it may take seconds, and no sample waits for it."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

from benchmon.loads.child_python import command_line
from benchmon.loads.strays import own_children
from benchmon.model.records import Machine
from benchmon.stream.doorbell import Doorbell

LONGEST_S = 60.0
_LOWEST_PRIORITY = 19
_KNOWN = {field.name for field in fields(Machine)} - {"t_s", "virtual"}


class Identification:
    """A child of lowest priority that prints what the machine is.

    Args:
        root: folder in which ``sys/`` and ``proc/`` lie.
        doorbell: rings when the child has something to say.
        on_machine: gets what the machine is.
        on_failure: gets a sentence if that could not be found out.
    """

    def __init__(
        self, root: Path, doorbell: Doorbell, on_machine: Callable[[Machine], None], on_failure: Callable[[str], None]
    ) -> None:
        self._root = root
        self._doorbell = doorbell
        self._on_machine = on_machine
        self._on_failure = on_failure
        self._child: subprocess.Popen[bytes] | None = None
        self._heard = b""
        self._gives_up_s = 0.0

    def start(self, t_s: float) -> None:
        """Start the child."""
        self._gives_up_s = t_s + LONGEST_S
        try:
            self._child = subprocess.Popen(
                command_line("benchmon.sensors.machine", str(self._root), with_site=True),
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
        except (ValueError, AttributeError, TypeError):
            self._on_failure("the machine could not be identified: no usable answer")
            return
        self._on_machine(machine)
