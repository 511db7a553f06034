"""Builds the recordings of ``recordings/``: ``python -m tests.support.make_recordings [NAME …]``.

Each recording is a function that returns the bytes of its session file; decorate another one with ``@recording`` to add
it. What is known about it stands in ``NAME.expected.json``, which is written by hand, or for the demo's story by the
virtual bench's own truth: an answer that comes from the detector under test proves nothing. ``v1`` is not built here. It was
written once, by hand from the specification, and must stay readable for ever.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path

from benchmon.model.channel import Channel
from benchmon.model.records import (
    ChannelState,
    Gap,
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
from benchmon.session.naming import SUFFIX
from benchmon.session.writer import SessionWriter
from tests.support.story_recordings import Story

RECORDINGS = Path(__file__).resolve().parents[2] / "recordings"
STARTED = datetime(2026, 11, 25, 13, 10, tzinfo=UTC)

CLOCK = Channel("clock_mhz", "clock", Unit.MEGAHERTZ, "mean of the busy cores", 1.0)
POWER = Channel("package_power_w", "package power", Unit.WATT, "energy counter of package 0", 0.001)
TEMP = Channel("processor_temp_c", "processor temperature", Unit.CELSIUS, "hwmon: package", 1.0)
LOAD = Channel("load_pct", "load", Unit.PERCENT, "/proc/stat")

_builders: dict[str, Callable[[], bytes]] = {}


def recording(build: Callable[[], bytes]) -> Callable[[], bytes]:
    """Register a recording; its name is the function's, with dashes."""
    _builders[build.__name__.replace("_", "-")] = build
    return build


def written(header: SessionHeader, records: Iterable[Record]) -> bytes:
    """The bytes that the writer makes of these records."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"a{SUFFIX}"
        writer = SessionWriter(path)
        writer.write(header)
        for record in records:
            writer.write(record)
        writer.close()
        return path.read_bytes()


def header(name: str, *channels: Channel, period_s: float = 0.5) -> SessionHeader:
    return SessionHeader(f"recording-{name}", STARTED, period_s, channels, {"paste": "fresh"}, made_by="by hand")


def rise(start_s: float, end_s: float) -> Iterator[Sample]:
    """A machine that warms by 1 K each second from 40 °C, at 10 W more for each 500 MHz above 1,000."""
    for half_seconds in range(int(start_s * 2), int(end_s * 2) + 1):
        t_s = half_seconds / 2
        busy = t_s >= 5
        clock, power = (3000.0, 40.0) if busy else (1000.0, 5.25)
        yield Sample(t_s, (clock, power, 40.0 + int(t_s), 100.0 if busy else 1.5), 0.0004)


@recording
def minimal() -> bytes:
    return written(
        header("minimal", TEMP),
        [
            Mark(1, 0, 0, MarkKind.ROOM, value=21.5),
            Sample(0.0, (38.0,), 0.0004),
            Sample(0.5, (None,), 0.0004),
            Sample(1.0, (39.0,), 0.0003),
            SessionEnd(1.2, "you ended it"),
        ],
    )


@recording
def nulls() -> bytes:
    """A channel that is never read, one that fails for a while, one that fails once."""
    reason = "permission denied: /sys/class/powercap/intel-rapl:0/energy_uj"
    records: list[Record] = [ChannelState(0.0, POWER.key, False, reason)]
    for sample in rise(0, 20):
        clock, _, temp, load = sample.values
        if sample.t_s == 8.0:
            records.append(ChannelState(8.0, TEMP.key, False, "device gone"))
        if sample.t_s == 12.0:
            records.append(ChannelState(12.0, TEMP.key, True))
        away = 8.0 <= sample.t_s < 12.0
        values = (None if sample.t_s == 3.0 else clock, None, None if away else temp, load)
        records.append(Sample(sample.t_s, values, sample.read_cost_s))
    return written(header("nulls", CLOCK, POWER, TEMP, LOAD), [*records, SessionEnd(20.2, "you ended it")])


@recording
def gap() -> bytes:
    """The machine slept for 30 s, and was held up for 4 s."""
    records: list[Record] = [
        *rise(0, 10),
        Gap(10.0, 40.0, "suspend"),
        *rise(40, 45),
        Gap(45.0, 49.0, "late"),
        *rise(49, 55),
    ]
    return written(header("gap", CLOCK, POWER, TEMP, LOAD), [*records, SessionEnd(55.1, "time is up")])


def _busy_session() -> list[Record]:
    samples = list(rise(0, 20))
    return [
        Machine(0.0, "invented processor", "board A", "shelf PC", "Linux", 4, 8, 16.0),
        Setting(0.0, "temp_limit_c", 95.0, Unit.CELSIUS, "hwmon"),
        Setting(0.0, "governor", "performance", None, "/sys/devices/system/cpu/cpu0/cpufreq/scaling_governor"),
        Mark(1, 0.0, 0.0, MarkKind.PHASE, "idle"),
        Mark(2, 0.0, 0.0, MarkKind.ROOM, value=21.5),
        *samples[:10],
        LoadChange(5.0, LoadAction.STARTED, "widest arithmetic on all 4 cores", 4),
        Mark(3, 5.0, 5.0, MarkKind.PHASE, "all cores"),
        *samples[10:20],
        Mark(4, 8.0, 9.7, MarkKind.WALL, value=56.5),
        Mark(5, 8.0, 9.9, MarkKind.WALL, value=65.5, replaces=4),
        *samples[20:],
    ]


@recording
def unclean_end() -> bytes:
    """The recorder was killed between two lines."""
    return written(header("unclean-end", CLOCK, POWER, TEMP, LOAD), _busy_session())


@recording
def cut_last_line() -> bytes:
    """The power went away while the last line was written."""
    return written(header("cut-last-line", CLOCK, POWER, TEMP, LOAD), _busy_session())[:-12]


def chapter(name: str, of_the_story: str) -> bytes:
    """A chapter of the demo's story; its answer is what the firmware model knows."""
    story = Story(of_the_story)
    answer = json.dumps(story.answer(), indent=2, ensure_ascii=False) + "\n"
    (RECORDINGS / f"{name}.expected.json").write_text(answer, encoding="utf-8")
    return written(story.header(name, STARTED), story.records)


@recording
def box_as_bought() -> bytes:
    """Held far below its clock, at a temperature far below the limit that it tells."""
    return chapter("box-as-bought", "bought")


@recording
def box_with_duct() -> bytes:
    """The same box with an air duct settles a few kelvin under that temperature: never held back."""
    return chapter("box-with-duct", "duct")


@recording
def box_in_a_warm_room() -> bytes:
    """And in a warmer room it is held again, but less."""
    return chapter("box-in-a-warm-room", "warm")


def main(names: list[str]) -> None:
    """Build the named recordings; all of them without names."""
    for name in names or list(_builders):
        path = RECORDINGS / f"{name}{SUFFIX}"
        path.write_bytes(_builders[name]())
        sys.stdout.write(f"{path} {path.stat().st_size} bytes\n")


if __name__ == "__main__":
    main(sys.argv[1:])
