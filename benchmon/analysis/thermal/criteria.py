"""Published criteria by which something counts as settled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from benchmon.errors import UsageError

STEADY_SHARE = 0.05
STEADY_S = 300.0


@dataclass(frozen=True, slots=True)
class Criterion:
    """At most so much change within so much time."""

    change: float
    """In the quantity's unit."""
    window_s: float
    source: str
    unit: str = "K"

    @property
    def words(self) -> str:
        """``at most 3 K in 30 min (IEC 62368-1 B.1.6)``."""
        return f"at most {self.change:g} {self.unit} in {self.window_s / 60:g} min ({self.source})"


CRITERIA: Mapping[str, Criterion] = {
    "iec62368": Criterion(3.0, 1800.0, "IEC 62368-1 B.1.6"),
    "iec60034": Criterion(2.0, 3600.0, "IEC 60034-1"),
    "iec61010": Criterion(2.0, 3600.0, "IEC 61010-1, decision 23"),
    "iec61810": Criterion(1.0, 600.0, "IEC 61810-7"),
    "iec62282": Criterion(3.0, 900.0, "IEC 62282-2"),
    "iec60335": Criterion(1.0, 900.0, "IEC 60335-2-6"),
    "iec60598": Criterion(1.0, 3600.0, "IEC 60598"),
}
"""Name → criterion. The first is the default; well below the limit it has a second form."""
_BELOW_LIMIT = Criterion(1.0, 300.0, "IEC 62368-1 B.1.6")
_BELOW_SHARE = 0.9
SHORTEST_WINDOW_S = min(one.window_s for one in (_BELOW_LIMIT, *CRITERIA.values()))
"""No phase that is shorter has settled by any criterion [s]."""


def temperature_criterion(name: str, highest_c: float, limit_c: float | None) -> Criterion:
    """The criterion by name, in the form that fits.

    IEC 62368-1 lets 1 K in 5 min do where the temperature stays at least 10 % below its limit. That form is taken also
    where no limit is known: there is none to come near to.

    Raises:
        UsageError: if there is no criterion of that name.
    """
    if name == "iec62368" and (limit_c is None or highest_c <= _BELOW_SHARE * limit_c):
        return _BELOW_LIMIT
    if name not in CRITERIA:
        raise UsageError(f"there is no settling criterion called {name!r}", f"Choose one of {', '.join(CRITERIA)}.")
    return CRITERIA[name]


def steadiness_criterion(mean: float, unit: str) -> Criterion:
    """For power: less than 5 % of the mean within 5 min (IEC 62301); for a clock the same, by analogy."""
    return Criterion(round(STEADY_SHARE * mean, 3), STEADY_S, "5 %, IEC 62301", unit)
