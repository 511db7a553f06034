"""A second virtual bench, written without knowledge of the one in ``benchmon.virtual_bench``.

A detector that is tuned on one simulator learns that simulator as well. This one shares no code with the first and has
another thermal network, other limiters and other draws: what the detector does well on both is not owed to the bench.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from benchmon.analysis.intake.series import Observation
from benchmon.model.events import Cause
from tests.benchmarks.matching import Span
from tests.benchmarks.second_bench.dice import Dice
from tests.benchmarks.second_bench.free_kinds import FREE_KINDS
from tests.benchmarks.second_bench.heat_kinds import HEAT_KINDS
from tests.benchmarks.second_bench.kind import Kind
from tests.benchmarks.second_bench.limited_kinds import LIMITED_KINDS
from tests.benchmarks.second_bench.sensing import sense
from tests.benchmarks.second_bench.simulation import Course, simulate
from tests.benchmarks.true_spans import true_spans

KINDS: Mapping[str, Kind] = MappingProxyType({**HEAT_KINDS, **LIMITED_KINDS, **FREE_KINDS})
"""Name → kind; heat first."""

MOST_DRAWS = 40
LEAST_HEAT_S = 40.0
"""A run of heat is limited by it at least so long, or it would say little [s]."""


@dataclass(frozen=True)
class Run:
    """One run: what was seen and what was true."""

    kind: str
    seed: int
    seen: tuple[Observation, ...]
    """Every sample with everything that could be known."""
    truth: tuple[Span, ...]
    duration_s: float
    tells_work: bool

    def observe(self, knows: Collection[str] = ("limits", "counter")) -> list[Observation]:
        """What a recorder would have sampled; knowing less only hides values.

        Args:
            knows: ``limits``: what the machine tells, and in every other run the rate of work; ``counter``: the
                kernel's count of heat events. Without limits there are clock, power, temperature and load alone, as in
                a table that came from elsewhere.
        """
        hidden: dict[str, Any] = {}
        if "limits" not in knows:
            hidden |= {"temp_limit_c": None, "power_limit_w": None}
        if "limits" not in knows or not self.tells_work:
            hidden["work_rate"] = None
        if "counter" not in knows:
            hidden["throttle_count"] = None
        return [one._replace(**hidden) for one in self.seen]


def make(name: str, seed: int) -> Run:
    """The run of a kind for a seed: drawn again until what the kind is about really limited, and nothing else.

    Raises:
        RuntimeError: no draw was such a run.
    """
    kind = KINDS[name]
    key = sum(ord(letter) * 131**place for place, letter in enumerate(name)) % 2**31
    for attempt in range(MOST_DRAWS):
        rng = np.random.default_rng([key, seed, attempt])
        plan = kind.draw(Dice(rng))
        course = simulate(plan, rng)
        truth = true_spans(course)
        if _is_what_it_says(kind, course, truth, plan.machine.limit_c):
            seen = sense(plan, course, rng)
            return Run(name, seed, tuple(seen), tuple(truth), plan.length_s, plan.tells_work and seed % 2 == 1)
    raise RuntimeError(f"no run of {name} for seed {seed}")


def _is_what_it_says(kind: Kind, course: Course, truth: list[Span], limit_c: float) -> bool:
    if {span.cause for span in truth} != {cause.value for cause in kind.causes}:
        return False
    if float(course.die_c.max()) > limit_c + kind.hottest_k:
        return False
    heat_s = sum(span.length_s for span in truth if span.cause == Cause.THERMAL.value)
    if Cause.THERMAL in kind.causes and heat_s < LEAST_HEAT_S:
        return False
    highest_c = limit_c - kind.power_margin_k
    powers = [span for span in truth if span.cause == Cause.POWER_LIMIT.value]
    return all(span.plateau_c is not None and span.plateau_c <= highest_c for span in powers)
