"""How good the probabilities of an event's causes are: the likeliest one right, and said shares against true ones."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from benchmon.model.events import Cause, ThrottleEvent
from tests.benchmarks.figures import Judged
from tests.benchmarks.matching import overlap_s

BINS = 10
NOTHING = "nothing"


def causes_of(event: ThrottleEvent) -> Mapping[str, float]:
    """Cause, as truth writes it → probability."""
    return {cause.value: share for cause, share in event.causes.items()}


def likeliest(event: ThrottleEvent) -> str:
    """The most probable cause."""
    return event.likeliest.value


@dataclass(frozen=True)
class Told:
    """One event as it was said last, and what was true of it."""

    causes: Mapping[str, float]
    true: str
    """The true cause that covers most of it; ``nothing`` where nothing was limited."""

    @property
    def likeliest(self) -> str:
        return max(self.causes, key=lambda cause: self.causes[cause])


def told_events(runs: Sequence[Judged]) -> Iterator[Told]:
    """Every event of these runs with what was true of it."""
    for run in runs:
        for event, said in zip(run.events, run.said(lambda event: event.cause), strict=True):
            best = max(run.true, key=lambda real, said=said: overlap_s(said, real), default=None)  # type: ignore[misc]
            is_true = best is not None and overlap_s(said, best) > 0.0
            yield Told(causes_of(event), best.cause if best is not None and is_true else NOTHING)


def likeliest_right(told: Sequence[Told]) -> float:
    """Share of the events in which something did limit whose likeliest cause was the true one."""
    real = [one for one in told if one.true != NOTHING]
    return sum(one.likeliest == one.true for one in real) / len(real) if real else float("nan")


def calibration(told: Sequence[Told]) -> list[tuple[float, float, int]]:
    """(mean probability said, share that was right, events) of each bin of the likeliest cause's probability."""
    bins: list[list[tuple[float, bool]]] = [[] for _ in range(BINS)]
    for one in told:
        share = one.causes[one.likeliest]
        bins[min(int(share * BINS), BINS - 1)].append((share, one.likeliest == one.true))
    return [
        (sum(share for share, _ in each) / len(each), sum(right for _, right in each) / len(each), len(each))
        for each in bins
        if each
    ]


def mean_gap(told: Sequence[Told]) -> float:
    """Mean distance between said and true over the bins, each weighed by its events."""
    bins = calibration(told)
    events = sum(count for _, _, count in bins)
    return sum(abs(said - right) * count for said, right, count in bins) / events if events else float("nan")


def brier(told: Sequence[Told]) -> float:
    """Brier's score over all causes, 0 … 2; lower is better (G. W. Brier, Monthly Weather Review 78, 1950)."""
    if not told:
        return float("nan")
    names = [cause.value for cause in Cause]
    return sum(sum((one.causes.get(name, 0.0) - (name == one.true)) ** 2 for name in names) for one in told) / len(told)


def likelihood_lines(runs: Sequence[Judged]) -> list[str]:
    """The printed lines of one setting."""
    told = list(told_events(runs))
    bins = "  ".join(f"{said:.2f}→{right:.2f} ({count})" for said, right, count in calibration(told))
    return [
        f"likeliest cause right {likeliest_right(told):.3f}   mean gap {mean_gap(told):.3f}   Brier {brier(told):.3f}"
        f"   ({len(told)} events, {sum(one.true == NOTHING for one in told)} of nothing)",
        f"said → right           {bins}",
    ]
