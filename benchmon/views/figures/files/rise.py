"""Rise over power: points, the cooler's line with its band, the limits, the sustained power."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchmon.views.figures.colours import Look
from benchmon.views.figures.files.lettering import fitting_pt, head_and_foot, measure, size_of
from benchmon.views.figures.files.run import write_label
from benchmon.views.figures.rise_labels import RiseLayout, rise_labels, rise_ticks
from benchmon.views.figures.rise_picture import RisePicture
from benchmon.views.figures.ticks import tick_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIZES_PT = {"point": 14.0, "limit": 13.0, "line": 17.0}
_CAPACITY_PT, _CAPACITY_SHARE = 27.0, 0.45
"""Large, for a thumbnail, but no wider than this share of the paper."""
_BOLD = {"line", "capacity"}
_AXIS_PT = 14.0
_HEAD = 0.065
"""Room for the words of the vertical axis, as a share of the picture."""
_GAP_PT = 7.0


def draw_rise(figure: Figure, picture: RisePicture, look: Look) -> None:
    """The whole picture."""
    below = head_and_foot(figure, picture.title, picture.machine, picture.footing)
    inch = 1 / float(figure.get_figwidth())
    left, right = 0.04 + 0.42 * inch, 1 - 0.35 * inch
    ax = figure.add_axes((left, 0.16, right - left, below - _HEAD - 0.16))
    _draw(ax, picture, look)
    across, up = rise_ticks(picture)
    ax.set_xticks(across, tick_words(across))
    ax.set_yticks(up, tick_words(up))
    ax.set_xlim(across[0], across[-1])
    ax.set_ylim(up[0], up[-1])
    ax.set_xlabel("Package power, W", size=_AXIS_PT)
    what = "  (filled: settled, or steady at a limit; band: 95 %)" if picture.powers_w else ""
    title = f"Rise over the room, K{what}"
    ax.set_title(title, loc="left", size=_AXIS_PT, pad=8)
    ax.grid(axis="y", color=look.faint, lw=0.4)
    ax.tick_params(length=0, labelsize=12)
    _write(ax, size_of(ax, figure), picture)


def _draw(ax: Axes, picture: RisePicture, look: Look) -> None:
    colour = look.lines["temp"]
    if picture.powers_w:
        ax.fill_between(picture.powers_w, picture.lows_k, picture.highs_k, color=colour, alpha=0.18, lw=0)
        ax.plot(picture.powers_w, picture.rises_k, color=colour, lw=2)
    for rise_k, _ in picture.limits:
        ax.axhline(rise_k, color=look.ink, lw=1, ls=(0, (5, 4)))
    watts = picture.capacity
    if watts.value is not None and picture.limits:
        rise_k = picture.limits[0][0]
        ax.plot([watts.value, watts.value], [0.0, rise_k], color=look.faint, lw=1)
        if watts.low is not None and watts.high is not None:
            ax.plot([watts.low, watts.high], [rise_k, rise_k], color=look.ink, lw=7, alpha=0.45, solid_capstyle="butt")
        ax.plot([watts.value], [rise_k], marker="o", ms=11, color=look.ink, zorder=4)
    for point in picture.points:
        inside = colour if point.has_settled else look.ground
        ax.plot([point.power_w], [point.rise_k], marker="o", ms=10, mec=colour, mew=2, mfc=inside, zorder=3)


def _write(ax: Axes, paper: tuple[float, float], picture: RisePicture) -> None:
    width, height = paper
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    capacity_pt = fitting_pt(picture.capacity_words, _CAPACITY_SHARE * width, _CAPACITY_PT, 14.0)
    sizes = {**_SIZES_PT, "capacity": capacity_pt}
    layout = RiseLayout(
        width,
        height,
        lambda power_w: width * (power_w - left) / (right - left),
        lambda rise_k: height * (rise_k - low) / (high - low),
        {kind: measure(size, is_bold=kind in _BOLD) for kind, size in sizes.items()},
        _GAP_PT,
    )
    for label, pointer in rise_labels(picture, layout):
        weight = "bold" if label.kind in _BOLD else "normal"
        write_label(ax, label, paper, sizes[label.kind], weight=weight)
        if pointer is not None:
            (x, y), (to_x, to_y) = pointer
            ax.plot([x / width, to_x / width], [y / height, to_y / height], transform=ax.transAxes, lw=0.7, color="0.5")
