"""Small reads of the kernel's file tree, for discovery and settings; none of them raises."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

SAYS_NOTHING = re.compile(
    r"to be filled by o\.?e\.?m\.?|default string|system (product name|manufacturer)"
    r"|not (applicable|specified|available)"
    r"|n/?a|none|unknown|o\.?e\.?m\.?|base board product name|x{3,}|0+",
    re.IGNORECASE,
)
"""What firmware says when nobody filled in the form (common practice, no source)."""


def text_of(path: Path) -> str | None:
    """The file's text without blanks around it; None if it cannot be read or is empty."""
    found = bytes_of(path)
    return None if found is None else found.decode("utf-8", "replace").strip() or None


def number_of(path: Path) -> int | None:
    """The whole number in the file; None if there is none."""
    digits = (bytes_of(path, 32) or b"").strip()
    return int(digits) if digits.removeprefix(b"-").isdigit() else None


def bytes_of(path: Path, most: int = 1 << 20) -> bytes | None:
    """What the file holds, so many bytes at most; None if it cannot be read.

    A pipe that nobody writes to does not hold it up.
    """
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK | os.O_NOCTTY)
        try:
            found = b""
            while len(found) < most and (piece := os.read(descriptor, most - len(found))):
                found += piece
            return found
        finally:
            os.close(descriptor)
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
