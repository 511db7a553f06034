"""A run as the session that a recorder, and a careful person, would have written."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC, datetime

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import (
    LoadAction,
    LoadChange,
    Mark,
    MarkKind,
    Record,
    Sample,
    SessionEnd,
    SessionHeader,
    Setting,
)
from benchmon.model.units import Unit
from tests.benchmarks.boxes.run import Run

UNITS = (
    (keys.CLOCK, Unit.MEGAHERTZ),
    (keys.PACKAGE_POWER, Unit.WATT),
    (keys.PROCESSOR_TEMP, Unit.CELSIUS),
    (keys.LOAD, Unit.PERCENT),
)


def room_off_k(run: Run) -> float:
    """By how much the room was entered too high [K]."""
    return random.Random(run.seed + 5).gauss(0.0, 0.4)


def records(run: Run) -> Iterator[Record]:
    """Room entered at each phase's start, wrong by 0.4 K (standard deviation) all along; read to 0.1 K."""
    room_off = room_off_k(run)
    channels = tuple(
        Channel(key, key, unit, "box", run.resolution if key == keys.PROCESSOR_TEMP else None) for key, unit in UNITS
    )
    yield SessionHeader("boxes", datetime(2026, 1, 1, tzinfo=UTC), run.period_s, channels, virtual="box")
    yield Setting(0.0, keys.CORE_COUNT, float(run.box.cores), Unit.COUNT, "box")
    yield Setting(0.0, keys.TEMP_LIMIT, run.limit_c, Unit.CELSIUS, "box")
    number, phases = 0, list(run.phases)
    for row in run.rows:
        while phases and phases[0].start_s < row[0]:
            phase = phases.pop(0)
            yield Mark(number + 1, phase.start_s, row[0], MarkKind.PHASE, phase.name)
            yield Mark(
                number + 2, phase.start_s, row[0], MarkKind.ROOM, value=round(run.room_at(phase.start_s) + room_off, 1)
            )
            number += 2
            action = LoadAction.STARTED if phase.busy else LoadAction.STOPPED
            yield LoadChange(phase.start_s, action, phase.name, phase.busy)
        yield Sample(row[0], row[1:])
    yield SessionEnd(run.rows[-1][0], "done")
