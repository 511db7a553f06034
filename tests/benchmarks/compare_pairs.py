"""How honest the comparison is: its answers and intervals held against virtual pairs of boxes of other physics.

    python -m tests.benchmarks.compare_pairs [COUNT] [FIRST_SEED] [--processes N] [--as WAY | --all]

Each pair is a box of ``tests/benchmarks/boxes`` (physics by another mind) and the same box with a true change of its
resistance, three runs each. Prints how often "better" or "worse" was wrong, how often a change of 10 % was found, and how
often the 95 % interval held the truth: for three runs of each and for the first run of each alone.

What the pairs assume (the way ``told``), written down before anything was tuned, so that it can be broken:

* the cooler is taken off before each run and put back; what that changes is normal, and its spread (1 to 4 %) is told;
* the room thermometer is read anew in each run, wrong by 0.4 K (standard deviation), without a common bias;
* all runs of a pair have one counter, one sensor, one period, and phases of one length (within 3 %), 15 to 40 min;
* rooms lie within 4 K of one another, powers within 10 %;
* the kind of cooling stays what it is: the change makes a part of the chain better or worse.

The ways that break it:

* ``spread``: the true spread is twice what is told; ``untold``: nothing is told, the true one is 1 to 6 %;
* ``room``: the thermometer of each side has a bias of its own, 1 K (standard deviation), the same in its three runs;
* ``sampling``: the second side is read at another period and with another step of the sensor;
* ``convection``: the second side's cooler follows another exponent (natural) or another fan curve;
* ``rounded``: every sensor shows whole kelvin;
* ``held``: firmware holds at a temperature that one side reaches and the other may not;
* ``short``: phases of 6 to 10 min, unsettled; ``power``: the second side draws a quarter less or more.

The truth is the network gone on to its steady state under the conditions that the comparison itself names.
"""

from __future__ import annotations

import argparse
import os
import random
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from math import exp, log
from statistics import median

from benchmon.analysis.compare.bench_run import BenchRun, run_of
from benchmon.analysis.compare.compare import compare
from benchmon.analysis.live import LiveAnalysis
from benchmon.model.comparison import Answer, At, Contrast
from benchmon.model.records import LoadChange, SessionHeader
from tests.benchmarks.boxes.box import FAN, NATURAL, Box, draw
from tests.benchmarks.boxes.run import CALM, DRIFT, DROP, SAW, STEADY, STEP_S, Phase, Run, _live, _room
from tests.benchmarks.boxes.session import records, room_off_k

WAYS = ("told", "spread", "untold", "room", "sampling", "convection", "rounded", "held", "short", "power")
RUNS = 3
NO_CHANGE = 1e-6


@dataclass(frozen=True)
class Case:
    """One pair as it was answered."""

    seed: int
    cooler: str
    truth: float
    """True change in what the comparison speaks of, as a share; positive is better."""
    is_ten: bool
    """It was made to be a change of 10 %."""
    answer: Answer
    low: float | None
    high: float | None
    why: str

    @property
    def wrong(self) -> bool:
        better, worse = self.answer is Answer.BETTER, self.answer is Answer.WORSE
        return (better and self.truth <= NO_CHANGE) or (worse and self.truth >= -NO_CHANGE)

    @property
    def found(self) -> bool:
        return self.answer in {Answer.BETTER, Answer.WORSE} and not self.wrong

    @property
    def covered(self) -> bool:
        return self.low is not None and self.low <= self.truth <= self.high


@dataclass
class Pair:
    """What is drawn for a pair."""

    rng: random.Random
    way: str
    before: Box
    after: Box
    spread: float
    offset: float
    resolution: float
    period_s: float
    lag_s: float
    noise: float
    scale: float
    room_c: float
    lengths_s: tuple[float, ...]
    limiter: str | None
    limit_c: float
    is_ten: bool


def scaled(box: Box, part: str, factor: float) -> Box:
    """The box with a part of its chain better or worse."""
    last = len(box.resistances) - 1
    places = {
        "inner": range(1, last - 1),
        "fins": [last - 1],
        "case": [last],
        "cooler": range(1, last),
        "all": range(last + 1),
    }
    chosen = set(places[part])
    return replace(box, resistances=[r * factor if at in chosen else r for at, r in enumerate(box.resistances)])


def rise(box: Box, watts: float, room_c: float, offset: float) -> float:
    return box.steady(watts, box.cores, room_c, offset) + offset - room_c


def changed(box: Box, part: str, goal: float, watts: float, room_c: float) -> Box | None:
    """The box with its whole resistance changed to ``goal`` of what it was, by one part; None if that part cannot."""
    whole, low, high = rise(box, watts, room_c, 0.0), 0.4, 2.5
    if (
        not rise(scaled(box, part, low), watts, room_c, 0.0)
        < goal * whole
        < rise(scaled(box, part, high), watts, room_c, 0.0)
    ):
        return None
    for _ in range(16):
        factor = 0.5 * (low + high)
        if rise(scaled(box, part, factor), watts, room_c, 0.0) < goal * whole:
            low = factor
        else:
            high = factor
    found = scaled(box, part, factor)
    return found if fastest_s(found) > 1.2 * STEP_S else None


def fastest_s(box: Box) -> float:
    """Time constant of the fastest store [s]: it must be slower than a step of the simulation, or that diverges."""
    resistances = [box.die_resistance(box.cores), *box.resistances[1:]]
    inward = [float("inf"), *resistances]
    stores = zip(box.capacities, inward, resistances, strict=False)
    return min(capacity / (1.0 / into + 1.0 / out) for capacity, into, out in stores)


def drawn(seed: int, way: str) -> Pair:
    rng = random.Random(seed * 6007 + 29)
    box, room_c = draw(rng), rng.uniform(18.0, 26.0)
    free_c, watts = box.settled(box.cores, room_c, 0.0)
    is_ten = rng.random() < 0.4
    size = 0.10 if is_ten else 0.0 if rng.random() < 0.5 else rng.uniform(0.0, 0.20)
    goal = 1.0 - size if rng.random() < 0.5 else 1.0 / (1.0 - size)
    after = box
    if size:
        parts = [rng.choice(("inner", "fins", "cooler", "all")), "cooler", "all"]
        found = next((found for part in parts if (found := changed(box, part, goal, watts, room_c)) is not None), None)
        is_ten, after = is_ten and found is not None, found or box
    if way == "convection":
        after = _other_convection(after, rng, watts, room_c)
    if way == "power":
        after = replace(after, full_w=after.full_w * rng.choice((0.75, 1.25)))
    limiter = rng.choice((STEADY, STEADY, SAW, DROP)) if way == "held" else None
    limit_c = room_c + (free_c - room_c) * rng.uniform(0.8, 1.03) if limiter else 150.0
    load_s = rng.uniform(360.0, 600.0) if way == "short" else rng.uniform(900.0, 2400.0)
    lengths = (rng.uniform(120.0, 300.0), load_s, rng.uniform(60.0, 200.0))
    return Pair(
        rng, way, box, after, rng.uniform(0.01, 0.06 if way == "untold" else 0.04), rng.gauss(0.0, 1.2),
        1.0 if way == "rounded" else rng.choice((1.0, 1.0, 0.5, 0.125)), rng.choice((0.5, 1.0, 1.0, 2.0)),
        rng.uniform(0.0, 3.0), rng.uniform(0.05, 0.35), 1.0 + rng.uniform(-0.03, 0.03), room_c, lengths,
        limiter, float(round(limit_c)), is_ten,
    )  # fmt: skip


def _other_convection(box: Box, rng: random.Random, watts: float, room_c: float) -> Box:
    """Another law of cooling that costs as much at the power of the first side."""
    goal = rise(box, watts, room_c, 0.0)
    if box.kind == NATURAL:
        other = replace(box, exponent=rng.uniform(0.15, 0.4), radiation=rng.uniform(0.0, 0.35))
    elif box.kind == FAN:
        other = replace(box, fan_low_c=rng.uniform(38.0, 62.0), fan_span_k=rng.uniform(12.0, 40.0), fan_steps=0)
    else:
        return box
    share = goal / rise(other, watts, room_c, 0.0)
    return changed(other, "cooler", share, watts, room_c) or box


@dataclass(frozen=True)
class Lived:
    """One run of one side, as the comparison gets it, and what nobody sees."""

    run: BenchRun
    box: Box
    """With its cooler as it sat."""
    room_off_k: float
    """By how much the room was read too high."""


def live(pair: Pair, box: Box, side: str, number: int, bias_k: float) -> Lived:
    rng, room_c = pair.rng, pair.room_c + pair.rng.uniform(-2.0, 2.0)
    watts = box.settled(box.cores, room_c, 0.0)[1]
    true_spread = pair.spread * (2.0 if pair.way == "spread" else 1.0)
    seated = exp(max(min(rng.gauss(0.0, true_spread), 0.25), -0.25))
    box = changed(box, "inner", seated, watts, room_c) or changed(box, "cooler", seated, watts, room_c) or box
    box = replace(box, full_w=box.full_w * rng.uniform(0.95, 1.05))
    phases, at = [], 0.0
    for length, busy in zip(pair.lengths_s, (0, box.cores, 0), strict=True):
        length *= rng.uniform(0.985, 1.015)
        phases.append(Phase("all cores" if busy else "idle", at, at + length, busy))
        at += length
    other = pair.way == "sampling" and side == "b"
    kind = rng.choice((CALM, CALM, DRIFT))
    run = Run(
        rng.randrange(10**9), box, phases, kind, _room(rng, kind, room_c, at),
        5.0 if other else pair.period_s, {1.0: 0.125}.get(pair.resolution, 1.0) if other else pair.resolution,
        pair.lag_s, pair.offset, pair.noise, pair.scale, pair.limiter, pair.limit_c, True,
    )  # fmt: skip
    _live(run, rng)
    analysis, changes = LiveAnalysis(look_every_s=float("inf")), []
    told = run.room_at
    run.room_at = lambda t: told(t) + bias_k
    for record in records(run):
        if isinstance(record, SessionHeader):
            record = replace(record, session_id=f"{side}{number}", tags={"side": side, "run": str(number)})
        if isinstance(record, LoadChange):
            changes.append(record)
        analysis.feed(record)
    return Lived(run_of(analysis, f"{side}{number}", changes), box, room_off_k(run) + bias_k)


def sides_of(pair: Pair) -> list[list[Lived]]:
    """Three runs before and three after."""
    biases = [pair.rng.gauss(0.0, 1.0) if pair.way == "room" else 0.0 for _ in range(2)]
    return [
        [live(pair, box, name, number, bias) for number in range(RUNS)]
        for box, name, bias in ((pair.before, "a", biases[0]), (pair.after, "b", biases[1]))
    ]


def truth(pair: Pair, at: At) -> float:
    """The true change under the conditions that the comparison names, as a share; positive is better."""
    return exp(cooling_of(pair.after, pair, at) - cooling_of(pair.before, pair, at)) - 1.0


def cooling_of(box: Box, pair: Pair, at: At) -> float:
    """Logarithm of what a box does under the conditions of a comparison; more is better."""
    if at.power_w is not None:
        return -log(rise(box, at.power_w / pair.scale, at.room_c, pair.offset))
    return log(box.capacity(at.limit_c, at.room_c, pair.offset))


def judged(seed: int, way: str) -> tuple[Case, Case]:
    """A pair compared with three runs each, and with one each."""
    pair = drawn(seed, way)
    sides = [[one.run for one in side] for side in sides_of(pair)]
    spread = None if way == "untold" else pair.spread
    cases = []
    for runs in ([*sides[0], *sides[1]], [sides[0][0], sides[1][0]]):
        (contrast,) = compare(runs, spread).contrasts
        cases.append(_case(seed, pair, contrast))
    return cases[0], cases[1]


def _case(seed: int, pair: Pair, contrast: Contrast) -> Case:
    verdict = contrast.cooling
    true = 0.0 if contrast.at is None else truth(pair, contrast.at)
    return Case(
        seed,
        pair.before.kind,
        true,
        pair.is_ten,
        verdict.answer,
        verdict.change.low,
        verdict.change.high,
        verdict.why_not,
    )


def lines(cases: list[Case], name: str) -> Iterable[str]:
    for kind in (None, *sorted({case.cooler for case in cases})):
        some = [case for case in cases if kind in {None, case.cooler}]
        yield line(some, name if kind is None else f"    {kind}")


def share(cases: list[Case], what: str) -> str:
    return f"{sum(getattr(case, what) for case in cases) / len(cases):6.1%}" if cases else "     –"


def line(cases: list[Case], name: str) -> str:
    given = [case for case in cases if case.low is not None]
    tens = [case for case in cases if case.is_ten]
    halves = [(log(1 + case.high) - log(1 + case.low)) / 2 for case in given]
    silent = sum(case.answer is Answer.CANNOT_SAY for case in cases) / len(cases)
    return (
        f"{name:26}{len(cases):6d}{len(given):6d}  {share(cases, 'wrong')}  {share(tens, 'found')} ({len(tens):3d})"
        f"  {share(given, 'covered')}  {median(halves) if halves else 0:7.1%}  {silent:8.1%}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("count", nargs="?", type=int, default=100)
    parser.add_argument("first", nargs="?", type=int, default=1)
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    parser.add_argument("--as", dest="way", choices=WAYS, default="told")
    parser.add_argument("--all", action="store_true", help="every way, one after another")
    args = parser.parse_args()
    os.nice(10)
    print(f"{args.count} pairs from seed {args.first} on, {RUNS} runs each")
    print(
        f"{'':26}{'pairs':>6}{'given':>6}  {'wrong':>6}  {'found 10 %':>12}  {'covered':>7}  {'half':>6}  {'cannot say':>8}"
    )
    with ProcessPoolExecutor(args.processes) as pool:
        for way in WAYS if args.all else (args.way,):
            seeds = range(args.first, args.first + args.count)
            both = list(pool.map(partial(judged, way=way), seeds, chunksize=2))
            print("\n".join(lines([one for one, _ in both], f"{way}, {RUNS} runs each")))
            print(line([one for _, one in both], f"{way}, one run each"), flush=True)


if __name__ == "__main__":
    main()
