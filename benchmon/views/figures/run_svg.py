"""A run as SVG: one strip for each quantity, over a common time, with direct labels."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from benchmon.model.events import Cause
from benchmon.views.figures.colours import CAUSE_LINES
from benchmon.views.figures.run_picture import Piece, RunPicture, Strip
from benchmon.views.figures.svg import Svg
from benchmon.views.figures.ticks import round_ticks, time_ticks
from benchmon.views.numbers import duration, plain

WIDTH = 960
_LEFT, _RIGHT, _TOP, _STRIP, _BETWEEN, _FOOT = 56.0, 14.0, 30.0, 118.0, 30.0, 26.0
_LETTER = 6.6
"""Width of a letter of the labels, about; so that a name is left out where it has no room."""


def draw_run(picture: RunPicture, *, width: int = WIDTH) -> str:
    """The picture as one SVG element, for a page that has the style of ``page_style.py``."""
    height = _TOP + len(picture.strips) * (_STRIP + _BETWEEN) + _FOOT
    svg = Svg(width, height, f"{picture.title}: {', '.join(strip.label for strip in picture.strips)} over time")
    svg.raw(_textures())

    def x_of(t_s: float) -> float:
        return _LEFT + (width - _LEFT - _RIGHT) * t_s / picture.until_s

    bottom = height - _FOOT - _BETWEEN
    for start_s, end_s, name in picture.phases:
        svg.line((x_of(start_s), 8.0), (x_of(start_s), bottom), "edge")
        if x_of(end_s) - x_of(start_s) > _LETTER * len(name) + 6:
            svg.write((x_of(start_s) + 4, 18.0), name, "phase")
    for stretch in picture.stretches:
        kind = f"held {CAUSE_LINES[stretch.cause]}"
        left, right = x_of(stretch.start_s), x_of(stretch.end_s)
        words = f"{stretch.words}, {duration(stretch.start_s)} to {duration(stretch.end_s)}"
        svg.box((left, _TOP), right - left, bottom - _TOP, kind, words)
        svg.box((left, _TOP), right - left, bottom - _TOP, f"woven {CAUSE_LINES[stretch.cause]}")
        inside = left + _LETTER * len(stretch.words) < width - _RIGHT
        svg.write(
            (left + 4 if inside else right - 4, _TOP + 13), stretch.words, "held-words", "start" if inside else "end"
        )
    for row, strip in enumerate(picture.strips):
        _draw_strip(svg, strip, _TOP + row * (_STRIP + _BETWEEN) + 18, x_of, width)
    for t_s in time_ticks(picture.until_s):
        svg.line((x_of(t_s), bottom), (x_of(t_s), bottom + 5), "edge")
        svg.write((x_of(t_s), bottom + 18), duration(t_s), "tick", "end" if t_s > 0.97 * picture.until_s else "middle")
    for t_s, words in picture.entries:
        svg.dot((x_of(t_s), bottom), "entry", f"{duration(t_s)} {words}", 3.0)
    return svg.text()


def _draw_strip(svg: Svg, strip: Strip, top: float, x_of: Callable[[float], float], width: int) -> None:
    values = [strip.low, strip.high, *(level for level, _ in strip.levels), *(value for _, value, _ in strip.points)]
    ticks = round_ticks(min(values), max(values), 3)
    low, high = ticks[0], ticks[-1]
    tall = _STRIP - 18

    def y_of(value: float) -> float:
        return top + tall * (high - value) / (high - low)

    svg.write((_LEFT, top - 6), strip_words(strip), f"label {strip.colour}")
    decimals = max(0, min(3, -_exponent(ticks[1] - ticks[0])))
    for tick in ticks:
        svg.line((_LEFT, y_of(tick)), (width - _RIGHT, y_of(tick)), "rule")
        svg.write((_LEFT - 6, y_of(tick) + 4), plain(tick, decimals), "tick", "end")
    for value, words in strip.levels:
        svg.line((_LEFT, y_of(value)), (width - _RIGHT, y_of(value)), "level")
        svg.write((width - _RIGHT - 2, y_of(value) - 3), words, "tick", "end")
    for piece in strip.earlier:
        svg.path(((x_of(t_s), y_of(value)) for t_s, value in zigzag(piece)), f"trace earlier {strip.colour}")
    for piece in strip.pieces:
        svg.path(((x_of(t_s), y_of(value)) for t_s, value in zigzag(piece)), f"trace {strip.colour}")
    for t_s, value, words in strip.points:
        svg.dot((x_of(t_s), y_of(value)), f"point {strip.colour}", f"{duration(t_s)} {words}")


def strip_words(strip: Strip) -> str:
    """What a strip shows: ``Package power, W (circles: at the wall)``."""
    more = " (circles: at the wall)" if strip.points else " (dashed: before)" if strip.earlier else ""
    return f"{strip.label}, {strip.unit}{more}"


def zigzag(piece: Piece) -> Iterable[tuple[float, float]]:
    """Points of a line that touches the least and the greatest reading of every column."""
    previous = piece.lows[0] if piece.lows else 0.0
    for t_s, low, high in zip(piece.times_s, piece.lows, piece.highs, strict=True):
        near, far = (low, high) if abs(previous - low) <= abs(previous - high) else (high, low)
        yield t_s, near
        if far != near:
            yield t_s, far
        previous = far


def _exponent(step: float) -> int:
    return int(f"{step:e}".partition("e")[2])


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
