"""A virtual machine as files in the kernel's layout, so that the real sensors read it."""

from __future__ import annotations

import os
from pathlib import Path

from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.tree_files import Files, fixed_files, moving_files


class SysTree:
    """``sys/`` and ``proc/`` of a virtual machine below a folder.

    A reader that keeps a file open and reads from its start sees every change: each file keeps its inode and is
    rewritten by one call, padded with newlines where it became shorter.

    Args:
        folder: existing folder to write into.
        box: the machine.
    """

    def __init__(self, folder: Path, box: VirtualBox) -> None:
        self._folder, self._box = folder, box
        self._written: Files = {}
        self._open: dict[str, int] = {}

    def write(self) -> None:
        """Bring the files up to the machine's present; only those that changed are touched."""
        if not self._written:
            for path, text in fixed_files(self._box).items():
                target = self._folder / path
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_text(text)
        for path, text in moving_files(self._box).items():
            if self._written.get(path) != text:
                self._rewrite(path, text)
                self._written[path] = text

    def close(self) -> None:
        """Close the files; the tree stays."""
        for handle in self._open.values():
            os.close(handle)
        self._open.clear()
        self._written.clear()

    def _rewrite(self, path: str, text: str) -> None:
        handle = self._open.get(path)
        if handle is None:
            target = self._folder / path
            target.parent.mkdir(parents=True, exist_ok=True)
            handle = self._open[path] = os.open(target, os.O_RDWR | os.O_CREAT, 0o644)
        size = os.fstat(handle).st_size
        os.pwrite(handle, text.encode().ljust(size, b"\n"), 0)
