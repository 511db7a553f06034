"""Words on a picture that becomes a file: how wide they are, where they break, and the title and foot of all pictures.

Lengths are in points, of which a picture is ``HEIGHT_IN`` · 72 high, whatever its size in pixels.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

from benchmon.views.doors import terminal
from benchmon.views.figures.labels import Measure, shortened

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

HEIGHT_IN = 7.2
"""Height of every picture [inch]; sizes differ in dots per inch, so that letters keep their share of it."""
MARGIN = 0.045
"""Left and right edge of title and foot, as a share of the width."""
LINE = 1.3
"""From one line to the next, in heights of the letters."""
_TITLE_PT, _FOOT_PT = 19.0, 10.0
_TOGETHER = re.compile(r"(?<=[\d±]) (?=[±\d°%A-Z])|(?<=\d) (?=±)")
"""No line breaks between a number, its uncertainty and its unit."""


@cache
def _renderer() -> Any:
    from matplotlib.backends.backend_agg import RendererAgg  # noqa: PLC0415

    return RendererAgg(8, 8, 72.0)  # type: ignore[no-untyped-call]


@cache
def _font(size_pt: float, is_bold: bool) -> Any:
    from matplotlib.font_manager import FontProperties  # noqa: PLC0415

    return FontProperties(family="serif", size=size_pt, weight="bold" if is_bold else "normal")


def measure(size_pt: float, *, is_bold: bool = False) -> Measure:
    """What tells how wide and high words of a size are [points]."""
    return lambda words: (_width(words, size_pt, is_bold), size_pt * 1.15)


@lru_cache(maxsize=2000)
def _width(words: str, size_pt: float, is_bold: bool) -> float:
    width, _, _ = _renderer().get_text_width_height_descent(words, _font(size_pt, is_bold), ismath=False)
    return float(width)


def broken(words: str, width_pt: float, size_pt: float, lines: int, *, is_bold: bool = False) -> list[str]:
    """The words on at most so many lines; the last is cut with an ellipsis if they are longer."""
    of = measure(size_pt, is_bold=is_bold)
    made: list[str] = []
    rest = _TOGETHER.sub("\N{NO-BREAK SPACE}", words).split(" ")
    while rest and len(made) < lines - 1:
        count = 1
        while count < len(rest) and of(" ".join(rest[: count + 1]))[0] <= width_pt:
            count += 1
        made.append(" ".join(rest[:count]))
        rest = rest[count:]
    made.append(" ".join(rest))
    return [shortened(line, width_pt, of).replace("\N{NO-BREAK SPACE}", " ") for line in made if line]


def fitting_pt(words: str, width_pt: float, largest_pt: float, least_pt: float, *, is_bold: bool = False) -> float:
    """A size of letters with which the words go into a width, between the two given."""
    wide = measure(largest_pt, is_bold=is_bold)(words)[0]
    # Letters of another size are not quite in proportion.
    return min(largest_pt, max(least_pt, 0.96 * largest_pt * width_pt / max(wide, 1e-9)))


def width_pt(figure: Figure) -> float:
    """Width of a whole picture."""
    return float(figure.get_figwidth()) * 72.0


def size_of(ax: Axes, figure: Figure) -> tuple[float, float]:
    """Width and height of a plot's paper."""
    box = ax.get_position()
    return box.width * width_pt(figure), box.height * HEIGHT_IN * 72.0


def head_and_foot(figure: Figure, title: str, machine: str, foot: Sequence[str]) -> float:
    """Title above, what a reader needs to judge the picture below; give the height at which the title ends [share]."""
    room = width_pt(figure) * (1 - 2 * MARGIN)
    words = terminal(" · ".join(part for part in (machine, title) if part))
    size = fitting_pt(words, room, _TITLE_PT, 0.8 * _TITLE_PT)
    below = write_lines(figure, 0.985, broken(words, room, size, 2), size)
    said = terminal(" · ".join(foot))
    size = fitting_pt(said, 1.9 * room, _FOOT_PT, 0.8 * _FOOT_PT)
    lines = [line.strip("· ") for line in broken(said, room, size, 3)]
    figure.text(MARGIN, 0.012, "\n".join(lines), size=size, va="bottom", linespacing=1.15)
    return below


def write_lines(figure: Figure, top: float, lines: Sequence[str], size_pt: float) -> float:
    """Lines across the picture from ``top`` on; give the height at which they end [share]."""
    for number, line in enumerate(lines):
        y = top - number * LINE * size_pt / (72.0 * HEIGHT_IN)
        figure.text(MARGIN, y, line, size=size_pt, va="top")
    return top - len(lines) * LINE * size_pt / (72.0 * HEIGHT_IN)
