"""Temperature rise over package power as SVG."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.views.figures.rise_labels import RiseLayout, rise_labels, rise_ticks
from benchmon.views.figures.rise_picture import RisePicture
from benchmon.views.figures.svg import Svg, letters
from benchmon.views.figures.ticks import tick_words
from benchmon.views.numbers import plain

_WIDTH, _HEIGHT = 960.0, 420.0
_LEFT, _RIGHT, _TOP, _FOOT = 56.0, 14.0, 26.0, 44.0
_MEASURES = {"point": letters(11.0), "limit": letters(11.0), "line": letters(13.0), "capacity": letters(13.0)}
_KINDS = {"line": "label temp", "capacity": "label"}
_GAP = 6.0


def draw_rise(picture: RisePicture) -> str:
    """The picture as one SVG element; empty if there is nothing to draw."""
    if picture.why_not:
        return ""
    svg = Svg(_WIDTH, _HEIGHT, f"{picture.title}: points of the phases, the cooler's line and the limit")
    x_ticks, y_ticks = rise_ticks(picture)
    wide, tall = _WIDTH - _LEFT - _RIGHT, _HEIGHT - _TOP - _FOOT
    bottom = _HEIGHT - _FOOT

    def across(power_w: float) -> float:
        return wide * power_w / x_ticks[-1]

    def up(rise_k: float) -> float:
        low, high = y_ticks[0], y_ticks[-1]
        return tall * (min(max(rise_k, low), high) - low) / (high - low)

    def at(power_w: float, rise_k: float) -> tuple[float, float]:
        return _LEFT + across(power_w), bottom - up(rise_k)

    for tick, words in zip(y_ticks, tick_words(y_ticks), strict=True):
        svg.line(at(0.0, tick), at(x_ticks[-1], tick), "rule")
        svg.write((_LEFT - 6, at(0.0, tick)[1] + 4), words, "tick", "end")
    for tick, words in zip(x_ticks, tick_words(x_ticks), strict=True):
        svg.write((at(tick, 0.0)[0], bottom + 16), words, "tick", "middle")
    svg.write((_LEFT, 14.0), "Rise over the room, K", "label temp")
    svg.write((_WIDTH - _RIGHT, _HEIGHT - 8), "Package power, W", "label power", "end")
    if picture.powers_w:
        upper = [at(w, k) for w, k in zip(picture.powers_w, picture.highs_k, strict=True)]
        lower = [at(w, k) for w, k in zip(picture.powers_w, picture.lows_k, strict=True)]
        svg.path([*upper, *reversed(lower)], "band", closed=True)
        svg.path([at(w, k) for w, k in zip(picture.powers_w, picture.rises_k, strict=True)], "trace temp")
    for rise_k, _ in picture.limits:
        svg.line(at(0.0, rise_k), at(x_ticks[-1], rise_k), "level")
    _draw_capacity(svg, picture, at)
    for point in picture.points:
        kind = "point temp settled" if point.has_settled else "point temp"
        words = f"{point.name}: {plain(point.power_w, 1)} W, {plain(point.rise_k, 1)} K"
        svg.dot(at(point.power_w, point.rise_k), kind, words, 5.0)
    for label, pointer in rise_labels(picture, RiseLayout(wide, tall, across, up, _MEASURES, _GAP)):
        if pointer is not None:
            (x, y), (to_x, to_y) = pointer
            svg.line((_LEFT + x, bottom - y), (_LEFT + to_x, bottom - to_y), "edge")
        svg.write((_LEFT + label.box.left, bottom - label.box.low - 3), label.words, _KINDS.get(label.kind, "tick"))
    return svg.text()


def _draw_capacity(svg: Svg, picture: RisePicture, at: Callable[[float, float], tuple[float, float]]) -> None:
    watts = picture.capacity
    if watts.value is None or not picture.limits:
        return
    rise_k = picture.limits[0][0]
    svg.line(at(watts.value, rise_k), at(watts.value, 0.0), "edge")
    svg.line(at(watts.low or watts.value, rise_k), at(watts.high or watts.value, rise_k), "interval")
    svg.dot(at(watts.value, rise_k), "capacity", picture.capacity_words, 6.0)
