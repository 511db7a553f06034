"""What writing, following and reading a session costs: ``python -m tests.benchmarks.session_costs``.

40 channels as a machine with 16 logical processors offers them, values with the digits that the sensors really give.
"""

from __future__ import annotations

import random
import statistics
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import Sample, SessionHeader
from benchmon.model.units import Unit
from benchmon.session.encode import encode
from benchmon.session.follow import Follower
from benchmon.session.reader import read_session
from benchmon.session.rounding import decimals_kept
from benchmon.session.writer import SessionWriter

CHANNELS = (
    Channel(keys.CLOCK, "clock", Unit.MEGAHERTZ, "mean of the busy cores", 0.001),
    Channel(keys.PACKAGE_POWER, "package power", Unit.WATT, "energy counter", 0.0001),
    Channel(keys.LOAD, "load", Unit.PERCENT, "/proc/stat"),
    Channel(keys.PROCESSOR_TEMP, "processor temperature", Unit.CELSIUS, "hwmon", 1.0),
    *(Channel(f"temp{each}_c", "temperature", Unit.CELSIUS, "hwmon", 0.1) for each in range(3)),
    Channel("fan_rpm", "fan", Unit.RPM, "hwmon", 1.0),
    *(Channel(keys.core_clock_key(cpu), f"clock of {cpu}", Unit.MEGAHERTZ, "cpufreq", 0.001) for cpu in range(16)),
    *(Channel(keys.core_load_key(cpu), f"load of {cpu}", Unit.PERCENT, "/proc/stat") for cpu in range(16)),
)
HEADER = SessionHeader("costs", datetime(2026, 1, 1, tzinfo=UTC), 0.5, CHANNELS)
_SPANS = {
    Unit.MEGAHERTZ: (800, 4800), Unit.WATT: (5, 65), Unit.PERCENT: (0, 100), Unit.CELSIUS: (35, 99), Unit.RPM: (900, 3200),
}  # fmt: skip


def busy_samples(count: int) -> list[Sample]:
    """Samples whose values change in every digit that the sources have."""
    rng = random.Random(1)
    return [
        Sample(
            number * 0.5 + rng.random() / 1000,
            tuple(round(rng.uniform(*_SPANS[each.unit]), 0 if each.resolution == 1.0 else 6) for each in CHANNELS),
            rng.uniform(0.001, 0.003),
        )
        for number in range(count)
    ]


def main() -> None:
    samples = busy_samples(7200)
    decimals = [decimals_kept(channel) for channel in CHANNELS]
    encode_us = statistics.median(_microseconds(lambda s=s: encode(s, decimals)) for s in samples)
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if len(sys.argv) > 1 else None) as folder:
        path = Path(folder) / "a.session.jsonl"
        writer = SessionWriter(path, sync_every_s=0.05)
        writer.write(HEADER)
        follower = Follower(path)
        follower.poll()
        write_us, poll_us, idle_us = [], [], []
        for sample in samples:
            write_us.append(_microseconds(lambda s=sample: writer.write(s)))
            poll_us.append(_microseconds(follower.poll))
            idle_us.append(_microseconds(follower.poll))
        writer.close()
        write_us.sort()
        read_s = _microseconds(lambda: read_session(path)) / 1e6
        hour_bytes = path.stat().st_size
    say = sys.stdout.write
    say(f"channels                      {len(CHANNELS)}\n")
    say(f"encode one sample             {encode_us:.1f} us\n")
    say(f"encode and write one sample   {statistics.median(write_us):.1f} us median, ")
    say(f"{write_us[len(write_us) * 99 // 100]:.1f} us at 99 %, {write_us[-1]:.0f} us at most\n")
    say(f"follow: poll with one sample  {statistics.median(poll_us):.1f} us\n")
    say(f"follow: poll with nothing new {statistics.median(idle_us):.2f} us\n")
    say(f"an hour at 2 Hz               {hour_bytes / 1e6:.2f} MB, {hour_bytes / len(samples):.0f} bytes a sample\n")
    say(f"read an hour                  {read_s:.3f} s\n")


def _microseconds(work) -> float:
    start = time.perf_counter_ns()
    work()
    return (time.perf_counter_ns() - start) / 1000


if __name__ == "__main__":
    main()
