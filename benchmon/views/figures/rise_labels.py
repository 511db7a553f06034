"""Where the words of a picture of rise over power stand; the same for files, page and terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from benchmon.views.figures.labels import Box, Measure, Paper, Point, around
from benchmon.views.figures.rise_picture import RisePicture
from benchmon.views.figures.strip_labels import Label
from benchmon.views.figures.ticks import round_ticks

_POINTER = 2.0
"""Words farther from their point than so many gaps get a line to it."""


@dataclass(frozen=True, slots=True)
class RiseLayout:
    """The paper: its size, where power and rise lie on it, how large words are; upwards counts positive."""

    width: float
    height: float
    across: Callable[[float], float]
    up: Callable[[float], float]
    measures: Mapping[str, Measure]
    """Of each kind: point, limit, line, capacity."""
    gap: float


def rise_labels(picture: RisePicture, layout: RiseLayout) -> list[tuple[Label, tuple[Point, Point] | None]]:
    """All words, each with the line that leads from its point to it where they are apart."""
    paper = Paper(Box(0.0, 0.0, layout.width, layout.height))
    across, up, gap = layout.across, layout.up, layout.gap
    dots = _together([((across(p.power_w), up(p.rise_k)), p.name) for p in picture.points], gap)
    for (x, y), _ in dots:
        paper.take(Box(x - gap, y - gap, x + gap, y + gap))
    paper.draw([(across(w), up(k)) for w, k in zip(picture.powers_w, picture.rises_k, strict=True)])
    for rise_k, _ in picture.limits:
        paper.draw([(layout.width * part / 40, up(rise_k)) for part in range(41)])
    wanted: list[tuple[str, str, list[Box], Point | None]]
    wanted = [("limit", words, _limit_places(layout, words, rise_k), None) for rise_k, words in picture.limits]
    watts = picture.capacity.value
    if watts is not None and picture.limits:
        x, y = across(watts), up(picture.limits[0][0])
        paper.take(Box(x - gap, y - gap, x + gap, y + gap))
        paper.draw([(x, up(0.0) + (y - up(0.0)) * part / 20) for part in range(21)])
        wanted.append(("capacity", picture.capacity_words, _capacity_places(layout, picture.capacity_words, x), None))
    if picture.powers_w:
        wanted.append(("line", picture.line_words, _line_places(layout, picture), None))
    wanted += [("point", name, around(at, layout.measures["point"](name), gap), at) for at, name in dots]
    made: list[tuple[Label, tuple[Point, Point] | None]] = []
    for kind, words, places, at in wanted:
        box = paper.place(places)
        if box is not None:
            made.append((Label(kind, words, box), None if at is None else _pointer(at, box, gap)))
    return made


def _together(dots: list[tuple[Point, str]], gap: float) -> list[tuple[Point, str]]:
    """Points that lie upon one another have their names side by side."""
    made: list[tuple[Point, str]] = []
    for at, name in dots:
        for number, (other, names) in enumerate(made):
            if abs(at[0] - other[0]) < gap / 2 and abs(at[1] - other[1]) < gap / 2:
                made[number] = (other, f"{names}; {name}")
                break
        else:
            made.append((at, name))
    return made


def rise_ticks(picture: RisePicture) -> tuple[list[float], list[float]]:
    """Marks of both axes, watts and kelvin: all points and limits lie between them, and the cooler's line above 0 K."""
    watts = [0.0, *(p.power_w for p in picture.points), *picture.powers_w, picture.capacity.value or 0.0]
    kelvins = [0.0, *(p.rise_k for p in picture.points), *(rise for rise, _ in picture.limits)]
    return round_ticks(0.0, max(watts), 6), round_ticks(min(kelvins), max([*kelvins, *picture.rises_k]), 6)


def _limit_places(layout: RiseLayout, words: str, rise_k: float) -> list[Box]:
    width, height = layout.measures["limit"](words)
    y = layout.up(rise_k)
    lefts = [layout.gap, layout.width - width - layout.gap, (layout.width - width) / 2]
    return [Box(left, low, left + width, low + height) for left in lefts for low in (y + 1.0, y - height - 1.0)]


def _capacity_places(layout: RiseLayout, words: str, x: float) -> list[Box]:
    width, height = layout.measures["capacity"](words)
    foot = layout.up(0.0) + layout.gap
    lefts = (x - width - layout.gap, x + layout.gap, layout.gap)
    lows = [foot + row * height for row in range(5)]
    return [Box(left, low, left + width, low + height) for low in lows for left in lefts]


def _line_places(layout: RiseLayout, picture: RisePicture) -> list[Box]:
    """Above the band, the nearer to its end the better; else below it."""
    width, height = layout.measures["line"](picture.line_words)
    boxes = []
    for share in (0.92, 0.8, 0.65, 0.5, 0.35):
        at = round(share * (len(picture.powers_w) - 1))
        x = layout.across(picture.powers_w[at])
        over, under = layout.up(picture.highs_k[at]) + layout.gap / 2, layout.up(picture.lows_k[at]) - layout.gap / 2
        boxes.append(Box(x - width - layout.gap, over, x - layout.gap, over + height))
        boxes.append(Box(x + layout.gap, under - height, x + layout.gap + width, under))
    return boxes


def _pointer(at: Point, box: Box, gap: float) -> tuple[Point, Point] | None:
    nearest = (min(max(at[0], box.left), box.right), min(max(at[1], box.low), box.high))
    far = max(abs(nearest[0] - at[0]), abs(nearest[1] - at[1]))
    return (at, nearest) if far > _POINTER * gap else None
