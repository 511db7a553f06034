"""A picture becomes a new file: its size, its ground, and the halo that keeps words readable over anything."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from benchmon.views.figures.card import Card
from benchmon.views.figures.change_picture import ChangePicture
from benchmon.views.figures.colours import DARK, LIGHT, Look
from benchmon.views.figures.files import drawing_library
from benchmon.views.figures.files.card import draw_card
from benchmon.views.figures.files.change import draw_change
from benchmon.views.figures.files.lettering import HEIGHT_IN
from benchmon.views.figures.files.power import draw_power
from benchmon.views.figures.files.rise import draw_rise
from benchmon.views.figures.files.run import draw_run
from benchmon.views.figures.power_picture import PowerPicture
from benchmon.views.figures.rise_picture import RisePicture
from benchmon.views.figures.run_picture import RunPicture
from benchmon.views.new_files import write_new

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Picture = RunPicture | RisePicture | PowerPicture | Card | ChangePicture
SIZES: Mapping[str, tuple[int, int]] = MappingProxyType(
    {"1920x1080": (1920, 1080), "3840x2160": (3840, 2160), "1080x1080": (1080, 1080)}
)
"""Sizes offered, in pixels; twice the size has the same picture, drawn finer."""
_DRAWERS: Mapping[type[Any], Callable[[Figure, Any, Look], None]] = MappingProxyType(
    {
        RunPicture: draw_run,
        RisePicture: draw_rise,
        PowerPicture: draw_power,
        Card: draw_card,
        ChangePicture: draw_change,
    }
)
_HALO_PT = 1.3
"""Paper about letters and, where there is no ground, about lines [points]."""
_TRACE_PT = 1.3
"""Thinner lines are rules, which need no halo."""


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
    figure_class = drawing_library.load()
    width, height = SIZES[style.size]
    drawn = BytesIO()
    with drawing_library.settings(_settings(style.look)):
        figure = figure_class(figsize=(HEIGHT_IN * width / height, HEIGHT_IN), dpi=height / HEIGHT_IN)
        _DRAWERS[type(picture)](figure, picture, style.look)
        if kind == "png":
            _halo(figure, style)
        figure.savefig(
            drawn,
            format=kind,
            dpi=figure.dpi,
            transparent=style.is_transparent,
            facecolor="none" if style.is_transparent else style.look.ground,
            metadata={"Date": None, "Creator": None} if kind == "svg" else {"Software": None},
        )
        box = figure.axes[0].get_window_extent() if figure.axes else figure.bbox
    into.write(drawn.getvalue() if kind == "png" else _haloed_svg(drawn.getvalue(), style.look))
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


def _halo(figure: Figure, style: Style) -> None:
    """Letters keep a rim of paper, so that a line behind them does not run through them; over a video, lines too."""
    from matplotlib.patheffects import withStroke  # noqa: PLC0415
    from matplotlib.text import Text  # noqa: PLC0415

    rim = withStroke(linewidth=2 * _HALO_PT, foreground=style.look.ground)
    for words in figure.findobj(Text):
        words.set_path_effects([rim])
    for line in (line for ax in figure.axes for line in ax.lines if style.is_transparent):
        if line.get_linewidth() >= _TRACE_PT:
            wide = line.get_linewidth() + 1.2 * _HALO_PT
            line.set_path_effects([withStroke(linewidth=wide, foreground=style.look.ground)])


def _haloed_svg(drawn: bytes, look: Look) -> bytes:
    """The same for SVG by its own means, so that letters stay letters (SVG 2, 13.9.4, ``paint-order``)."""
    rule = f"text{{stroke:{look.ground};stroke-width:{2 * _HALO_PT}px;stroke-linejoin:round;paint-order:stroke}}"
    return drawn.replace(b"</defs>", f"<style>{rule}</style></defs>".encode(), 1)
