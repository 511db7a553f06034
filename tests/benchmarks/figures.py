"""From judged runs to the figures that are printed: precision, recall, alarms per hour, latency and the rest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from statistics import median

from benchmon.model.events import Cause, ThrottleEvent
from tests.benchmarks.matching import Span, fragments, match, overlap_s

HEAT = Cause.THERMAL.value
OFTEN_S = 5.0
"""Sampling period up to which latency is also given by itself: what is seen every ten seconds is told later."""


@dataclass
class Judged:
    """One run, what was true of it and what the detector said."""

    kind: str
    seed: int
    true: list[Span]
    events: tuple[ThrottleEvent, ...]
    duration_s: float
    samples: int
    cost_us: float
    """Time of the detector for one sample [µs]."""

    @property
    def has_heat(self) -> bool:
        return any(span.cause == HEAT for span in self.true)

    def said(self, cause_of: Callable[[ThrottleEvent], Cause]) -> list[Span]:
        return [
            Span(event.start_s, event.end_s if event.end_s is not None else self.duration_s, cause_of(event).value)
            for event in self.events
        ]


def final(event: ThrottleEvent) -> Cause:
    return event.cause


def first(event: ThrottleEvent) -> Cause:
    return event.first_cause


@dataclass
class Tally:
    """Hits, false alarms, misses and fragments of one cause."""

    hits: int = 0
    false: int = 0
    missed: int = 0
    pieces: int = 0

    @property
    def precision(self) -> float:
        return self.hits / (self.hits + self.false) if self.hits + self.false else 1.0

    @property
    def recall(self) -> float:
        return self.hits / (self.hits + self.missed) if self.hits + self.missed else 1.0

    @property
    def f1(self) -> float:
        both = self.precision + self.recall
        return 2.0 * self.precision * self.recall / both if both else 0.0


def without_latched(runs: Sequence[Judged]) -> list[Judged]:
    """The same runs without the true events that nothing but a known limit could tell from a cap or a power budget."""
    kept = []
    for run in runs:
        latched = [span for span in run.true if span.latched]
        events = tuple(
            event
            for event, said in zip(run.events, run.said(final), strict=True)
            if not any(overlap_s(said, span) > 0.5 * said.length_s for span in latched)
        )
        kept.append(replace(run, true=[span for span in run.true if not span.latched], events=events))
    return kept


def tally(
    runs: Sequence[Judged],
    cause: str,
    cause_of: Callable[[ThrottleEvent], Cause],
    least_share: float,
    *,
    pieces_false: bool,
) -> Tally:
    """Count one cause over all runs; ``pieces_false``: a fragment counts as a false alarm."""
    total = Tally()
    for run in runs:
        said = [span for span in run.said(cause_of) if span.cause == cause]
        true = [span for span in run.true if span.cause == cause]
        taken = match(said, true, least_share)
        pieces = fragments(said, true, taken)
        total.hits += len(taken)
        total.missed += len(true) - len(taken)
        total.pieces += pieces
        total.false += len(said) - len(taken) - (0 if pieces_false else pieces)
    return total


def false_heat_per_hour(runs: Sequence[Judged]) -> float:
    """Heat events per hour of runs that have no heat at all."""
    quiet = [run for run in runs if not run.has_heat]
    hours = sum(run.duration_s for run in quiet) / 3600.0
    alarms = sum(event.cause is Cause.THERMAL for run in quiet for event in run.events)
    return alarms / hours if hours else 0.0


@dataclass
class Errors:
    """Onset error, latency and plateau error over matched heat events."""

    onset_s: list[float] = field(default_factory=list)
    latency_s: list[float] = field(default_factory=list)
    plateau_k: list[float] = field(default_factory=list)


def errors(runs: Sequence[Judged]) -> Errors:
    found = Errors()
    for run in runs:
        events = [event for event in run.events if event.cause is Cause.THERMAL]
        said = [span for span in run.said(final) if span.cause == HEAT]
        true = [span for span in run.true if span.cause == HEAT]
        for place, other in match(said, true, 0.0).items():
            event, real = events[place], true[other]
            found.onset_s.append(abs(event.start_s - real.start_s))
            found.latency_s.append(event.announced_s - real.start_s)
            if real.plateau_c is not None and event.temp_plateau_c is not None:
                found.plateau_k.append(abs(event.temp_plateau_c - real.plateau_c))
    return found


def quantile(values: Sequence[float], share: float) -> float:
    """Nearest-rank quantile; NaN for no values."""
    ordered = sorted(values)
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)] if ordered else float("nan")


def confusion(runs: Sequence[Judged]) -> Counter[tuple[str, str]]:
    """(true cause, said cause) for each true span: the cause of the event that covers it most, or ``nothing``."""
    pairs: Counter[tuple[str, str]] = Counter()
    for run in runs:
        said = run.said(final)
        for real in run.true:
            best = max(said, key=lambda span, real=real: overlap_s(span, real), default=None)  # type: ignore[misc]
            covered = best is not None and overlap_s(best, real) > 0.0
            pairs[real.cause, best.cause if best is not None and covered else "nothing"] += 1
        for span in said:
            if not any(overlap_s(span, real) > 0.0 for real in run.true):
                pairs["nothing", span.cause] += 1
    return pairs


def report(title: str, runs: Sequence[Judged]) -> str:
    """The printed table of one setting."""
    loose = tally(runs, HEAT, final, 0.0, pieces_false=False)
    announced = tally(runs, HEAT, first, 0.0, pieces_false=False)
    strict = tally(runs, HEAT, final, 0.5, pieces_false=True)
    shown = without_latched(runs)
    shown_final = tally(shown, HEAT, final, 0.0, pieces_false=False)
    shown_first = tally(shown, HEAT, first, 0.0, pieces_false=False)
    latched = sum(span.latched and span.cause == HEAT for run in runs for span in run.true)
    found, often = errors(runs), errors([run for run in runs if run.duration_s <= 1.2 * OFTEN_S * run.samples])
    lines = [
        f"== {title}: {len(runs)} runs, {sum(run.duration_s for run in runs) / 3600.0:.1f} h",
        f"heat, final cause      precision {loose.precision:.3f}  recall {loose.recall:.3f}  F1 {loose.f1:.3f}"
        f"   ({loose.hits} hits, {loose.false} false, {loose.missed} missed, {loose.pieces} fragments)",
        f"heat, first announced  precision {announced.precision:.3f}  recall {announced.recall:.3f}  F1 {announced.f1:.3f}",
        f"heat, overlap >= 0.5   precision {strict.precision:.3f}  recall {strict.recall:.3f}  F1 {strict.f1:.3f}",
        _named_line(runs),
        f"without the {latched} latched drops: F1 final {shown_final.f1:.3f}, first announced {shown_first.f1:.3f}",
        f"false heat per hour on lookalikes {false_heat_per_hour(runs):.3f}",
        f"onset error s   median {_median(found.onset_s):.2f}  p95 {quantile(found.onset_s, 0.95):.2f}",
        f"latency s       p50 {quantile(found.latency_s, 0.5):.1f}  p95 {quantile(found.latency_s, 0.95):.1f}"
        f"  (sampled at {OFTEN_S:.0f} s or oftener: {quantile(often.latency_s, 0.5):.1f}, {quantile(often.latency_s, 0.95):.1f})",
        f"plateau error K median {_median(found.plateau_k):.2f}  p95 {quantile(found.plateau_k, 0.95):.2f}"
        f"  ({len(found.plateau_k)} plateaus)",
        f"cost µs a sample, mean {sum(run.cost_us * run.samples for run in runs) / max(sum(run.samples for run in runs), 1):.1f}",
        _confusion_table(confusion(runs)),
    ]
    return "\n".join(lines)


def _named_line(runs: Sequence[Judged]) -> str:
    """F1 of each named cause, any overlap."""
    cells = []
    for cause in (Cause.THERMAL, Cause.POWER_LIMIT, Cause.OUTSIDE):
        counted = tally(runs, cause.value, final, 0.0, pieces_false=False)
        cells.append(f"{cause.value} {counted.f1:.3f} ({counted.hits}/{counted.false}/{counted.missed})")
    return "named F1 (hits/false/missed)  " + "  ".join(cells)


def _median(values: Sequence[float]) -> float:
    return median(values) if values else float("nan")


def _confusion_table(pairs: Counter[tuple[str, str]]) -> str:
    names = [*(cause.value for cause in Cause), "nothing"]
    rows = ["true \\ said   " + "".join(f"{name:>13}" for name in names)]
    rows += [f"{real:<14}" + "".join(f"{pairs[real, said]:>13}" for said in names) for real in names]
    return "\n".join(rows)
