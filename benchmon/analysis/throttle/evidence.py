"""The one table of evidence, and the probability of each cause that follows from it.

Score of a cause = its start + Σ weight · strength; "none of these" has score 0; the probabilities are the scores'
exponentials, normalised. Weights are in e-folds of odds. Their signs and bounds are written by hand from what each
measure can mean; within these they are fitted to the tuning seeds of the virtual benches, drawn towards the hand's
guess, by ``python -m tests.benchmarks.fit_evidence``, which prints this table anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from typing import NamedTuple

from benchmon.analysis.throttle.episode import Episode
from benchmon.analysis.throttle.measures import Measured, measures
from benchmon.model.events import Cause, Evidence, Wanted
from benchmon.model.events import EvidenceKind as Kind

NAMED = 0.8
"""A cause is named from this probability on."""
WORTH_TELLING = 0.4
"""Evidence that moves the odds by less is not told."""


class Weights(NamedTuple):
    """How far one measure, at strength 1, moves the score of each cause."""

    thermal: float = 0.0
    power: float = 0.0
    outside: float = 0.0


START = Weights(-0.10, -1.56, -1.22)
"""Where no evidence is: most drops that are followed for long are heat, so that prior is the highest."""

TABLE: dict[Kind, Weights] = {
    Kind.HELD_WHILE_POWER_MOVED: Weights(3.69, 0.00, 0.00),
    Kind.HELD_SINCE_POWER_FELL: Weights(2.80, 0.00, 0.00),
    Kind.NOTHING_ELSE_HELD: Weights(2.47, 0.00, 0.00),
    Kind.STAYS: Weights(0.09, 0.00, 0.00),
    Kind.FOLLOWS_POWER: Weights(0.00, 0.16, 1.50),
    Kind.TEETH: Weights(3.88, -0.73, -0.01),
    Kind.TEETH_TO_FLOOR: Weights(0.00, 0.00, 2.50),
    Kind.TEETH_ELSEWHERE: Weights(-0.96, 0.00, 0.72),
    Kind.HEAT_HERE_BEFORE: Weights(1.58, 0.00, 0.00),
    Kind.SAME_ONSET: Weights(1.60, 0.00, 0.00),
    Kind.OTHER_ONSETS: Weights(-2.84, 2.50, 0.00),
    Kind.RAN_FREE_HOTTER: Weights(-2.20, 0.00, 0.00),
    Kind.FRESH_PEAK: Weights(0.97, 0.00, 0.00),
    Kind.RISING: Weights(0.64, 1.50, -0.63),
    Kind.AT_TOLD_LIMIT: Weights(3.50, 0.00, 0.00),
    Kind.COLD: Weights(-4.84, 0.00, 0.00),
    Kind.NO_TEMPERATURE: Weights(-4.76, 0.00, 0.00),
    Kind.CLIMBED_ON: Weights(-1.80, 0.00, 0.00),
    Kind.TAKEN_DOWN_WHILE_COOLING: Weights(-1.26, 0.00, 0.00),
    Kind.HEAT_GAVE_UP: Weights(-2.91, 0.00, 2.07),
    Kind.LIGHTER_WORK: Weights(-3.65, -1.72, -3.28),
    Kind.POWER_ALONE_FELL: Weights(0.00, -2.41, -1.34),
    Kind.LOAD_MAY_HAVE_ENDED: Weights(-5.00, -5.00, -5.00),
    Kind.SINCE_LOAD_BEGAN: Weights(-0.84, 1.50, 0.00),
    Kind.AFTER_USUAL_BUDGET: Weights(0.00, 2.62, 0.00),
    Kind.AT_ONCE: Weights(-0.48, 0.00, -1.50),
    Kind.LONGER_THAN_BUDGETS: Weights(0.00, -1.71, 0.00),
    Kind.AT_POWER_LIMIT: Weights(0.00, 5.70, 0.00),
    Kind.BELOW_POWER_LIMIT: Weights(0.00, -1.83, 0.15),
    Kind.BUDGET_USED_UP: Weights(0.00, 0.80, 0.00),
    Kind.POWER_HELD: Weights(0.00, 1.41, -0.33),
    Kind.CLOCK_HELD: Weights(0.86, -0.55, 0.66),
    Kind.CLOCK_FOLLOWS_LEAKAGE: Weights(0.00, 3.15, -1.25),
    Kind.POWER_FOLLOWS_LEAKAGE: Weights(0.00, -1.32, 0.00),
    Kind.COOLING_STEP: Weights(5.01, 0.00, 0.00),
    Kind.HEAT_COUNTED: Weights(2.50, 0.00, 0.00),
    Kind.NO_HEAT_COUNTED: Weights(-2.38, 0.00, 0.00),
    Kind.CAP_FELL: Weights(-3.40, -2.00, 5.60),
    Kind.NO_CAP: Weights(0.00, 0.00, -0.34),
    Kind.AT_FLOOR: Weights(0.00, -1.64, 2.50),
    Kind.COLD_AT_FLOOR: Weights(-3.85, 0.00, 3.86),
}

_CAUSES = (Cause.THERMAL, Cause.POWER_LIMIT, Cause.OUTSIDE)
_ALL = (*_CAUSES, Cause.UNEXPLAINED)


@dataclass(frozen=True, slots=True)
class Judgement:
    """What the evidence says at one moment."""

    causes: dict[Cause, float]
    """Probability of each cause."""
    measured: Sequence[Measured]

    @property
    def named(self) -> Cause:
        """The cause that is likely enough to be named; else unexplained."""
        best = max(_CAUSES, key=lambda cause: self.causes[cause])
        return best if self.causes[best] >= NAMED else Cause.UNEXPLAINED

    def evidence(self) -> tuple[Evidence, ...]:
        """What moved the odds of the likeliest cause against the next likeliest.

        First what speaks for it, then what speaks against the other, then what speaks against it; strongest first.
        """
        first, second = sorted(range(4), key=lambda place: -self.causes[_ALL[place]])[:2]
        told = []
        for kind, strength, figures in self.measured:
            weights = (*TABLE[kind], 0.0)
            weight = strength * (weights[first] - weights[second])
            if abs(weight) >= WORTH_TELLING:
                group = 2 if weight < 0.0 else 0 if strength * weights[first] > 0.0 else 1
                told.append((group, Evidence(kind, round(weight, 2), figures)))
        told.sort(key=lambda one: (one[0], -abs(one[1].weight)))
        return tuple(evidence for _, evidence in told)


def judge(episode: Episode) -> Judgement:
    """Weigh all that is measured of the event now."""
    measured = measures(episode)
    return Judgement(probabilities(measured), measured)


def probabilities(measured: Sequence[Measured]) -> dict[Cause, float]:
    """Probability of each cause, unexplained last; they add up to 1."""
    scores = list(START)
    for kind, strength, _ in measured:
        weights = TABLE[kind]
        for place in range(3):
            scores[place] += weights[place] * strength
    odds = [exp(min(score, 30.0)) for score in scores]
    total = sum(odds) + 1.0
    causes = {cause: one / total for cause, one in zip(_CAUSES, odds, strict=True)}
    return causes | {Cause.UNEXPLAINED: 1.0 / total}


def wanted(episode: Episode, judgement: Judgement) -> tuple[Wanted, ...]:
    """What would settle a doubt; nothing if there is next to none."""
    if max(judgement.causes[cause] for cause in _CAUSES) >= 0.95:
        return ()
    if episode.onset.temp_c is None:
        return (Wanted.TEMPERATURE,)
    if episode.power_now_w() is None:
        return (Wanted.PACKAGE_POWER,)
    known, missing = episode.told.known, []
    if known.temp_limit_c is None:
        missing.append(Wanted.TEMP_LIMIT)
    if known.power_limit_w is None:
        missing.append(Wanted.POWER_LIMIT)
    if not episode.told.heat.is_read:
        missing.append(Wanted.HEAT_COUNTER)
    return (*missing, Wanted.ANOTHER_START)
