"""Small reads of the kernel's file tree, for discovery and settings; none of them raises."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path


def text_of(path: Path) -> str | None:
    """The file's text without blanks around it; None if it cannot be read or is empty."""
    try:
        return path.read_text("utf-8", "replace").strip() or None
    except OSError:
        return None


def number_of(path: Path) -> int | None:
    """The whole number in the file; None if there is none."""
    try:
        return int(path.read_bytes()[:32])
    except (OSError, ValueError):
        return None


def entries(folder: Path, pattern: str) -> Iterator[Path]:
    """Entries whose whole name fits the regular expression, in the order of the numbers in their names."""
    try:
        names = os.listdir(folder)  # noqa: PTH208  # names are all that is needed
    except OSError:
        return
    fits = re.compile(pattern)
    for name in sorted(filter(fits.fullmatch, names), key=_by_number):
        yield folder / name


def shown(root: Path, path: Path | str) -> str:
    """The path as a person knows it: as if ``root`` were ``/``."""
    return "/" + os.path.relpath(path, root)


def slug(text: str) -> str:
    """A name as part of a key: ``Package id 0`` → ``package_id_0``."""
    return re.sub(r"[^a-z0-9]+", "_", text.lower()).strip("_")


def _by_number(name: str) -> list[tuple[int, str]]:
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in re.split(r"(\d+)", name)]
