"""A session's trace as stretches for the joint fit: short after a change of power, longer as it calms down."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise
from math import inf

import numpy as np

from benchmon.analysis.fit.kinds import Array
from benchmon.analysis.fit.readings import NOT_SEEN_K, Readings
from benchmon.analysis.intake.entered import room_at
from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.trace import QUANTITIES
from benchmon.model import keys
from benchmon.model.records import MarkKind

MOST_ROWS, ROWS_A_CHANGE = 320, 4
"""So many stretches at most; more where power changed so often that there would be fewer between two changes."""
MOST_CHANGES = 400
"""Where power changed more often, what is fitted begins later: the work grows with the square of the stretches."""
LEAST_ROWS = 8
_WARM_S, _WARM_SHARE = 3600.0, 0.25
"""What begins late is begun with the mean power of so long before, and is not looked at until as long after."""
_GROWS, _LONGEST_S = 0.06, 30.0
_STEP_SHARE, _STEP_W, _APART_S = 0.15, 1.0, 30.0
_ROOM_UNKNOWN_C = 22.0
_IDLE_SHARE = 0.15
_CALM_BINS = 8
_WALK_K, _WALK_READ_K = 0.5, 0.2


Stretch = tuple[float, float]
"""Begin and end [s]."""


def readings_of(
    notebook: Notebook, hot_spots: Sequence[Sequence[Stretch]], until_s: float, without: Sequence[Stretch] = ()
) -> Readings | str:
    """What was read until a time; or a sentence why nothing can be fitted.

    Args:
        notebook: the session so far.
        hot_spots: when only some cores were busy, those with equally many together.
        until_s: later readings are left out.
        without: temperatures in these stretches are not looked at; their power is.
    """
    trace = notebook.trace
    times, table = trace.table()
    keep = times + trace.bin_s / 2 <= until_s + 1e-6
    times, table = times[keep], table[:, keep]
    temp, power, load = (table[QUANTITIES.index(name)] for name in ("temp_c", "power_w", "load_pct"))
    read = int(np.isfinite(temp).sum())
    if read < LEAST_ROWS:
        return "there are too few readings" if read else "no processor temperature was read"
    watts = _filled(power)
    has_watts = watts is not None
    if watts is None:
        filled = _filled(load)
        if filled is None:
            return "neither package power nor load was read"
        watts = 0.1 + filled / 100.0  # no watts, but what heats is still known in proportion
    first = int(np.argmax(np.isfinite(temp)))
    times, temp, power = times[first:], temp[first:], watts[first:]
    ends = times + trace.bin_s / 2
    starts = [phase.start_s for phase in notebook.tracker.phases]
    changes = _changes(times, power, starts, trace.bin_s)
    before_w = None
    first = int(np.searchsorted(times, changes[-MOST_CHANGES])) if len(changes) > MOST_CHANGES else 0
    if first:
        changes = changes[-MOST_CHANGES:]
        before_w = float(power[:first][times[:first] > changes[0] - _WARM_S].mean())
        warm_s = min(_WARM_S, _WARM_SHARE * float(times[-1] - changes[0]))
        without = (*without, (-inf, float(changes[0]) + warm_s))
        ends, temp, power = ends[first:], temp[first:], power[first:]
    edges = _edges(ends, changes, trace.bin_s)
    bins, marked = (ends, temp, power), (hot_spots, without)
    return _stretches(notebook, edges, bins, changes, marked, before_w=before_w, has_watts=has_watts)


def _filled(values: Array) -> Array | None:
    """Holes take the last value before them."""
    good = np.isfinite(values)
    if good.sum() < LEAST_ROWS:
        return None
    at = np.maximum.accumulate(np.where(good, np.arange(len(values)), 0))
    at[: int(np.argmax(good))] = int(np.argmax(good))
    return np.asarray(np.maximum(values[at], 0.0))


def _changes(times: Array, power: Array, starts: Sequence[float], bin_s: float) -> Array:
    """Times at which power changed for good, phases' starts among them."""
    width = max(2, round(6.0 / bin_s))
    found = [start for start in starts if times[0] < start < times[-1]]
    if len(power) > 2 * width:
        sums = np.concatenate([[0.0], np.cumsum(power)])
        means = (sums[width:] - sums[:-width]) / width
        jump = np.abs(means[width:] - means[:-width])
        high = jump > np.maximum(_STEP_SHARE * np.maximum(means[width:], means[:-width]), _STEP_W)
        for at in np.flatnonzero(high):
            here = slice(max(at - width, 0), at + width + 1)
            t = float(times[at + width])
            if jump[at] >= jump[here].max() and all(abs(t - other) > _APART_S for other in found):
                found.append(t - bin_s / 2)
    return np.array(sorted({float(times[0]) - bin_s / 2, *found}))


def _edges(ends: Array, changes: Array, bin_s: float) -> Array:
    """Indices of the last bins of the stretches."""
    scale, bins = 1.0, ends.tolist()  # plain numbers: single look-ups are several times quicker in them
    count, most = len(bins), max(MOST_ROWS, ROWS_A_CHANGE * len(changes))
    while True:
        edges: list[int] = []
        for begin, end in pairwise([*changes.tolist(), bins[-1] + bin_s]):
            if len(edges) > most:
                break
            t, last = begin, begin
            while t < end:
                t = min(t + scale * min(max(_GROWS * (t - begin), 2.0), _LONGEST_S), end)
                at = bisect_left(bins, t + 1e-6) - 1
                if at >= 0 and bins[at] > last and (not edges or at > edges[-1]):
                    edges.append(at)
                    last = bins[at]
                elif t < end:
                    t = max(t, bins[min(at + 1, count - 1)] - 1e-3)
                    if at + 1 >= count:
                        break
        if len(edges) <= most:
            return np.array(edges)
        scale *= 1.3


def _stretches(
    notebook: Notebook,
    edges: Array,
    bins: tuple[Array, Array, Array],
    changes: Array,
    marked: tuple[Sequence[Sequence[Stretch]], Sequence[Stretch]],
    *,
    before_w: float | None,
    has_watts: bool,
) -> Readings | str:
    ends, temp, power = bins
    hot_spots, without = marked
    begins = np.concatenate([[0], edges[:-1] + 1])
    good = np.isfinite(temp)
    count = np.add.reduceat(good.astype(float), begins)
    sums = np.add.reduceat(np.where(good, temp, 0.0), begins)
    lengths = ends[edges] - np.concatenate([[2 * ends[0] - ends[1] if len(ends) > 1 else 0.0], ends[edges[:-1]]])
    watts = np.add.reduceat(power, begins) / np.diff(np.concatenate([begins, [edges[-1] + 1]]))
    temps = np.where(count > 0, sums / np.maximum(count, 1), np.nan)
    filled = _filled_near(temps)
    if len(filled) < LEAST_ROWS:
        return "there are too few readings"
    resolution = notebook.resolution(keys.PROCESSOR_TEMP) or 0.0
    middle = ends[edges] - lengths / 2
    since = middle - changes[np.maximum(np.searchsorted(changes, middle) - 1, 0)]
    rough = _noise(temp, ends, changes)[edges]
    white = np.sqrt(rough**2 / np.maximum(count, 1) + resolution**2 / 24.0 + 0.05**2)
    white += (1.0 + 0.03 * np.ptp(filled)) * np.exp(-since / 4.0)
    unseen = (count == 0) | (_within(middle, without) > 0)
    white = np.where(unseen, NOT_SEEN_K, white)
    if not (white < NOT_SEEN_K).any():
        return "the processor temperature jumps too much to be fitted"
    room, known, walk = _room(notebook, middle)
    spots = tuple(_within(middle, stretches) for stretches in hot_spots)
    before_w = _before(watts) if before_w is None else before_w
    ends_s = ends[edges]
    return Readings(ends_s, lengths, watts, filled, room, white, before_w, spots, resolution, known, walk, has_watts)


def _before(watts: Array) -> float:
    """A session that begins with load began from idling: from the least power there is, else a usual share of it."""
    least = float(np.quantile(watts, 0.03))
    first, most = float(watts[0]), float(watts.max())
    is_known = least < 0.6 * first or first < 0.3 * most
    return min(first, least if is_known else _IDLE_SHARE * first)


def _filled_near(values: Array) -> Array:
    good = np.isfinite(values)
    return np.asarray(np.interp(np.arange(len(values)), np.flatnonzero(good), values[good]))


def _noise(temp: Array, ends: Array, changes: Array) -> Array:
    """Scatter of single bins, for each the one of its load: from second differences, so that a rise does not count."""
    second = np.diff(np.where(np.isfinite(temp), temp, np.nan), 2) ** 2 / 6.0
    scatter = np.full(len(temp), np.sqrt(np.nanmean(second)) if np.isfinite(second).any() else 0.5)
    for begin, end in pairwise(np.searchsorted(ends, [*changes, np.inf])):
        own = second[begin + _CALM_BINS : end - 2]  # without the jump with which the load began
        if np.isfinite(own).sum() >= _CALM_BINS:
            scatter[begin:end] = np.sqrt(np.nanmean(own))
    return scatter


def _within(t: Array, stretches: Sequence[Stretch]) -> Array:
    inside = np.zeros(len(t))
    for begin, end in stretches:
        inside[(t >= begin) & (t < end)] = 1.0
    return inside


def _room(notebook: Notebook, t: Array) -> tuple[Array, bool, float]:
    """The room at some times, whether it is known, and how far it may walk in half an hour from what was read [K]."""
    times, table = notebook.trace.table()
    read = table[QUANTITIES.index("room_c")]
    good = np.isfinite(read)
    if good.any():
        return np.interp(t, times[good], read[good]), True, _WALK_READ_K
    marks = notebook.tracker.marks.of(MarkKind.ROOM)
    if not marks:
        given = notebook.assumed_room_c
        return np.full(len(t), _ROOM_UNKNOWN_C if given is None else given), given is not None, _WALK_K
    return np.array([room_at(marks, float(at)) for at in t], dtype=float), True, _WALK_K
