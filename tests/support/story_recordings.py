"""The demo's story as recordings: each chapter as a recorder would have kept it, and what its firmware knows of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from benchmon.loads.builtin import core_words
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import (
    LoadAction,
    LoadChange,
    Machine,
    Mark,
    MarkKind,
    Record,
    Sample,
    SessionEnd,
    SessionHeader,
    Setting,
)
from benchmon.model.units import Unit
from benchmon.model.work_kinds import KIND_WORDS, WIDEST
from benchmon.virtual_bench import demo
from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.chip import WORK_SIZE

SOURCE = "virtual bench"
CHANNELS = (
    Channel(keys.CLOCK, "clock of the busy cores", Unit.MEGAHERTZ, SOURCE),
    Channel(keys.PACKAGE_POWER, "package power", Unit.WATT, SOURCE),
    Channel(keys.PROCESSOR_TEMP, "processor temperature", Unit.CELSIUS, SOURCE, 1.0),
    Channel(keys.LOAD, "load", Unit.PERCENT, SOURCE),
    Channel(keys.WORK_RATE, "rate of the built-in work", Unit.PER_SECOND, SOURCE),
)
Steps = Sequence[tuple[str, float, int]]
STORY_STEPS: Steps = tuple(demo.DEMO_STEPS)
PERIOD_S = 1.0
AFTER_S = 0.001
"""What happens at a sample's time happens just after it."""


class Story:
    """One chapter, simulated once.

    Args:
        chapter: a key of ``demo.CHAPTERS``.
        seed: of the machine and its noise.
        steps: phases, lengths [s] and busy cores, in place of the demo's own.
        period_s: between samples [s].
    """

    def __init__(self, chapter: str, seed: int = 1, steps: Steps = STORY_STEPS, period_s: float = PERIOD_S) -> None:
        self.chapter, self.seed, self.steps, self.period_s = chapter, seed, steps, period_s
        self.box = demo.demo_box(seed, chapter)
        self.records = list(self._settings())
        self.records += self._run()

    def header(self, name: str, started_at: datetime) -> SessionHeader:
        return SessionHeader(
            f"recording-{name}",
            started_at,
            self.period_s,
            CHANNELS,
            dict(demo.CHAPTERS[self.chapter].tags),
            made_by="the virtual bench",
            virtual=demo.NAME,
        )

    def answer(self) -> dict[str, Any]:
        """The answer from the firmware model, never from a detector."""
        return {
            "source": f"the virtual bench's own truth: chapter {self.chapter} of the demo, seed {self.seed}, from its "
            "firmware model; not from the detector. Written by python -m tests.support.make_recordings",
            "complete": True,
            "end_reason": "the steps are over",
            "damaged_lines": [],
            "events": [
                {
                    "cause": one.cause,
                    "start_s": round(one.start_s, 1),
                    "end_s": None if one.end_s is None else round(one.end_s, 1),
                    "plateau_c": None if one.plateau_c is None else round(one.plateau_c, 1),
                    "power_held_w": round(one.power_held_w, 1),
                }
                for one in self.box.truth
            ],
        }

    def _settings(self) -> Iterator[Record]:
        chip = demo.CHIP
        yield Machine(0.0, demo.NAME, cores=chip.cores, threads=chip.cores, virtual=True)
        for key, value, unit in (
            (keys.CORE_COUNT, chip.cores, Unit.COUNT),
            (keys.RATED_CLOCK, chip.rated_mhz, Unit.MEGAHERTZ),
            (keys.HIGHEST_CLOCK, chip.highest_mhz, Unit.MEGAHERTZ),
            (keys.LOWEST_CLOCK, chip.lowest_mhz, Unit.MEGAHERTZ),
            (keys.TEMP_LIMIT, demo.TOLD_LIMIT_C, Unit.CELSIUS),
            (keys.POWER_LIMIT_LONG, demo.POWER_LIMIT_W, Unit.WATT),
            (keys.POWER_WINDOW_LONG, demo.POWER_WINDOW_S, Unit.SECOND),
        ):
            yield Setting(0.0, key, float(value), unit, SOURCE)
        yield Mark(1, 0.0, 0.0, MarkKind.ROOM, value=self.box.spec.room_c)

    def _run(self) -> Iterator[Record]:
        box, number = self.box, 1
        yield _sample(box, None, self.period_s)
        for name, length_s, busy in self.steps:
            t_s = box.t_s + AFTER_S
            number += 1
            yield Mark(number, t_s, t_s, MarkKind.PHASE, name)
            yield _load_change(t_s, busy, box.spec.cores)
            box.set_load(busy, kind=WIDEST)
            for _ in range(round(length_s / self.period_s)):
                before = box.energy.joules, box.work_units
                box.step(self.period_s)
                box.t_s = float(round(box.t_s))
                yield _sample(box, before, self.period_s)
            number += 1
            shown_w = round(demo.wall_w(box.power_w), 1)
            yield Mark(number, box.t_s - 5.0, box.t_s, MarkKind.WALL, value=shown_w)
        yield SessionEnd(box.t_s, "the steps are over")


def _load_change(t_s: float, busy: int, cores: int) -> LoadChange:
    what = f"{KIND_WORDS[WIDEST]} on {core_words(busy, cores) if busy else 'no core'}"
    if not busy:
        return LoadChange(t_s, LoadAction.STOPPED, what, busy)
    operations, moved = WORK_SIZE[WIDEST]
    started = LoadAction.STARTED
    return LoadChange(t_s, started, what, busy, work=WIDEST, unit_operations=operations, unit_bytes=moved)


def _sample(box: VirtualBox, before: tuple[float, float] | None, period_s: float) -> Sample:
    """Means since the last sample where a real recorder counts; None in the first one."""
    seen = box.readings()
    power_w = work_rate = None
    if before is not None:
        power_w = (box.energy.joules - before[0]) / period_s
        work_rate = (box.work_units - before[1]) / period_s or None
    busy = max(1, sum(load > 0 for load in seen.load_pct))
    clock_mhz = sum(seen.clock_mhz[:busy]) / busy
    return Sample(box.t_s, (clock_mhz, power_w, seen.temp_c, sum(seen.load_pct) / box.spec.cores, work_rate), 0.0003)
