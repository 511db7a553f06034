"""What the analysis costs while it runs: processor time for a sample, for the rows of the screen, for a forecast.

python -m tests.benchmarks.analysis_costs
"""

import time
from math import exp

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.summary import summarise
from benchmon.analysis.thermal.machine import model_of
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import MarkKind, Sample
from benchmon.model.units import Unit
from tests.support.bench_sessions import CHANNELS, mark, session

CORES = 8
WIDE = (
    *CHANNELS,
    *(Channel(keys.core_clock_key(cpu), f"clock {cpu}", Unit.MEGAHERTZ, "test") for cpu in range(CORES)),
    *(Channel(keys.core_load_key(cpu), f"load {cpu}", Unit.PERCENT, "test") for cpu in range(CORES)),
)


def made(count: int, period_s: float):
    samples = []
    for k in range(count):
        t = k * period_s
        temp = float(round(70 - 15 * exp(-t / 4) - 22 * exp(-t / 90) - 6 * exp(-t / 900)))
        samples.append(Sample(t, (2400.0, 20.0 + 0.1 * (k % 3), temp, 100.0, *[2400.0] * CORES, *[100.0] * CORES)))
    marks = [mark(1, 0.0, MarkKind.ROOM, value=24.0), mark(2, 0.0, MarkKind.PHASE, "all cores")]
    return session([*marks, *samples], WIDE, period_s)


def cpu_s(work, rounds: int) -> float:
    best = float("inf")
    for _ in range(3):
        begin = time.process_time()
        for _ in range(rounds):
            work()
        best = min(best, (time.process_time() - begin) / rounds)
    return best


def fresh_look(live):
    live._model = None
    live.look()


def main() -> None:
    for period_s, count in ((0.5, 7200), (0.1, 20_000)):
        whole = made(count, period_s)
        live = LiveAnalysis(look_every_s=1e9)
        live.feed(whole.header)
        begin = time.process_time()
        for record in whole.records:
            live.feed(record)
        all_us = (time.process_time() - begin) / count * 1e6
        print(
            f"feed {all_us:.1f} µs a sample, detector included ({count} samples of {len(WIDE)} channels, {period_s} s apart)"
        )
    live = LiveAnalysis()
    whole = made(7200, 0.5)
    live.feed(whole.header)
    for record in whole.records[:-1]:
        live.feed(record)
    print(f"phases() {cpu_s(live.phases, 20) * 1e6:.0f} µs")
    print(f"a look: fit, forecast, row {cpu_s(lambda: fresh_look(live), 5) * 1e3:.0f} ms")
    print(f"the fit alone {cpu_s(lambda: model_of(live.notebook), 5) * 1e3:.0f} ms")
    print(f"summary() {cpu_s(live.summary, 2) * 1e3:.0f} ms")
    begin = time.process_time()
    summarise(whole)
    print(f"summarise, an hour at 0.5 s: {time.process_time() - begin:.2f} s")


if __name__ == "__main__":
    main()
