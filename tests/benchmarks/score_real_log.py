"""What the detector says of the real board's log, at several rates and with more or less known.

    python -m tests.benchmarks.score_real_log

``tests/benchmarks/real_logs/README.md`` tells what really happened: a power limit from 206 to 446 s, never heat. Each
line is one way to have recorded it; ``found`` is the share of that stretch which the events cover.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from benchmon.analysis.throttle.detector import Detector
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.events import Cause, ThrottleEvent
from benchmon.model.records import Record, Sample, SessionHeader, Setting
from benchmon.model.units import Unit
from tests.benchmarks.likelihoods import causes_of
from tests.benchmarks.matching import Span, overlap_s
from tests.support.rows import observations

LOG = Path(__file__).parent / "real_logs" / "board_a_10hz.csv"
FULL = Span(206.0, 446.0, Cause.POWER_LIMIT.value)
ONE = Span(46.0, 166.0, "either")
END_S = 568.0
LIMIT_W, SLOW_DOWN_C = 700.0, 89.0
EVERY = {10: 1, 2: 5, 1: 10}
"""Samples a second → every how many rows."""
LOADS = ("the board's", "the host's", "none")
HOST_LOAD_PCT = (3.1, 4.2, 7.6, 3.4, 5.0)
"""A host that is nearly idle: 3 to 8 %, as it was when this run was recorded on it."""
TOLD = ("nothing", "700 W", "700 W and 89 °C")


@dataclass(frozen=True)
class Way:
    """One way to have recorded the run."""

    hertz: int
    load: str
    told: str

    def records(self) -> Iterator[Record]:
        """The session's records."""
        shown = [(keys.CLOCK, Unit.MEGAHERTZ), (keys.PACKAGE_POWER, Unit.WATT), (keys.PROCESSOR_TEMP, Unit.CELSIUS)]
        if self.load != "none":
            shown.append((keys.LOAD, Unit.PERCENT))
        channels = tuple(Channel(key, key, unit, "board") for key, unit in shown)
        yield SessionHeader("board-a", datetime(2026, 1, 1, tzinfo=UTC), 1.0 / self.hertz, channels)
        if self.told != "nothing":
            yield Setting(0.0, keys.POWER_LIMIT_LONG, LIMIT_W, Unit.WATT, "board")
        if self.told.endswith("°C"):
            yield Setting(0.0, keys.TEMP_LIMIT, SLOW_DOWN_C, Unit.CELSIUS, "board")
        with LOG.open(newline="") as file:
            for number, row in enumerate(csv.DictReader(file)):
                if number % EVERY[self.hertz]:
                    continue
                load = float(row["load_pct"])
                if self.load == "the host's":
                    load = HOST_LOAD_PCT[number // 10 % len(HOST_LOAD_PCT)]
                values = (float(row["clock_mhz"]), float(row["power_w"]), float(row["temp_c"]), load)
                yield Sample(float(row["t_s"]), values[: len(channels)])


def ways() -> Iterator[Way]:
    """All of them."""
    for told in TOLD:
        for load in LOADS:
            for hertz in EVERY:
                yield Way(hertz, load, told)


def events_of(way: Way) -> tuple[ThrottleEvent, ...]:
    """What the detector says of it."""
    detector = Detector()
    for seen in observations(way.records()):
        detector.push(seen)
    detector.finish()
    return detector.events


def in_full(events: tuple[ThrottleEvent, ...]) -> list[ThrottleEvent]:
    """The events of the stretch that was limited."""
    return [event for event in events if overlap_s(_span(event), FULL) > 0.0]


def false_heat(events: tuple[ThrottleEvent, ...]) -> int:
    """Events that are named heat: none ever was."""
    return sum(event.cause is Cause.THERMAL for event in events)


def elsewhere(events: tuple[ThrottleEvent, ...]) -> int:
    """Events in which nothing was limited, and which are no matter of taste."""
    return sum(overlap_s(_span(event), FULL) == 0.0 and overlap_s(_span(event), ONE) == 0.0 for event in events)


def _span(event: ThrottleEvent) -> Span:
    return Span(event.start_s, event.end_s if event.end_s is not None else END_S, event.cause.value)


def main() -> None:
    """Print what is said of each way."""
    print("told             load         Hz   found  named         likeliest         from s   false heat  elsewhere")
    for way in ways():
        events = events_of(way)
        there = in_full(events)
        covered = sum(overlap_s(_span(event), FULL) for event in there) / FULL.length_s
        best = max(there, key=lambda event: overlap_s(_span(event), FULL), default=None)
        shares = causes_of(best) if best is not None else {}
        likely = max(shares, key=lambda cause: shares[cause], default="–")
        likely_text = f"{likely} {shares[likely]:.2f}" if best is not None else "–"
        named, start = (best.cause.value, f"{best.start_s:.1f}") if best is not None else ("nothing", "–")
        print(
            f"{way.told:16} {way.load:12}{way.hertz:3}{covered:8.2f}  {named:13} {likely_text:18}{start:>6}"
            f"{false_heat(events):12}{elsewhere(events):11}"
        )


if __name__ == "__main__":
    main()
