"""Temperature rise over package power as SVG."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.views.figures.rise_picture import RisePicture
from benchmon.views.figures.svg import Svg
from benchmon.views.figures.ticks import round_ticks
from benchmon.views.numbers import plain

_WIDTH, _HEIGHT = 960.0, 420.0
_LEFT, _RIGHT, _TOP, _FOOT = 56.0, 14.0, 26.0, 44.0


def draw_rise(picture: RisePicture) -> str:
    """The picture as one SVG element; empty if there is nothing to draw."""
    if picture.why_not:
        return ""
    svg = Svg(_WIDTH, _HEIGHT, f"{picture.title}: points of the phases, the cooler's line and the limit")
    watts = [0.0, *(p.power_w for p in picture.points), *picture.powers_w]
    kelvins = [0.0, *(p.rise_k for p in picture.points), *(rise for rise, _ in picture.limits), *picture.highs_k]
    x_ticks, y_ticks = round_ticks(0.0, max(watts), 6), round_ticks(min(kelvins), max(kelvins) * 1.05, 5)

    def x_of(power_w: float) -> float:
        return _LEFT + (_WIDTH - _LEFT - _RIGHT) * power_w / x_ticks[-1]

    def y_of(rise_k: float) -> float:
        top, low, high = _TOP, y_ticks[0], y_ticks[-1]
        return top + (_HEIGHT - top - _FOOT) * (high - min(max(rise_k, low), high)) / (high - low)

    for tick in y_ticks:
        svg.line((_LEFT, y_of(tick)), (_WIDTH - _RIGHT, y_of(tick)), "rule")
        svg.write((_LEFT - 6, y_of(tick) + 4), plain(tick, 0), "tick", "end")
    for tick in x_ticks:
        svg.write((x_of(tick), _HEIGHT - _FOOT + 16), plain(tick, 0), "tick", "middle")
    svg.write((_LEFT, 14.0), "Rise over the room, K", "label temp")
    svg.write((_WIDTH - _RIGHT, _HEIGHT - 8), "Package power, W", "label power", "end")
    if picture.powers_w:
        upper = [(x_of(w), y_of(k)) for w, k in zip(picture.powers_w, picture.highs_k, strict=True)]
        lower = [(x_of(w), y_of(k)) for w, k in zip(picture.powers_w, picture.lows_k, strict=True)]
        svg.path([*upper, *reversed(lower)], "band", closed=True)
        svg.path([(x_of(w), y_of(k)) for w, k in zip(picture.powers_w, picture.rises_k, strict=True)], "trace temp")
        near_end = -1 - len(picture.powers_w) // 12
        at = (x_of(picture.powers_w[near_end]) - 14, y_of(picture.highs_k[near_end]) - 4)
        svg.write(at, picture.line_words, "label temp", "end")
    for rise_k, words in picture.limits:
        svg.line((_LEFT, y_of(rise_k)), (_WIDTH - _RIGHT, y_of(rise_k)), "level")
        svg.write((_LEFT + 6, y_of(rise_k) - 5), words, "tick")
    _draw_capacity(svg, picture, x_of, y_of)
    for point in picture.points:
        kind = "point temp settled" if point.has_settled else "point temp"
        at = (x_of(point.power_w), y_of(point.rise_k))
        svg.dot(at, kind, f"{point.name}: {plain(point.power_w, 1)} W, {plain(point.rise_k, 1)} K", 5.0)
        svg.write((at[0] + 8, at[1] + 16), point.name, "tick", "end" if at[0] > _WIDTH * 0.9 else "start")
    return svg.text()


def _draw_capacity(
    svg: Svg, picture: RisePicture, x_of: Callable[[float], float], y_of: Callable[[float], float]
) -> None:
    watts = picture.capacity
    if watts.value is None or not picture.limits:
        return
    rise_k = picture.limits[0][0]
    low, high = watts.low or watts.value, watts.high or watts.value
    svg.line((x_of(low), y_of(rise_k)), (x_of(high), y_of(rise_k)), "interval")
    svg.dot((x_of(watts.value), y_of(rise_k)), "capacity", picture.capacity_words, 6.0)
    svg.line((x_of(watts.value), y_of(rise_k)), (x_of(watts.value), y_of(0.0)), "edge")
    svg.write((x_of(watts.value) - 6, _HEIGHT - _FOOT - 8), picture.capacity_words, "label", "end")
