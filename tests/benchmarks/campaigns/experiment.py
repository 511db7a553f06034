"""The experiment that settles a doubt, on virtual machines that nobody tells the limits of.

    python -m tests.benchmarks.campaigns.experiment [SEEDS] [FIRST] [--widest] [--verbose]

Each seed draws a machine, then a cause: latched heat, a power budget with a window of 1 to 56 s, or a cap that comes and
goes when it likes. What would tell the cause at once is hidden: limits are not told at all, or told too high; heat
counters, cooling steps and caps are not read. The plan *onset* is recorded by the recorder itself in accelerated time, and
what the experiment then says is held against the truth. The work is scalar; with --widest it is the widest, under which
many of these machines take their clock down by design.
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.plan.experiment import experiment
from benchmon.analysis.plan.judge import PhaseJudge
from benchmon.model import keys
from benchmon.model.events import Cause
from benchmon.model.plan_findings import Experiment
from benchmon.model.records import Sample, SessionHeader, Setting
from benchmon.model.work_kinds import SCALAR, WIDEST
from benchmon.plans.shipped import shipped_plan
from benchmon.session.reader import read_session
from benchmon.stream.options import RecordOptions, VirtualMachine
from benchmon.stream.plan import steps_of
from benchmon.stream.recorder import record
from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.chip import WORK_ACTIVITY
from benchmon.virtual_bench.firmware import Cap, PowerLimit
from benchmon.virtual_bench.heat_limits import Latch
from benchmon.virtual_bench.spec import BoxSpec
from benchmon.virtual_bench.tree import SysTree
from tests.benchmarks.first_bench.machines import draw_machine
from tests.benchmarks.first_bench.reference import Reference

CAUSES = (Cause.THERMAL, Cause.POWER_LIMIT, Cause.OUTSIDE)
_LIMITS = {keys.TEMP_LIMIT, "temp_critical_c", keys.POWER_LIMIT_LONG, keys.POWER_LIMIT_SHORT, keys.POWER_WINDOW_LONG}
_HIDDEN = {
    keys.CORE_THROTTLE_COUNT, keys.PACKAGE_THROTTLE_COUNT, keys.COOLING_STEP, keys.CLOCK_CAP, keys.PLATFORM_CAP,
}  # fmt: skip
_TOO_HIGH = {keys.TEMP_LIMIT: 1.2, "temp_critical_c": 1.2, keys.POWER_LIMIT_LONG: 1.4, keys.POWER_LIMIT_SHORT: 1.6}


@dataclass(frozen=True)
class Told:
    """One machine and what was said of it."""

    seed: int
    truth: Cause
    alone: Cause
    """What the first event alone was said to be."""
    found: Experiment | None
    lasted_s: float
    limits_told: bool
    window_s: float | None = None

    @property
    def said(self) -> Cause:
        return Cause.UNEXPLAINED if self.found is None else self.found.cause


class Hiding:
    """Takes out of the records what would tell the cause at once."""

    def __init__(self, told: bool) -> None:
        self._told = told
        self._hidden: list[int] = []

    def seen(self, one):
        if isinstance(one, SessionHeader):
            self._hidden = [at for at, channel in enumerate(one.channels) if channel.key in _HIDDEN]
        elif isinstance(one, Sample):
            values = list(one.values)
            for at in self._hidden:
                values[at] = None
            return replace(one, values=tuple(values))
        elif isinstance(one, Setting) and one.key in _LIMITS:
            if not self._told:
                return None
            return replace(one, value=one.value * _TOO_HIGH.get(one.key, 1.0))
        return one


class HidingJudge(PhaseJudge):
    """The plan is carried out knowing no more than is judged from."""

    def __init__(self, hiding: Hiding) -> None:
        super().__init__()
        self._hiding = hiding

    def accept(self, record):
        seen = self._hiding.seen(record)
        if seen is not None:
            super().accept(seen)


def machine(seed: int, work: str = SCALAR) -> tuple[VirtualBox, Cause, float | None]:
    """A machine, what limits it, and the budget's window if it has one [s]."""
    rng = random.Random(f"experiment {seed}")
    spec = replace(draw_machine(rng), governor="performance", room_drift_k_per_h=0.0)
    cause = CAUSES[seed % 3]
    chip, reference = spec.chip, Reference(spec)
    free_mhz = chip.free_mhz(chip.cores, 1.0, work)
    settled_w = reference.settled_power_w(chip.cores, WORK_ACTIVITY[work])
    low_mhz = max(chip.lowest_mhz, rng.uniform(0.45, 0.8) * free_mhz)
    if cause is Cause.THERMAL:
        cold_c, hot_c = pilot(spec, seed, work)
        trip_c = cold_c + rng.uniform(0.55, 0.95) * (hot_c - cold_c)
        return VirtualBox(spec, seed, (Latch(trip_c, low_mhz),)), cause, None
    if cause is Cause.POWER_LIMIT:
        window_s = rng.choice((1.0, 2.5, 8.0, 28.0, 32.0, 56.0, rng.uniform(1.0, 56.0)))
        limit_w = rng.uniform(0.5, 0.85) * settled_w  # of the power at this work
        return VirtualBox(spec, seed, (PowerLimit(limit_w, 2.0 * settled_w, window_s),)), cause, window_s
    spans, at_s = [], 60.0 + rng.uniform(3.0, 200.0)
    for _ in range(12):
        length_s = rng.uniform(30.0, 300.0)
        spans.append((at_s, at_s + length_s, low_mhz))
        at_s += length_s + rng.uniform(30.0, 300.0)
    return VirtualBox(spec, seed, (Cap(tuple(spans)),)), cause, None


def pilot(spec: BoxSpec, seed: int, work: str) -> tuple[float, float]:
    """Hottest core before and after eight minutes of load that nothing limits [°C]: the doubt was raised by an event."""
    box = VirtualBox(spec, seed)
    box.step(60.0)
    cold_c = box.hot_c
    box.set_load(spec.cores, kind=work)
    box.step(480.0)
    return cold_c, box.hot_c


def one(seed: int, plan_name: str = "onset", work: str = SCALAR) -> Told:
    """Carry out the plan on one machine."""
    box, truth, window_s = machine(seed, work)
    limits_told = seed // 3 % 2 == 1
    plan = shipped_plan(plan_name, box.spec.cores)
    with tempfile.TemporaryDirectory() as folder:
        path, tree = Path(folder) / "x.session.jsonl", Path(folder) / "tree"
        virtual = VirtualMachine(box.spec.name, box, SysTree(tree, box), tree, 1e6)
        options = RecordOptions(
            path, period_s=0.5, steps=steps_of(plan, work), plan=plan, judge=HidingJudge(Hiding(limits_told)),
            virtual=virtual, quiet=True, stop_at_c=125.0,
        )  # fmt: skip
        record(options, ())
        session = read_session(path)
    hiding, analysis = Hiding(limits_told), LiveAnalysis(look_every_s=float("inf"))
    for each in (session.header, *session.records):
        seen = hiding.seen(each)
        if seen is not None:
            analysis.feed(seen)
    found = experiment(analysis.notebook, analysis.events)
    alone = analysis.events[0].cause if analysis.events else Cause.UNEXPLAINED
    return Told(seed, truth, alone, found, session.end.t_s, limits_told, window_s)


def main() -> None:
    """Print shares right, wrong and open, and how long it took."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    count, first = (numbers + [60, 0])[0], (numbers + [0, 0])[1] if len(numbers) > 1 else 0
    work = WIDEST if "--widest" in sys.argv else SCALAR
    told = []
    with ProcessPoolExecutor(1, max_tasks_per_child=1) as pool:  # a recorder in a process of its own, as elsewhere
        for each in pool.map(partial(one, work=work), range(first, first + count)):
            told.append(each)
            if "--verbose" in sys.argv:
                _tell(each)
    unseen = [each for each in told if each.found is None]
    told = [each for each in told if each.found is not None]
    print(f"{len(unseen)} machines whose loads were not seen to be held back twice: nothing to settle")
    for words, said in (("the first event alone", [each.alone for each in told]),
                        ("the experiment", [each.said for each in told])):  # fmt: skip
        print(f"{words}: {_shares(told, said)}")
    for truth in CAUSES:
        some = [each for each in told if each.truth is truth]
        if some:
            print(f"  {truth.value}: {_shares(some, [each.said for each in some])}")
    lasted = sorted(each.lasted_s / 60.0 for each in told)
    print(f"length: {lasted[0]:.0f} to {lasted[-1]:.0f} min, median {lasted[len(lasted) // 2]:.0f} min")


def _shares(told: list[Told], said: list[Cause]) -> str:
    kinds = Counter(
        "open" if cause is Cause.UNEXPLAINED else "right" if cause is each.truth else "wrong"
        for each, cause in zip(told, said, strict=True)
    )
    return f"{len(told)} machines, " + ", ".join(
        f"{kinds[kind] / len(told):.1%} {kind}" for kind in ("right", "wrong", "open")
    )


def _tell(each: Told) -> None:
    onsets = [] if each.found is None else [
        f"{'–' if o.onset_s is None else round(o.onset_s - o.load_s)}s {o.start_c:.0f}>{o.onset_c:.0f}C {o.energy_j:.0f}J"
        for o in each.found.onsets
    ]  # fmt: skip
    causes = {} if each.found is None else {c.value[:5]: round(p, 3) for c, p in each.found.causes.items()}
    print(each.seed, each.truth.value, each.window_s and round(each.window_s, 1), "alone", each.alone.value, "->",
          each.said.value, causes, onsets, f"{each.lasted_s:.0f}s", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
