"""How the lines of a terminal are shared out between words, strips, sheet and keys."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.views.tui.view import Mode

LEAST_WIDTH, LEAST_HEIGHT = 60, 16
"""Below this there is a sentence instead of a screen."""
_ROOMY = 30
"""From this height on there are empty lines between the parts."""
_WIDE = 100
_WIDEST, _WIDE_LEFT = 120, 22
_LEAST_STRIP = 3
_MOST_STRIP = 12
_FOOT = 3
_APART_FROM = 6
_ROOM_FOR_WORDS = 100


@dataclass(frozen=True, slots=True)
class Layout:
    """Lines of each part, from the top; they add up to the height of the terminal."""

    words: int
    """Lines of words below the heading."""
    gap: int
    """Lines above the strips and above the sheet: a rule with a name."""
    apart: int
    """Empty lines of paper between strips."""
    strips: tuple[int, ...]
    """Lines of each strip; empty if no traces are shown."""
    foot: int
    sheet: int
    """Lines of the sheet, heading included; 0 if it is not shown."""
    rest: int
    """Empty lines above the keys."""
    left: int
    """Columns of the strips' left margin."""
    right: int
    """Columns of the strips' right margin, edge included."""


def is_too_small(width: int, height: int) -> bool:
    """Whether there is only room for a sentence."""
    return width < LEAST_WIDTH or height < LEAST_HEIGHT


def lay_out(
    width: int, height: int, strip_count: int, phase_count: int, mode: Mode, *, concluded: bool = False
) -> Layout:
    """Share out the lines of a terminal that is not too small; a conclusion takes more words than what happens."""
    gap = 1 if height >= _ROOMY else 0
    wide = width >= _WIDE
    left, right = (_WIDE_LEFT if width >= _WIDEST else 17, 19) if wide else (13, 17)
    words = (5 if concluded else 2) if width >= _ROOM_FOR_WORDS else (6 if concluded else 3)
    room = height - 3 - words
    if mode is Mode.SHEET or strip_count == 0:
        return Layout(words, gap, 0, (), 0, room - gap, 0, left, right)
    wanted_sheet = 0 if mode is Mode.TRACES else 1 + min(max(phase_count, 3), 4 if not gap else max(room // 4, 4))
    available = room - _FOOT - gap - (gap if wanted_sheet else 0)
    sheet = min(wanted_sheet, available - strip_count * _LEAST_STRIP)
    if sheet < 2:
        sheet = 0
    apart = 1 if (available - sheet) / strip_count >= _APART_FROM else 0
    between = apart * (strip_count - 1)
    each = min((available - sheet - between) / strip_count, _MOST_STRIP)
    total = int(each * strip_count)
    strips = tuple(total // strip_count + (1 if place < total % strip_count else 0) for place in range(strip_count))
    strips = tuple(rows for rows in strips if rows > 0)
    used = sum(strips) + between + _FOOT + gap + (sheet + gap if sheet else 0)
    if sheet and used < room:
        sheet, used = sheet + room - used, room
    return Layout(words, gap, apart, strips, _FOOT, sheet, room - used, left, right)
