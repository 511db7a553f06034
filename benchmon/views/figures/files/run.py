"""The run: one strip for each quantity over a common time."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from benchmon.views.doors import terminal
from benchmon.views.figures.colours import CAUSE_HATCHES, CAUSE_LINES, Look
from benchmon.views.figures.files.lettering import fitting_pt, head_and_foot, measure, size_of
from benchmon.views.figures.labels import names_along
from benchmon.views.figures.run_picture import RunPicture, Strip, strip_words, zigzag
from benchmon.views.figures.strip_labels import Label, Layout, scale_of, strip_labels
from benchmon.views.figures.ticks import tick_words, time_ticks
from benchmon.views.numbers import duration

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_TICK_PT, _STRIP_PT = 11.0, 13.0
_SIZES_PT = MappingProxyType({"level": 11.0, "point": 10.0})
_STRETCH_PT, _LEAST_STRETCH_PT = 15.0, 10.5
_GAP_PT = 5.0
_PHASES_ABOVE_PT = 24.0
_SMALLER_PT = (14.0, 12.0, 10.0)
"""Sizes of the phases' names: the largest at which none must be cut, else the last."""
_HEAD = 0.1
"""Room for the names of phases and of the first strip, as a share of the picture."""
POINTS: Mapping[str, Any] = MappingProxyType({"textcoords": "offset points"})


def draw_run(figure: Figure, picture: RunPicture, look: Look) -> None:
    """The whole picture."""
    below = head_and_foot(figure, picture.title, picture.machine, picture.footing)
    draw_strips(figure, picture, look, right=1 - 0.35 / float(figure.get_figwidth()), top=below - _HEAD)


def draw_strips(figure: Figure, picture: RunPicture, look: Look, *, right: float, top: float) -> None:
    """The strips, up to ``right`` and ``top`` as shares of the picture."""
    axes = figure.subplots(len(picture.strips), 1, sharex=True, squeeze=False)[:, 0]
    left = 0.04 + 0.42 / float(figure.get_figwidth())
    figure.subplots_adjust(left=left, right=right, top=top, bottom=0.11, hspace=0.4)
    first, last = axes[0], axes[-1]
    for ax, strip in zip(axes, picture.strips, strict=True):
        _draw_strip(ax, size_of(ax, figure), strip, picture, look)
        _write(ax, size_of(ax, figure), strip, picture, with_stretches=ax is first)
    if not picture.is_bare:
        _name_phases(first, size_of(first, figure), picture)
        for t_s, _ in picture.entries:
            last.plot([t_s], [0.0], marker=2, color=look.ink, transform=last.get_xaxis_transform(), clip_on=False)
    marks = time_ticks(picture.until_s)
    last.set_xticks(marks, [duration(t_s) for t_s in marks])
    last.set_xlim(0, picture.until_s)
    last.tick_params(axis="x", pad=7)


def _name_phases(ax: Axes, paper: tuple[float, float], picture: RunPicture) -> None:
    width, height = paper
    per_s = width / picture.until_s
    spans = [(start_s * per_s, end_s * per_s, terminal(name)) for start_s, end_s, name in picture.phases]
    for size in _SMALLER_PT:
        names = names_along(spans, measure(size), 3.0)
        if [words for _, words in names] == [name for _, _, name in spans]:
            break
    for at, words in names:
        ax.text(at / width, 1 + _PHASES_ABOVE_PT / height, words, transform=ax.transAxes, size=size)


def _draw_strip(ax: Axes, paper: tuple[float, float], strip: Strip, picture: RunPicture, look: Look) -> None:
    if not picture.is_bare:
        _draw_readings(ax, strip, picture, look)
    for value, _ in strip.levels:
        ax.axhline(value, color=look.ink, lw=0.9, ls=(0, (5, 4)), zorder=2)
    ticks = scale_of(strip, 1.0).ticks
    ax.set_yticks(ticks, tick_words(ticks))
    ax.set_ylim(ticks[0], ticks[-1])
    ax.grid(axis="y", color=look.faint, lw=0.4)
    ax.tick_params(length=0, labelsize=_TICK_PT)
    words = strip_words(strip, is_first=strip is picture.strips[0])
    size = fitting_pt(words, paper[0], _STRIP_PT, 0.7 * _STRIP_PT, is_bold=True)
    ax.set_title(words, loc="left", size=size, weight="bold", pad=5)


def _draw_readings(ax: Axes, strip: Strip, picture: RunPicture, look: Look) -> None:
    colour = look.lines[strip.colour]
    for piece in strip.earlier:
        points = [*zigzag(piece)]
        ax.plot([t for t, _ in points], [v for _, v in points], color=colour, lw=1.3, ls=(0, (4, 2)), alpha=0.75)
    for piece in strip.pieces:
        points = [*zigzag(piece)]
        ax.plot([t for t, _ in points], [v for _, v in points], color=colour, lw=1.6, solid_joinstyle="round", zorder=3)
    for start_s, _, _ in picture.phases:
        ax.axvline(start_s, color=look.faint, lw=0.8, zorder=1)
    for stretch in picture.stretches:
        shade = look.lines[CAUSE_LINES[stretch.cause]]
        across: Any = (stretch.start_s, stretch.end_s)
        ax.axvspan(*across, color=shade, alpha=0.12, lw=0, zorder=0)
        ax.axvspan(*across, fill=False, hatch=CAUSE_HATCHES[stretch.cause], ec=shade, alpha=0.35, lw=0, zorder=0)
    for t_s, value, _ in strip.points:
        ax.plot([t_s], [value], marker="o", ms=7, mfc="none", mec=colour, mew=1.6, zorder=4)


def _write(ax: Axes, paper: tuple[float, float], strip: Strip, picture: RunPicture, *, with_stretches: bool) -> None:
    width, height = paper
    rooms = [(s.words, width * (s.end_s - s.start_s) / picture.until_s - 2 * _GAP_PT) for s in picture.stretches]
    fitting = [fitting_pt(words, room, _STRETCH_PT, _LEAST_STRETCH_PT) for words, room in rooms]
    sizes = {**_SIZES_PT, "stretch": min(fitting, default=_STRETCH_PT)}
    measures = {kind: measure(size) for kind, size in sizes.items()}
    layout = Layout(width, height, measures["level"], measures["stretch"], measures["point"], _GAP_PT)
    for label in strip_labels(strip, picture, layout, with_stretches=with_stretches):
        if label.kind == "level" or not picture.is_bare:
            write_label(ax, label, paper, sizes[label.kind])


def write_label(ax: Axes, label: Label, paper: tuple[float, float], size_pt: float, **more: Any) -> None:
    """Words into the box that was found for them on a plot's paper of a size [points]."""
    at = (label.box.left / paper[0], (label.box.low + 0.24 * size_pt) / paper[1])
    ax.text(*at, terminal(label.words), transform=ax.transAxes, size=size_pt, zorder=6, **more)
