"""Package and wall power, phase by phase."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from benchmon.views.doors import terminal
from benchmon.views.figures.colours import Look
from benchmon.views.figures.files.lettering import broken, head_and_foot, measure, width_pt
from benchmon.views.figures.files.run import POINTS
from benchmon.views.figures.labels import shortened
from benchmon.views.figures.power_picture import PowerPicture
from benchmon.views.numbers import plain

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_NAME_PT, _FIGURE_PT, _AXIS_PT = 14.0, 13.0, 13.0
_WIDEST_NAMES = 0.36
"""Names take at most this share of the picture."""
_ROWS_AT_FULL_SIZE = 14


def draw_power(figure: Figure, picture: PowerPicture, look: Look) -> None:
    """The whole picture."""
    below = head_and_foot(figure, picture.title, picture.machine, picture.footing)
    small = min(1.0, _ROWS_AT_FULL_SIZE / len(picture.rows))
    of, whole = measure(_NAME_PT * small), width_pt(figure)
    names = [shortened(terminal(name), _WIDEST_NAMES * whole, of) for name, _, _ in picture.rows]
    left = 0.045 + (max(of(name)[0] for name in names) + 10.0) / whole
    ax = figure.add_axes((left, 0.18, 0.97 - left, below - 0.03 - 0.18))
    centred: Any = {"va": "center", **POINTS}
    said = [_said(package_w, wall_w) for _, package_w, wall_w in picture.rows]
    for row, (_, package_w, wall_w) in enumerate(picture.rows):
        if wall_w is not None:
            ax.barh(row, wall_w, height=0.55, fc="none", ec=look.ink, lw=1.2)
        if package_w is not None:
            ax.barh(row, package_w, height=0.55, color=look.lines["power"], alpha=0.75)
        end = max(package_w or 0.0, wall_w or 0.0)
        ax.annotate(said[row], (end, row), (6, 0), size=_FIGURE_PT * small, **centred)
        ax.annotate(names[row], (0.0, row), (-8, 0), ha="right", size=_NAME_PT * small, **centred)
    ax.set_xlim(0, _reach_w(picture, said, (0.97 - left) * whole, _FIGURE_PT * small))
    ax.set_ylim(len(picture.rows) - 0.4, -0.6)
    ax.set_yticks([])
    walls = " (in outline: at the wall, as read)" if any(wall_w is not None for _, _, wall_w in picture.rows) else ""
    words = broken(f"Package power, W, mean of the phase{walls}", (0.97 - left) * whole, _AXIS_PT, 2)
    ax.set_xlabel("\n".join(words), size=_AXIS_PT)
    ax.tick_params(length=0, labelsize=12)


def _said(package_w: float | None, wall_w: float | None) -> str:
    parts = [
        "" if package_w is None else f"{plain(package_w, 1)} W",
        "" if wall_w is None else f"wall {plain(wall_w, 1)} W",
    ]
    return ", ".join(part for part in parts if part)


def _reach_w(picture: PowerPicture, said: list[str], paper_pt: float, size_pt: float) -> float:
    """How many watts the axis must reach, so that the figures behind the bars stay on the paper."""
    of = measure(size_pt)
    ends = [max(package_w or 0.0, wall_w or 0.0) for _, package_w, wall_w in picture.rows]
    rooms = [max(paper_pt - of(words)[0] - 10.0, 0.3 * paper_pt) for words in said]
    return max([end * paper_pt / room for end, room in zip(ends, rooms, strict=True)] + [1.0])
