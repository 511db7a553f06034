"""Pictures as files, drawn by matplotlib: the run, rise over power, power by phase, the summary card."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from benchmon.errors import UsageError
from benchmon.views.doors import terminal
from benchmon.views.figures.card import Card
from benchmon.views.figures.change_picture import ChangePicture
from benchmon.views.figures.colours import CAUSE_HATCHES, CAUSE_LINES, DARK, LIGHT, Look
from benchmon.views.figures.power_picture import PowerPicture
from benchmon.views.figures.rise_picture import RisePicture
from benchmon.views.figures.run_picture import RunPicture, Strip
from benchmon.views.figures.run_svg import strip_words, zigzag
from benchmon.views.figures.ticks import round_ticks, time_ticks
from benchmon.views.new_files import write_new
from benchmon.views.numbers import duration, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Picture = RunPicture | RisePicture | PowerPicture | Card | ChangePicture
SIZES: Mapping[str, tuple[int, int]] = MappingProxyType(
    {"1920x1080": (1920, 1080), "3840x2160": (3840, 2160), "1080x1080": (1080, 1080)}
)
"""Sizes offered, in pixels; twice the size has the same picture, drawn finer."""
_HEIGHT_IN = 7.2
"""Height of every picture [inch]; sizes differ in dots per inch, so that letters keep their share of it."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a file is made."""

    size: str = "1920x1080"
    is_dark: bool = False
    is_transparent: bool = False

    @property
    def look(self) -> Look:
        """Its colours."""
        return DARK if self.is_dark else LIGHT


def save(picture: Picture, path: Path, style: Style) -> None:
    """Draw a picture into a new file, whose ending says which kind: .png or .svg.

    Raises:
        UsageError: if matplotlib is not there.
        OutputError: if the file exists or cannot be written.
    """
    drawn = BytesIO()
    write(picture, drawn, path.suffix[1:], style)
    write_new(path, drawn.getvalue())


def write(picture: Picture, into: BytesIO, kind: str, style: Style) -> tuple[float, float]:
    """Draw a picture as ``png`` or ``svg``; give where its first paper begins and ends across [pixels].

    Raises:
        UsageError: if matplotlib is not there.
    """
    try:
        from matplotlib import rc_context  # noqa: PLC0415  # an extra, and slow to load
        from matplotlib.figure import Figure  # noqa: PLC0415
    except ImportError:
        raise UsageError(
            "pictures as files need matplotlib, which is not installed",
            "Install it with: pip install 'benchmon[figures]'; or draw here with: benchmon figure --terminal",
        ) from None
    width, height = SIZES[style.size]
    settings: Any = _settings(style.look)
    with rc_context(settings):
        figure = Figure(figsize=(_HEIGHT_IN * width / height, _HEIGHT_IN), dpi=height / _HEIGHT_IN)
        _DRAWERS[type(picture)](figure, picture, style.look)
        figure.savefig(
            into,
            format=kind,
            dpi=figure.dpi,
            transparent=style.is_transparent,
            facecolor="none" if style.is_transparent else style.look.ground,
            metadata={"Date": None, "Creator": None} if kind == "svg" else {"Software": None},
        )
        box = figure.axes[0].get_window_extent() if figure.axes else figure.bbox
    return float(box.x0), float(box.x1)


def _settings(look: Look) -> dict[str, Any]:
    return {
        "font.family": "serif",
        "font.size": 13,
        "svg.fonttype": "none",
        "svg.hashsalt": "benchmon",
        "text.color": look.ink,
        "axes.edgecolor": look.faint,
        "axes.labelcolor": look.ink,
        "axes.facecolor": "none",
        "axes.spines.top": False,
        "axes.spines.right": False,
        "xtick.color": look.ink,
        "ytick.color": look.ink,
        "hatch.linewidth": 0.5,
        "text.parse_math": False,
    }


def _head_and_foot(figure: Figure, title: str, machine: str, foot: Sequence[str], look: Look) -> None:
    figure.text(0.045, 0.955, terminal(" · ".join(part for part in (machine, title) if part)), size=17, va="center")
    figure.text(0.045, 0.022, terminal("   ".join(foot)), size=9, va="center", color=look.ink, wrap=True)


def _draw_run(figure: Figure, picture: RunPicture, look: Look) -> None:
    _head_and_foot(figure, picture.title, picture.machine, picture.footing, look)
    _draw_strips(figure, picture, look, right=0.97)


def _draw_strips(figure: Figure, picture: RunPicture, look: Look, *, right: float) -> None:
    axes = figure.subplots(len(picture.strips), 1, sharex=True, squeeze=False)[:, 0]
    figure.subplots_adjust(left=0.07, right=right, top=0.87, bottom=0.1, hspace=0.42)
    for ax, strip in zip(axes, picture.strips, strict=True):
        _draw_strip(ax, strip, picture, look)
    top, bottom = axes[0], axes[-1]
    for start_s, end_s, name in picture.phases:
        if (end_s - start_s) / picture.until_s > 0.011 * len(name):
            top.annotate(terminal(name), (start_s, 1.0), (4, 18), xycoords=_ALONG, **_POINTS, size=12)
    for stretch in picture.stretches:
        top.annotate(stretch.words, (stretch.start_s, 0.0), (5, 5), xycoords=_ALONG, **_POINTS, size=12)
    bottom.set_xticks(time_ticks(picture.until_s), [duration(t_s) for t_s in time_ticks(picture.until_s)])
    bottom.set_xlim(0, picture.until_s)
    for t_s, _ in picture.entries:
        bottom.plot([t_s], [0.0], marker=2, color=look.ink, transform=bottom.get_xaxis_transform(), clip_on=False)


_ALONG = ("data", "axes fraction")
_RIGHT = ("axes fraction", "data")
_POINTS: Mapping[str, Any] = MappingProxyType({"textcoords": "offset points"})


def _draw_strip(ax: Axes, strip: Strip, picture: RunPicture, look: Look) -> None:
    colour = look.lines[strip.colour]
    for piece in strip.earlier:
        points = list(zigzag(piece))
        ax.plot([t for t, _ in points], [v for _, v in points], color=colour, lw=1.3, ls=(0, (4, 2)), alpha=0.75)
    for piece in strip.pieces:
        points = list(zigzag(piece))
        ax.plot([t for t, _ in points], [v for _, v in points], color=colour, lw=1.5, solid_joinstyle="round", zorder=3)
    for start_s, _, _ in picture.phases:
        ax.axvline(start_s, color=look.faint, lw=0.8, zorder=1)
    for stretch in picture.stretches:
        shade = look.lines[CAUSE_LINES[stretch.cause]]
        ax.axvspan(stretch.start_s, stretch.end_s, color=shade, alpha=0.12, lw=0, zorder=0)
        ax.axvspan(
            stretch.start_s,
            stretch.end_s,
            fill=False,
            hatch=CAUSE_HATCHES[stretch.cause],
            ec=shade,
            alpha=0.35,
            lw=0,
            zorder=0,
        )
    for value, words in strip.levels:
        ax.axhline(value, color=look.ink, lw=0.9, ls=(0, (5, 4)), zorder=2)
        paper = {"fc": look.ground, "ec": "none", "pad": 1.0, "alpha": 0.8}
        ax.annotate(words, (1.0, value), (-3, 4), xycoords=_RIGHT, ha="right", **_POINTS, size=10, bbox=paper, zorder=5)
    for t_s, value, _ in strip.points:
        ax.plot([t_s], [value], marker="o", ms=7, mfc="none", mec=colour, mew=1.6, zorder=4)
    values = [strip.low, strip.high, *(v for v, _ in strip.levels), *(v for _, v, _ in strip.points)]
    ticks = round_ticks(min(values), max(values), 3)
    ax.set_yticks(ticks)
    ax.set_ylim(ticks[0], ticks[-1])
    ax.grid(axis="y", color=look.faint, lw=0.4)
    ax.tick_params(length=0, labelsize=10)
    ax.set_title(strip_words(strip), loc="left", size=12, weight="bold", pad=4)


def _draw_rise(figure: Figure, picture: RisePicture, look: Look) -> None:
    _head_and_foot(figure, picture.title, picture.machine, picture.footing, look)
    ax = figure.add_axes((0.07, 0.13, 0.9, 0.75))
    colour = look.lines["temp"]
    if picture.powers_w:
        ax.fill_between(picture.powers_w, picture.lows_k, picture.highs_k, color=colour, alpha=0.18, lw=0)
        ax.plot(picture.powers_w, picture.rises_k, color=colour, lw=2)
        at = -1 - len(picture.powers_w) // 12
        where = (picture.powers_w[at], picture.highs_k[at])
        ax.annotate(picture.line_words, where, (-8, 4), ha="right", **_POINTS, weight="bold", size=15)
    for rise_k, words in picture.limits:
        ax.axhline(rise_k, color=look.ink, lw=1, ls=(0, (5, 4)))
        ax.annotate(terminal(words), (0.0, rise_k), (6, 4), xycoords=("axes fraction", "data"), **_POINTS)
    for point in picture.points:
        ax.plot(
            [point.power_w],
            [point.rise_k],
            marker="o",
            ms=10,
            mec=colour,
            mew=2,
            mfc=colour if point.has_settled else look.ground,
        )
        ax.annotate(terminal(point.name), (point.power_w, point.rise_k), (8, -15), **_POINTS)
    watts = picture.capacity
    if watts.value is not None and picture.limits:
        rise_k = picture.limits[0][0]
        if watts.low is not None and watts.high is not None:
            ax.plot([watts.low, watts.high], [rise_k, rise_k], color=look.ink, lw=7, alpha=0.45, solid_capstyle="butt")
        ax.plot([watts.value], [rise_k], marker="o", ms=11, color=look.ink)
        ax.vlines(watts.value, 0.0, rise_k, color=look.faint, lw=1)
        ax.annotate(picture.capacity_words, (watts.value, 0.0), (-6, 8), ha="right", **_POINTS, weight="bold", size=16)
    kelvins = [0.0, *(p.rise_k for p in picture.points), *(rise for rise, _ in picture.limits)]
    ax.set_ylim(min(kelvins), max([*kelvins, *picture.highs_k]) * 1.08)
    ax.set_xlim(0.0)
    ax.set_xlabel("Package power, W")
    ax.set_title("Rise over the room, K  (filled points had settled; band: 95 %)", loc="left", size=13)
    ax.grid(axis="y", color=look.faint, lw=0.4)
    ax.tick_params(length=0)


def _draw_power(figure: Figure, picture: PowerPicture, look: Look) -> None:
    _head_and_foot(figure, picture.title, picture.machine, picture.footing, look)
    ax = figure.add_axes((0.22, 0.12, 0.73, 0.74))
    for row, (name, package_w, wall_w) in enumerate(picture.rows):
        if wall_w is not None:
            ax.barh(row, wall_w, height=0.55, fc="none", ec=look.ink, lw=1.2)
            ax.annotate(f"{plain(wall_w, 1)} W at the wall", (wall_w, row), (6, 8), va="center", **_POINTS, size=12)
        if package_w is not None:
            ax.barh(row, package_w, height=0.55, color=look.lines["power"], alpha=0.75)
            ax.annotate(
                f"package {plain(package_w, 1)} W",
                (max(package_w, wall_w or 0.0), row),
                (6, -8),
                va="center",
                **_POINTS,
                size=12,
            )
        ax.annotate(terminal(name), (0.0, row), (-8, 0), ha="right", va="center", **_POINTS, size=13)
    most = max((value for _, *values in picture.rows for value in values if value is not None), default=1.0)
    ax.set_xlim(0, most * 1.22)
    ax.set_yticks([])
    ax.invert_yaxis()
    ax.set_xlabel("W, mean of the phase (wall: as read)")
    ax.tick_params(length=0)


def _draw_change(figure: Figure, picture: ChangePicture, look: Look) -> None:
    _head_and_foot(figure, picture.run.title, picture.run.machine, picture.footing, look)
    figure.text(0.045, 0.9, terminal(picture.answers[0] if picture.answers else ""), size=12, va="center")
    _draw_strips(figure, picture.run, look, right=0.6)
    figure.subplots_adjust(top=0.8)
    ax = figure.add_axes((0.65, 0.14, 0.32, 0.68))
    centred: Any = {"va": "center", "transform": ax.get_yaxis_transform()}
    place, phase = 0.0, ""
    for difference in picture.differences:
        if difference.phase != phase:
            phase = difference.phase
            ax.text(
                0.0, place, terminal(phase), size=12, weight="bold", va="center", transform=ax.get_yaxis_transform()
            )
            place += 1.0
        ax.text(0.0, place, terminal(difference.words), size=10, **centred)
        if difference.share is not None:
            low, value, high = (100.0 * share for share in difference.share)
            ax.plot([low, high], [place + 0.5] * 2, color=look.ink, lw=5, alpha=0.45, solid_capstyle="butt")
            ax.plot([value], [place + 0.5], marker="o", ms=6, color=look.ink)
        place += 1.25
    ax.axvline(0.0, color=look.faint, lw=1)
    ax.set_ylim(place, -0.7)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.tick_params(length=0, labelsize=10)
    ax.set_xlabel("after less before, % of before, with 95 % interval", size=10)


def _draw_card(figure: Figure, picture: Card, look: Look) -> None:
    _head_and_foot(figure, picture.title, picture.machine, picture.footing, look)
    figure.text(0.045, 0.74, terminal(picture.capacity), size=54, weight="bold", va="center")
    figure.text(0.047, 0.62, terminal(picture.capacity_words), size=20, va="center")
    for at, (label, words) in enumerate(picture.lines):
        y = 0.49 - 0.085 * at
        figure.text(0.047, y, terminal(label), size=14, color=look.ink, alpha=0.75, va="center")
        figure.text(0.3, y, terminal(words), size=18, va="center")


_DRAWERS: Mapping[type[Any], Callable[[Figure, Any, Look], None]] = MappingProxyType(
    {
        RunPicture: _draw_run,
        RisePicture: _draw_rise,
        PowerPicture: _draw_power,
        Card: _draw_card,
        ChangePicture: _draw_change,
    }
)
