"""Numbers inside sentences of the analysis: rounded so that the doubt has one or two digits."""

from __future__ import annotations

from math import floor, log10

from benchmon.model.findings import Figure


def about(found: Figure, unit: str) -> str:
    """``39 ± 1 W``; without an interval ``39 W``; empty if there is no value."""
    if found.value is None:
        return ""
    if found.low is None or found.high is None:
        return f"{found.value:.1f} {unit}"
    half = max(found.high - found.value, found.value - found.low)
    places = 0 if half >= 1 or half <= 0 else min(2, -floor(log10(half)))
    return f"{found.value:.{places}f} ± {max(half, 10.0**-places):.{places}f} {unit}"
