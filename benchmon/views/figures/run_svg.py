"""A run as SVG: one strip for each quantity, over a common time, with direct labels."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.model.events import Cause
from benchmon.views.figures.colours import CAUSE_LINES
from benchmon.views.figures.labels import names_along
from benchmon.views.figures.run_picture import RunPicture, Strip, strip_words, zigzag
from benchmon.views.figures.strip_labels import Layout, scale_of, strip_labels
from benchmon.views.figures.svg import Svg, letters
from benchmon.views.figures.ticks import tick_words, time_ticks
from benchmon.views.numbers import duration

WIDTH = 960
_LEFT, _RIGHT, _TOP, _STRIP, _BETWEEN, _FOOT = 56.0, 14.0, 30.0, 118.0, 30.0, 26.0
_TITLE = 18.0
"""Height of a strip's title."""
_LETTERS = letters(11.0)
_GAP = 4.0


def draw_run(picture: RunPicture, *, width: int = WIDTH) -> str:
    """The picture as one SVG element, for a page that has the style of ``page_style.py``."""
    height = _TOP + len(picture.strips) * (_STRIP + _BETWEEN) + _FOOT
    svg = Svg(width, height, f"{picture.title}: {', '.join(strip.label for strip in picture.strips)} over time")
    svg.raw(_textures())

    def x_of(t_s: float) -> float:
        return _LEFT + (width - _LEFT - _RIGHT) * t_s / picture.until_s

    bottom = height - _FOOT - _BETWEEN
    for start_s, _, _ in picture.phases:
        svg.line((x_of(start_s), 8.0), (x_of(start_s), bottom), "edge")
    spans = [(x_of(start_s), x_of(end_s), name) for start_s, end_s, name in picture.phases]
    for x, words in names_along(spans, _LETTERS, 4.0):
        svg.write((x, 18.0), words, "phase")
    for stretch in picture.stretches:
        kind = f"held {CAUSE_LINES[stretch.cause]}"
        left, right = x_of(stretch.start_s), x_of(stretch.end_s)
        words = f"{stretch.words}, {duration(stretch.start_s)} to {duration(stretch.end_s)}"
        svg.box((left, _TOP), right - left, bottom - _TOP, kind, words)
        svg.box((left, _TOP), right - left, bottom - _TOP, f"woven {CAUSE_LINES[stretch.cause]}")
    for row, strip in enumerate(picture.strips):
        top = _TOP + row * (_STRIP + _BETWEEN) + _TITLE
        _draw_strip(svg, strip, top, x_of, width, is_first=row == 0)
        _write(svg, strip, picture, top, width)
    for t_s in time_ticks(picture.until_s):
        svg.line((x_of(t_s), bottom), (x_of(t_s), bottom + 5), "edge")
        svg.write((x_of(t_s), bottom + 18), duration(t_s), "tick", "end" if t_s > 0.97 * picture.until_s else "middle")
    for t_s, words in picture.entries:
        svg.dot((x_of(t_s), bottom), "entry", f"{duration(t_s)} {words}", 3.0)
    return svg.text()


def _draw_strip(
    svg: Svg, strip: Strip, top: float, x_of: Callable[[float], float], width: int, *, is_first: bool
) -> None:
    scale = scale_of(strip, _STRIP - _TITLE)

    def y_of(value: float) -> float:
        return top + scale.height - scale.up(value)

    svg.write((_LEFT, top - 6), strip_words(strip, is_first=is_first), f"label {strip.colour}")
    for tick, words in zip(scale.ticks, tick_words(scale.ticks), strict=True):
        svg.line((_LEFT, y_of(tick)), (width - _RIGHT, y_of(tick)), "rule")
        svg.write((_LEFT - 6, y_of(tick) + 4), words, "tick", "end")
    for value, _ in strip.levels:
        svg.line((_LEFT, y_of(value)), (width - _RIGHT, y_of(value)), "level")
    for piece in strip.earlier:
        svg.path(((x_of(t_s), y_of(value)) for t_s, value in zigzag(piece)), f"trace earlier {strip.colour}")
    for piece in strip.pieces:
        svg.path(((x_of(t_s), y_of(value)) for t_s, value in zigzag(piece)), f"trace {strip.colour}")
    for t_s, value, words in strip.points:
        svg.dot((x_of(t_s), y_of(value)), f"point {strip.colour}", f"{duration(t_s)} {words}")


def _write(svg: Svg, strip: Strip, picture: RunPicture, top: float, width: int) -> None:
    height = _STRIP - _TITLE
    layout = Layout(width - _LEFT - _RIGHT, height, _LETTERS, _LETTERS, _LETTERS, _GAP)
    for label in strip_labels(strip, picture, layout, with_stretches=strip is picture.strips[0]):
        kind = "held-words" if label.kind == "stretch" else "tick"
        svg.write((_LEFT + label.box.left, top + height - label.box.low - 3), label.words, kind)


def _textures() -> list[str]:
    """Each cause has a texture of its own, so that a print without colour tells them apart."""
    patterns = {
        Cause.THERMAL: '<path d="M0 8 8 0" class="tex heat"/>',
        Cause.POWER_LIMIT: '<path d="M0 4H8" class="tex limited"/>',
        Cause.OUTSIDE: '<circle cx="4" cy="4" r="1" class="tex outside"/>',
        Cause.UNEXPLAINED: "",
    }
    made = [
        f'<pattern id="tex-{CAUSE_LINES[cause]}" width="8" height="8" patternUnits="userSpaceOnUse">{drawn}</pattern>'
        for cause, drawn in patterns.items()
    ]
    return ["<defs>", *made, "</defs>"]
