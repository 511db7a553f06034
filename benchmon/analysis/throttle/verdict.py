"""From clues to a cause, its confidence, and what would settle a doubt."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from benchmon.analysis.throttle.case import Case, Clue
from benchmon.analysis.throttle.heat_clues import heat_clues
from benchmon.analysis.throttle.other_clues import outside_clues, power_clues
from benchmon.analysis.throttle.rules import CERTAIN, Rules
from benchmon.model.events import Cause

_NAMED = (Cause.THERMAL, Cause.POWER_LIMIT, Cause.OUTSIDE)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the evidence says at one moment."""

    cause: Cause
    score: float
    is_clear: bool
    confidence: float
    evidence: tuple[str, ...]
    would_settle: str
    scores: dict[Cause, float]

    def score_of(self, cause: Cause) -> float:
        """Score of one cause; unexplained has none."""
        return self.scores.get(cause, 0.0)


def judge(case: Case) -> Verdict:
    """Weigh all clues of a case."""
    clues = [*heat_clues(case), *power_clues(case), *outside_clues(case)]
    scores = {cause: sum(clue.weight for clue in clues if clue.cause is cause) for cause in _NAMED}
    best = max(_NAMED, key=lambda cause: scores[cause])
    others = max(scores[cause] for cause in _NAMED if cause is not best)
    clear = scores[best] >= case.rules.clear_score and scores[best] - others >= case.rules.clear_margin
    cause = best if clear else Cause.UNEXPLAINED
    return Verdict(
        cause,
        scores[best],
        clear,
        _confidence(cause, scores, case.rules),
        _sentences(cause, clues),
        _would_settle(case, cause, clues),
        scores,
    )


def _confidence(cause: Cause, scores: dict[Cause, float], rules: Rules) -> float:
    """Share of the odds, with an unnamed cause that stands one below the score at which causes are named."""
    odds = {known: exp(min(score, 12.0)) for known, score in scores.items()}
    unnamed = exp(rules.clear_score - 1.0)
    chosen = unnamed if cause is Cause.UNEXPLAINED else odds[cause]
    return min(chosen / (sum(odds.values()) + unnamed), 0.98)


def _sentences(cause: Cause, clues: list[Clue]) -> tuple[str, ...]:
    if cause is Cause.UNEXPLAINED:
        chosen = [clue for clue in clues if abs(clue.weight) >= 1.0]
    else:
        chosen = [
            clue
            for clue in clues
            if (clue.cause is cause and clue.weight > 0.0) or (clue.cause is not cause and clue.weight <= -1.0)
        ]
    chosen.sort(key=lambda clue: (clue.cause is not cause, -abs(clue.weight)))
    return tuple(clue.sentence for clue in chosen)


def _would_settle(case: Case, cause: Cause, clues: list[Clue]) -> str:
    known = case.watch.known
    if cause is not Cause.UNEXPLAINED and sum(clue.weight for clue in clues if clue.cause is cause) >= CERTAIN:
        return ""
    if case.onset.temp_c is None:
        return "a temperature reading"
    if case.power_now_w() is None:
        return "package power"
    wanted = []
    if known.temp_limit_c is None:
        wanted.append("the temperature limit")
    if known.power_limit_w is None:
        wanted.append("the power limit")
    if not case.watch.heat.is_read:
        wanted.append("the kernel's heat counter")
    if wanted:
        return "knowing " + " or ".join(wanted)
    return "the same run again with better cooling: heat would then limit later or not at all"
