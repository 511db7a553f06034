"""A third virtual bench, of other physics again, for what the first two take for granted.

**What it assumes.** Heat runs along a rod of four to six slices whose outer ones each have fins: a response with many
times in it and no single way out. Still air takes heat with the fourth root of the rise, moved air with its speed to
the power 0.6, and is warmed by what it takes. A chip's power goes with its clock to a drawn power (1.7 to 3.0), its
leakage is a parabola over temperature, its bins fall in pairs of cores. Clocks are whole states. Firmware is a set of
controllers that look now and then through a sensor of their own that lags and has steps, move a ceiling by states and
wait a while before they give one back; a power limit keeps a store of credit; heat may gate the clock in eighths.

**How it differs from the other two.** The first has a Cauer chain solved implicitly and firmware that can ask what a
clock would draw; the second has three stores and proportional-integral control. Both tell the detector the very
temperature that is defended, begin with a free stretch, load the processor that is read, and have it for themselves.
Here:

* the told limit lies 0, 5, 12, 20 or 32 K above what is defended (60 to 97 °C), or is not told; budgets and caps end as
  far below it; the kernel's counter counts at the told limit, so it says nothing where another is defended;
* power limits are at work from the first second, with credit for seconds to a minute or none, not told, told wrong,
  and changed while it runs; a told clock range is the only thing to compare with in some;
* loads are elsewhere: a board whose clock stays up while it waits, with a load that is its host's (0 to 8 %) or none;
* neighbours take the cores, in a guest without sensors and on a real machine: that is no event;
* one busy core of eight; fanless coolers; fan curves that hold a temperature; channels that are missing; a lag and
  whole-kelvin steps of the sensor; 0.1 to 10 s between samples, with holes.

What it does not have: several packages, a hot spot that moves, air that is preheated by other parts, a board's memory
that is hotter than its chip.

A run is drawn again until what its kind is about really limits in it and nothing else does.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from benchmon.model.events import Cause
from benchmon.model.records import Record
from tests.benchmarks.matching import Span
from tests.benchmarks.third_bench.free_kinds import FREE_KINDS
from tests.benchmarks.third_bench.heat_kinds import HEAT_KINDS
from tests.benchmarks.third_bench.kind import Draw, Kind
from tests.benchmarks.third_bench.limits import STEP_S
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.other_kinds import OUTSIDE_KINDS
from tests.benchmarks.third_bench.play import Played, play
from tests.benchmarks.third_bench.power_kinds import POWER_KINDS
from tests.benchmarks.third_bench.reading import Seen, see
from tests.benchmarks.third_bench.script import Script
from tests.benchmarks.true_spans import true_spans

KINDS: Mapping[str, Kind] = MappingProxyType({**HEAT_KINDS, **POWER_KINDS, **OUTSIDE_KINDS, **FREE_KINDS})
"""Name → kind; heat first."""

MOST_DRAWS = 60
LEAST_LIMITED_S = {Cause.THERMAL: 40.0, Cause.POWER_LIMIT: 40.0, Cause.OUTSIDE: 3.0}
"""A run is limited by what its kind is about at least so long [s]."""
OVERSHOOT_K = 8.0
"""A firmware that lets a die get hotter than this above what it defends defends nothing."""
HOTTEST_C = 100.0
"""Where nothing defends a temperature none may be higher, or something would."""


@dataclass(frozen=True)
class Run:
    """One run: what was seen and what was true."""

    kind: str
    seed: int
    seen: Seen
    truth: tuple[Span, ...]
    duration_s: float
    reference_c: float
    """What is defended; where nothing is, the hottest the die was while limited, or at all [°C]."""
    margin_k: float
    """The told limit lies so far above it [K]."""

    def records(self, knows: Collection[str], margin_k: float | None = None) -> Iterator[Record]:
        """The session's records, with the told limit ``margin_k`` above the reference, or as drawn."""
        margin_k = self.margin_k if margin_k is None else margin_k
        return self.seen.records(knows, self.reference_c + margin_k)


def make(name: str, seed: int) -> Run:
    """The run of a kind for a seed.

    Raises:
        RuntimeError: no draw was such a run.
    """
    kind = KINDS[name]
    margin_k = kind.margins_k[seed % len(kind.margins_k)]
    for attempt in range(MOST_DRAWS):
        luck = Luck(f"{name} {seed} {attempt}")
        script = kind.draw(Draw(luck, margin_k))
        played = play(script, luck)
        truth = true_spans(played)
        if _is_what_it_says(kind, script, played, truth):
            reference_c = script.defends_c if script.defends_c is not None else _hottest_c(played, truth)
            seen = see(script, played, luck)
            return Run(name, seed, seen, tuple(truth), script.length_s, reference_c, margin_k)
    raise RuntimeError(f"no run of {name} for seed {seed}")


def _is_what_it_says(kind: Kind, script: Script, played: Played, truth: list[Span]) -> bool:
    if {span.cause for span in truth} != {cause.value for cause in kind.causes}:
        return False
    for cause in kind.causes:
        if sum(span.length_s for span in truth if span.cause == cause.value) < LEAST_LIMITED_S[cause]:
            return False
    highest_c = HOTTEST_C if script.defends_c is None else script.defends_c + OVERSHOOT_K
    return float(played.die_c.max()) <= highest_c


def _hottest_c(played: Played, truth: list[Span]) -> float:
    if not truth:
        return float(played.die_c.max())
    return max(float(played.die_c[int(span.start_s / STEP_S) : int(span.end_s / STEP_S)].max()) for span in truth)
