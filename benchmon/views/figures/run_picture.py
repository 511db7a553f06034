"""What a picture of a run shows, before it is drawn: traces, phases, held-back stretches, limits, entries, sources."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import nan

from benchmon.model import keys
from benchmon.model.events import Cause
from benchmon.model.findings import Summary
from benchmon.model.recorded import Recorded
from benchmon.model.records import Gap, LoadAction, LoadChange, MarkKind, Sample
from benchmon.views.numbers import plain, room_text
from benchmon.views.sheets.content import title
from benchmon.views.traces import Columns
from benchmon.views.words.pictures import STRETCH_WORDS
from benchmon.views.words.records import mark_sentence
from benchmon.views.words.simulated import FOOTING
from benchmon.views.words.work import rate_unit

STRIPS = (
    (keys.PROCESSOR_TEMP, "temp", "Processor temperature", "°C", 1.0),
    (keys.PACKAGE_POWER, "power", "Package power", "W", 1.0),
    (keys.CLOCK, "clock", "Clock", "GHz", 0.001),
    (keys.WORK_RATE, "work", "Work rate", "units/s", 1.0),
)
"""Channel, name of its colour, words, unit as drawn, and what a reading is multiplied by for it."""
_MOST_LOADS = 3
"""So many are named at the foot."""
_JOINED_PERIODS = 2.5
"""Readings this many periods apart are still joined, as on the screen."""
_ENTRIES = (MarkKind.ROOM, MarkKind.SCORE, MarkKind.NOTE)
"""Wall readings are drawn as points on the strip of power."""
_TOLD_APART_K = 3.0
_LONGEST_SOURCE = 60


@dataclass(frozen=True, slots=True)
class Piece:
    """An unbroken stretch of a trace: middle of each column [s], and the least and greatest reading in it."""

    times_s: tuple[float, ...]
    lows: tuple[float, ...]
    highs: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """One quantity over time, in the unit drawn."""

    colour: str
    label: str
    unit: str
    pieces: tuple[Piece, ...]
    low: float
    """Least reading of the run."""
    high: float
    levels: tuple[tuple[float, str], ...] = ()
    """Limits on this strip: value in its unit, and words."""
    points: tuple[tuple[float, float, str], ...] = ()
    """Readings a person entered: time [s], value, words."""
    earlier: tuple[Piece, ...] = ()
    """The same quantity of an earlier run, drawn behind."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Time in which the processor was throttled."""

    start_s: float
    end_s: float
    cause: Cause
    words: str


@dataclass(frozen=True, slots=True)
class RunPicture:
    """Everything that is drawn of one run. Times on the session's axis [s]."""

    title: str
    machine: str
    until_s: float
    strips: tuple[Strip, ...]
    phases: tuple[tuple[float, float, str], ...]
    """Start, end, name."""
    stretches: tuple[Stretch, ...]
    entries: tuple[tuple[float, str], ...]
    footing: tuple[str, ...]
    """Room, load, sources: what a reader needs to judge the picture, a sentence each."""
    why_not: str = ""
    """A sentence if there is nothing to draw."""
    is_bare: bool = False
    """Whether only the paper is drawn, with everything in its place: for what lies ahead of the pen."""


def run_picture(session: Recorded, summary: Summary, columns: int = 1600) -> RunPicture:
    """Gather what a picture of so many columns shows; a dip of one sample stays in its column's least reading."""
    until_s = max(summary.quality.duration_s, 1e-9)
    strips = _strips(session, summary, columns)
    return RunPicture(
        title=title(summary, "Run"),
        machine=machine_words(summary),
        until_s=until_s,
        strips=strips,
        phases=tuple((p.start_s, until_s if p.end_s is None else p.end_s, p.name) for p in summary.phases),
        stretches=tuple(
            Stretch(e.start_s, until_s if e.end_s is None else e.end_s, e.cause, STRETCH_WORDS[e.cause])
            for e in summary.events
        ),
        entries=tuple((m.t_s, mark_sentence(m, listed=True)) for m in summary.marks if m.kind in _ENTRIES),
        footing=footing(session, summary),
        why_not="" if strips else "Neither temperature, power, clock nor work rate was read: there is nothing to draw.",
    )


def machine_words(summary: Summary) -> str:
    """The processor's name; empty if it is not known."""
    return "" if summary.machine is None else summary.machine.processor


def footing(session: Recorded, summary: Summary) -> tuple[str, ...]:
    """Room, load and sources of a run, for the foot of any picture of it."""
    room = summary.thermal.room_c
    lines = [FOOTING] if summary.header.virtual else []
    lines += [f"Room {room_text(room)}" if room.value is not None else "Room not known"]
    loads = list(dict.fromkeys(load.what for load in _started(session)))
    more = f" and {len(loads) - _MOST_LOADS} more" if len(loads) > _MOST_LOADS else ""
    lines.append(f"Load: {', '.join(loads[:_MOST_LOADS])}{more}" if loads else "Load not started by benchmon")
    sources = [
        f"{label.lower()} from {channel.source[-_LONGEST_SOURCE:]}"
        for key, _, label, _, _ in STRIPS[:2]
        for channel in session.header.channels
        if channel.key == key
    ]
    lines.append("; ".join(sources).capitalize() if sources else "Neither temperature nor power was read")
    return tuple(lines)


def _started(session: Recorded) -> list[LoadChange]:
    return [r for r in session.others if isinstance(r, LoadChange) and r.action is LoadAction.STARTED]


def work_unit(session: Recorded) -> tuple[str, float]:
    """The sheet's unit of the work rate, and how many of it a unit a second is; of work of several sizes, itself."""
    sizes = {(load.work, load.unit_operations, load.unit_bytes) for load in _started(session)}
    kind, operations, moved = sizes.pop() if len(sizes) == 1 else ("", None, None)
    if operations is not None:
        return rate_unit(kind, operations), operations / 1e9
    return ("units/s", 1.0) if moved is None else (rate_unit(kind, None), moved / 1e9)


def _strips(session: Recorded, summary: Summary, columns: int) -> tuple[Strip, ...]:
    step_s = max(summary.quality.duration_s / columns, summary.header.period_s / 2)
    join_s = _JOINED_PERIODS * summary.header.period_s
    places = {channel.key: place for place, channel in enumerate(session.header.channels)}
    offered = (*STRIPS[:-1], (*STRIPS[-1][:3], *work_unit(session)))
    chosen = [(places[strip[0]], strip) for strip in offered if strip[0] in places]
    tracks = [Columns(step_s, join_s) for _ in chosen]
    at = [place for place, _ in chosen]
    for held in _columns_of(session, step_s):
        if isinstance(held, Gap):
            for track in tracks:
                track.add(held.start_s, nan)
            continue
        times = [sample.t_s for sample in held]
        is_close = all(after - before <= join_s for before, after in pairwise(times))
        for track, place in zip(tracks, at, strict=True):
            _add(track, times, [sample.values[place] for sample in held], is_close=is_close)
    return tuple(
        _strip(track, strip, summary) for track, (_, strip) in zip(tracks, chosen, strict=True) if track.places
    )


def _columns_of(session: Recorded, step_s: float) -> Iterable[list[Sample] | Gap]:
    """The samples of each column of a picture together, and gaps, in order of time."""
    held: list[Sample] = []
    ends_s = 0.0
    for record in session.records:
        if record.__class__ is Sample:
            if record.t_s >= ends_s and held:
                yield held
                held = []
            if not held:
                ends_s = (record.t_s // step_s + 1) * step_s
            held.append(record)
        elif isinstance(record, Gap):
            if held:
                yield held
                held = []
            yield record
    if held:
        yield held


def _add(track: Columns, times: list[float], values: list[float | None], *, is_close: bool) -> None:
    """The readings of one channel in one column: least and greatest are enough where none is missing."""
    read = [value for value in values if value is not None]
    if is_close and len(read) == len(values):
        track.add(times[0], min(read))
        track.add(times[-1], max(read))
    else:
        for t_s, value in zip(times, values, strict=True):
            track.add(t_s, nan if value is None else value)


def _strip(track: Columns, how: tuple[str, str, str, str, float], summary: Summary) -> Strip:
    key, colour, label, unit, factor = how
    return Strip(
        colour=colour,
        label=label,
        unit=unit,
        pieces=tuple(_pieces(track, factor)),
        low=min(track.lows) * factor,
        high=max(track.highs) * factor,
        levels=levels_of(key, summary),
        points=_wall_readings(summary) if key == keys.PACKAGE_POWER else (),
    )


def _wall_readings(summary: Summary) -> tuple[tuple[float, float, str], ...]:
    marks = [mark for mark in summary.marks if mark.kind is MarkKind.WALL]
    return tuple((m.t_s, m.value, f"wall {plain(m.value, 1)} W") for m in marks if m.value is not None)


def _pieces(track: Columns, factor: float) -> Iterable[Piece]:
    begin = 0
    count = len(track.places)
    for at in range(1, count + 1):
        if at == count or not track.joined[at]:
            yield Piece(
                tuple((place + 0.5) * track.step_s for place in track.places[begin:at]),
                tuple(low * factor for low in track.lows[begin:at]),
                tuple(high * factor for high in track.highs[begin:at]),
            )
            begin = at


def strip_words(strip: Strip, *, is_first: bool = False) -> str:
    """What a strip shows: ``Package power, W``; the first of two runs also says which line is whose."""
    return f"{strip.label}, {strip.unit}" + (" (dashed: before)" if strip.earlier and is_first else "")


def zigzag(piece: Piece) -> Iterable[tuple[float, float]]:
    """Points of a line that touches the least and the greatest reading of every column."""
    previous = piece.lows[0] if piece.lows else 0.0
    for t_s, low, high in zip(piece.times_s, piece.lows, piece.highs, strict=True):
        near, far = (low, high) if abs(previous - low) <= abs(previous - high) else (high, low)
        yield t_s, near
        if far != near:
            yield t_s, far
        previous = far


def levels_of(key: str, summary: Summary) -> tuple[tuple[float, str], ...]:
    """Limits that belong to a quantity: defended and told temperature, power limit, rated clock."""
    if key == keys.PROCESSOR_TEMP:
        return _temperature_levels(summary)
    name, words, factor, unit = {
        keys.PACKAGE_POWER: (keys.POWER_LIMIT_LONG, "power limit", 1.0, "W"),
        keys.CLOCK: (keys.RATED_CLOCK, "rated", 0.001, "GHz"),
    }.get(key, ("", "", 1.0, ""))
    setting = summary.settings.get(name)
    if setting is None or not isinstance(setting.value, int | float):
        return ()
    value = setting.value * factor
    return ((value, f"{words} {plain(value, 2 if unit == 'GHz' else 0)} {unit}"),)


def _temperature_levels(summary: Summary) -> tuple[tuple[float, str], ...]:
    defended = [e.temp_plateau_c for e in summary.events if e.cause is Cause.THERMAL and e.temp_plateau_c is not None]
    levels = [(defended[-1], f"defended {plain(defended[-1], 0)} °C")] if defended else []
    told = summary.settings.get(keys.TEMP_LIMIT)
    if (
        told is not None
        and isinstance(told.value, int | float)
        and all(abs(told.value - at) > _TOLD_APART_K for at, _ in levels)
    ):
        levels.append((float(told.value), f"reported limit {plain(float(told.value), 0)} °C"))
    return tuple(levels)
