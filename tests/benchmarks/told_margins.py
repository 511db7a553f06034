"""Heat found, and false heat, by how far the told limit lies above what is really defended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tests.benchmarks.figures import HEAT, Judged, final
from tests.benchmarks.likelihoods import likeliest
from tests.benchmarks.matching import Span, match, overlap_s

MARGINS_K = (0.0, 5.0, 12.0, 20.0, 32.0)


def setting_of(margin_k: float) -> str:
    """Name of the setting in which the told limit lies so far above the defended one."""
    return f"told +{margin_k:.0f} K"


def margin_table(judged: Mapping[str, Sequence[Judged]]) -> str:
    """The table, from runs that were judged once for each margin; runs of the same kinds and seeds stand in each row."""
    rows = [
        "told limit above what is defended (heat), or above where it ends (budgets, caps)",
        "              heat   named  likeliest   found |  no heat: runs   false named  false likeliest",
    ]
    for margin_k in MARGINS_K:
        runs = judged.get(setting_of(margin_k), ())
        hot = [run for run in runs if run.has_heat]
        cold = [run for run in runs if not run.has_heat]
        spans = sum(real.cause == HEAT for run in hot for real in run.true)
        if not spans:
            continue
        named, likely, found = (sum(_found(run, how) for run in hot) for how in ("named", "likely", "any"))
        false_named = sum(any(final(event).value == HEAT for event in run.events) for run in cold)
        false_likely = sum(any(likeliest(event) == HEAT for event in run.events) for run in cold)
        rows.append(
            f"{setting_of(margin_k):12}{spans:6}{named / spans:8.3f}{likely / spans:11.3f}{found / spans:8.3f} |"
            f"{len(cold):15}{_share(false_named, len(cold)):>14}{_share(false_likely, len(cold)):>17}"
        )
    return "\n".join(rows)


def _share(part: int, whole: int) -> str:
    return f"{part / whole:.3f}" if whole else "–"


def _found(run: Judged, how: str) -> int:
    """True heat intervals with an event: named heat, or with heat as its likeliest cause, or any at all."""
    real = [span for span in run.true if span.cause == HEAT]
    said = run.said(final)
    if how == "any":
        return sum(any(overlap_s(span, one) > 0.0 for one in said) for span in real)
    kept: list[Span] = [
        span
        for event, span in zip(run.events, said, strict=True)
        if (span.cause if how == "named" else likeliest(event)) == HEAT
    ]
    return len(match(kept, real, 0.0))
