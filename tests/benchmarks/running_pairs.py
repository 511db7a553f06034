"""How honest the running difference of the screen is: said of virtual runs laid over an earlier one of the same box.

    python -m tests.benchmarks.running_pairs [COUNT] [FIRST_SEED] [--processes N]

Each pair is two runs of a box of ``tests/benchmarks/boxes``; in half of them the cooler's resistance was changed in
between, and in three of ten heat throttles one or both. Rooms lie within 6 K, powers within 10 %, thermometers are read anew and wrong by 0.4 K, one run in four begins
just after a load or after an hour of idling. What is told at some times of the loaded phase is held against the truth: by how much the run now is warmer than the *earlier*
box would be with the power, the room and the past of now; or, where heat throttles, by how many watts it carries more.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
import random
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

from benchmon.analysis.compare.running import BEFORE_S, WINDOW_S, Begin, Moment, running_difference
from benchmon.model.running import RunningDifference
from tests.benchmarks.boxes.box import Box, draw
from tests.benchmarks.boxes.run import CALM, DRIFT, STEADY, Phase, Run, _live, _room
from tests.benchmarks.compare_pairs import changed

TIMES_S = (65.0, 120.0, 185.0, 300.0, 600.0, 895.0)
LOAD_S = 900.0
NO_CHANGE = 1e-6


@dataclass(frozen=True)
class Said:
    """What was said at one time of one pair."""

    t_s: float
    kind: str
    truth: float
    """Kelvin warmer, or watts more."""
    found: RunningDifference | None

    @property
    def is_told(self) -> bool:
        return self.found is not None and not self.found.difference.low <= 0.0 <= self.found.difference.high

    @property
    def is_wrong(self) -> bool:
        """Warmer or cooler is said, and it is not so."""
        return self.is_told and self.found.difference.value * self.truth <= NO_CHANGE

    @property
    def is_covered(self) -> bool:
        return self.found.difference.low <= self.truth <= self.found.difference.high


@dataclass(frozen=True)
class Setup:
    """What the same run has in common with the one it is held against in truth."""

    seed: int
    room_c: float
    room_kind: str
    lengths_s: tuple[float, float]
    power: float
    noise: float
    resolution: float
    lag_s: float
    offset: float
    scale: float
    period_s: float
    limit_c: float | None


def lived(box: Box, setup: Setup, *, is_true: bool = False) -> Run:
    """A run; ``is_true``: without noise, steps and scale."""
    rng = random.Random(setup.seed)
    begin_s, load_s = setup.lengths_s
    phases = [Phase("idle", 0.0, begin_s, 0), Phase("all cores", begin_s, begin_s + load_s, box.cores)]
    room = _room(rng, setup.room_kind, setup.room_c, begin_s + load_s)
    noise, resolution, scale = (0.0, 1e-6, 1.0) if is_true else (setup.noise, setup.resolution, setup.scale)
    box = replace(box, full_w=box.full_w * setup.power)
    run = Run(
        setup.seed, box, phases, setup.room_kind, room, setup.period_s, resolution, setup.lag_s, setup.offset, noise,
        scale, STEADY if setup.limit_c else None, setup.limit_c or 150.0, True,
    )  # fmt: skip
    _live(run, rng)
    return run


def moment(run: Run, since_s: float, room_off_k: float) -> Moment:
    begin_s = run.phases[1].start_s
    rows = [row for row in run.rows if begin_s + since_s - WINDOW_S <= row[0] <= begin_s + since_s and row[0] > begin_s]
    room_c = run.room_at(begin_s) + room_off_k
    first_s = run.phases[1].limited_at_s
    temp_c, power_w = mean(rows, 3), mean(rows, 2)
    is_held = first_s is not None and first_s < begin_s + since_s
    before = [row for row in run.rows if begin_s - BEFORE_S <= row[0] < begin_s]
    begin = Begin(mean(before, 3) - room_c, mean(before, 2))
    return Moment(temp_c, power_w, room_c, 0.5, run.resolution, is_held, begin)


def mean(rows: list[tuple[float, ...]], column: int) -> float:
    return sum(row[column] for row in rows) / len(rows)


def told(seed: int) -> list[Said]:
    rng = random.Random(seed * 7411 + 3)
    box, room_c = draw(rng), rng.uniform(18.0, 26.0)
    after = box
    if rng.random() < 0.5:
        watts = box.settled(box.cores, room_c, 0.0)[1]
        goal = 1.0 + rng.choice((-1, 1)) * rng.uniform(0.0, 0.25)
        part = rng.choice(("inner", "fins", "cooler"))
        after = changed(box, part, goal, watts, room_c) or changed(box, "cooler", goal, watts, room_c) or box
    shared = {
        "noise": rng.uniform(0.05, 0.35), "resolution": rng.choice((1.0, 1.0, 0.5, 0.125)), "lag_s": rng.uniform(0, 3),
        "offset": rng.gauss(0.0, 1.2), "scale": 1.0 + rng.uniform(-0.03, 0.03), "period_s": rng.choice((0.5, 1.0, 2.0)),
    }  # fmt: skip
    begin_s = rng.uniform(120.0, 300.0)
    free_c = box.settled(box.cores, room_c, shared["offset"])[0]
    limit_c = round(room_c + (free_c - room_c) * rng.uniform(0.7, 1.0)) if rng.random() < 0.3 else None

    def setup() -> Setup:
        return Setup(
            rng.randrange(10**9), room_c + rng.uniform(-3.0, 3.0), rng.choice((CALM, CALM, DRIFT)),
            (begin_s * rng.uniform(0.9, 1.1), LOAD_S), rng.uniform(0.95, 1.05), limit_c=limit_c, **shared,
        )  # fmt: skip

    then, now = setup(), setup()
    earlier, present = lived(box, then), lived(after, now)
    is_true, as_before = lived(after, now, is_true=True), lived(box, now, is_true=True)
    off = [rng.gauss(0.0, 0.4) for _ in range(2)]
    said = []
    for since_s in TIMES_S:
        found = running_difference(moment(present, since_s, off[1]), moment(earlier, since_s, off[0]), since_s)
        found = found if isinstance(found, RunningDifference) else None
        true, other = (moment(one, since_s, 0.0) for one in (is_true, as_before))
        is_watts = found is not None and found.is_watts
        truth = (true.power_w - other.power_w) * shared["scale"] if is_watts else true.temp_c - other.temp_c
        said.append(Said(since_s, "throttled" if is_watts else box.kind, 0.0 if after is box else truth, found))
    return said


def line(name: str, some: list[Said]) -> str:
    given = [one for one in some if one.found is not None]
    said = [one for one in given if one.is_told]
    wrong, covered = sum(one.is_wrong for one in said), sum(one.is_covered for one in given)
    halves = sorted(one.found.difference.high - one.found.difference.value for one in given)
    half = halves[len(halves) // 2] if halves else 0.0
    return (
        f"{name:18}{len(some):7d}{len(given):7d}{len(said):7d}{wrong / max(len(some), 1):9.1%}"
        f"{covered / max(len(given), 1):10.1%}{half:9.2f}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("count", nargs="?", type=int, default=100)
    parser.add_argument("first", nargs="?", type=int, default=1)
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    args = parser.parse_args()
    os.nice(10)
    with ProcessPoolExecutor(args.processes) as pool:
        said = [one for many in pool.map(told, range(args.first, args.first + args.count), chunksize=4) for one in many]
    print(f"{'':18}{'asked':>7}{'said':>7}{'sure':>7}{'wrong':>9}{'covered':>10}{'half [K]':>9}")
    for t_s in TIMES_S:
        print(line(f"after {t_s:.0f} s", [one for one in said if one.t_s == t_s]))
    for kind in sorted({one.kind for one in said}):
        print(line(kind, [one for one in said if one.kind == kind]))
    print(line("all", said))


if __name__ == "__main__":
    main()
