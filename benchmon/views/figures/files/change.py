"""A change: two runs laid over one another, and each difference with its interval."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from benchmon.views.doors import terminal
from benchmon.views.figures.change_picture import ChangePicture
from benchmon.views.figures.colours import Look
from benchmon.views.figures.files.lettering import (
    MARGIN,
    broken,
    fitting_pt,
    head_and_foot,
    measure,
    size_of,
    width_pt,
    write_lines,
)
from benchmon.views.figures.files.run import draw_strips
from benchmon.views.figures.labels import shortened

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_ANSWER_PT, _PHASE_PT, _DIFFERENCE_PT, _AXIS_PT = 15.0, 13.0, 11.0, 10.0
_LEFT, _RIGHT = 0.66, 0.97


def draw_change(figure: Figure, picture: ChangePicture, look: Look) -> None:
    """The whole picture."""
    below = head_and_foot(figure, picture.run.title, picture.run.machine, picture.footing)
    answer = terminal(picture.answers[0] if picture.answers else "")
    lines = broken(answer, width_pt(figure) * (1 - 2 * MARGIN), _ANSWER_PT, 3)
    below = write_lines(figure, below - 0.01, lines, _ANSWER_PT)
    draw_strips(figure, picture.run, look, right=0.615, top=below - 0.09)
    _draw_differences(figure, picture, look, top=below - 0.03)


def _draw_differences(figure: Figure, picture: ChangePicture, look: Look, top: float) -> None:
    ax = figure.add_axes((_LEFT, 0.15, _RIGHT - _LEFT, top - 0.15))
    paper, _ = size_of(ax, figure)
    centred: Any = {"va": "center", "transform": ax.get_yaxis_transform()}
    place, phase = 0.0, ""
    for difference in picture.differences:
        if difference.phase != phase:
            phase = difference.phase
            name = shortened(terminal(phase), paper, measure(_PHASE_PT, is_bold=True))
            ax.text(0.0, place, name, size=_PHASE_PT, weight="bold", **centred)
            place += 1.0
        size = fitting_pt(terminal(difference.words), paper, _DIFFERENCE_PT, 0.7 * _DIFFERENCE_PT)
        words = shortened(terminal(difference.words), paper, measure(size))
        ax.text(0.0, place, words, size=size, **centred)
        if difference.share is not None:
            low, value, high = (100.0 * share for share in difference.share)
            ax.plot([low, high], [place + 0.5] * 2, color=look.ink, lw=5, alpha=0.45, solid_capstyle="butt")
            ax.plot([value], [place + 0.5], marker="o", ms=6, color=look.ink)
        place += 1.25
    ax.axvline(0.0, color=look.faint, lw=1)
    ax.set_ylim(max(place, 1.0), -0.7)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.tick_params(length=0, labelsize=_AXIS_PT)
    ax.set_xlabel(
        "\n".join(broken("after less before, % of before, with 95 % interval", paper, _AXIS_PT, 2)), size=_AXIS_PT
    )
