"""What the terminal can show: which pen, which letters, which colours. Pure; the app turns style names into styles."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from benchmon.views.numbers import plain_ascii
from benchmon.views.traces import BLOCKS, LINE, PLAIN, Pen
from benchmon.views.tui.palette import DARK, Palette, palette_for

Run = tuple[str, str]
"""Name of a style, and text."""
Row = tuple[Run, ...]
"""One line of the screen, as runs of one style each."""


@dataclass(frozen=True, slots=True)
class Look:
    """How to draw on this terminal."""

    pen: Pen = LINE
    ascii_only: bool = False
    palette: Palette = field(default_factory=lambda: DARK, hash=False)

    def text(self, text: str) -> str:
        """The text as this terminal can show it, without anything that could move its cursor."""
        if not text.isprintable():
            text = "".join(letter if letter.isprintable() else " " for letter in text)
        return plain_ascii(text) if self.ascii_only and not text.isascii() else text

    def sign(self, fancy: str, plain: str) -> str:
        """A drawing character, or its plain stand-in."""
        return plain if self.ascii_only else fancy


def look_for(environment: Mapping[str, str], encoding: str) -> Look:
    """Choose by environment: TERM, NO_COLOR, and what the encoding can show.

    The console of the kernel has no lines at several heights in its usual fonts: it gets blocks.
    """
    palette = palette_for(environment)
    try:
        "▔▀°±→".encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return Look(PLAIN, ascii_only=True, palette=palette)
    return Look(BLOCKS if environment.get("TERM") == "linux" else LINE, palette=palette)


@lru_cache(maxsize=512)
def width_of(text: str) -> int:
    """Columns a text takes on a terminal."""
    if text.isascii():
        return len(text)
    return sum(_letter_width(letter) for letter in text)


def _letter_width(letter: str) -> int:
    if letter < "\u0300":
        return 1
    if unicodedata.combining(letter) or unicodedata.category(letter) in {"Mn", "Me", "Cf"}:
        return 0
    return 2 if unicodedata.east_asian_width(letter) in {"W", "F"} else 1


def cut(text: str, width: int, more: str = "…") -> str:
    """As much of a text as fits, ending with ``more`` (one column, or empty) where something was cut off."""
    if width_of(text) <= width:
        return text
    kept, used = "", 0
    for letter in text:
        used += _letter_width(letter)
        if used > width - len(more):
            break
        kept += letter
    return (kept + more) if width > 0 else ""


def fit(runs: Iterable[Run], width: int, look: Look) -> Row:
    """A line of exactly ``width`` columns: cut or filled with blanks."""
    fitted: list[Run] = []
    left = width
    for style, text in runs:
        shown = cut(look.text(text), left, look.sign("…", "."))
        if shown:
            fitted.append((style, shown))
            left -= width_of(shown)
    if left > 0:
        fitted.append(("plain", " " * left))
    return tuple(fitted)


def spread(left: list[Run], right: list[Run], width: int, look: Look) -> Row:
    """A line with one part at its left end and one at its right end; the right one wins where both do not fit."""
    tail = [(style, look.text(text)) for style, text in right]
    room = width - sum(width_of(text) for _, text in tail)
    return fit((*fit(left, max(room - 1, 0), look), ("plain", " "), *tail), width, look)


def row_text(row: Row) -> str:
    """The line without its styles."""
    return "".join(text for _, text in row)
