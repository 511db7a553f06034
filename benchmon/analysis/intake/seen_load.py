"""Load that nobody spoke of, seen in the readings: for sessions without marks and without a load of their own."""

from __future__ import annotations

from benchmon.analysis.intake.phases import LoadStep

CHANGE_PCT = 15.0
"""A phase begins where the load moves by more than this many points ..."""
LASTS_S = 10.0
"""... and stays there for so long [s]."""
_IDLE_PCT, _ALL_PCT = 12.0, 85.0


class SeenLoad:
    """Follows the load, one bin after another."""

    def __init__(self) -> None:
        """Start before the first reading."""
        self._sum = 0.0
        self._count = 0
        self._other: list[tuple[float, float]] = []
        self._was_loaded = False

    def feed(self, t_s: float, load_pct: float) -> LoadStep | None:
        """Take the next mean; gives a step once it is sure, back-dated to where it began."""
        if not self._count:
            self._begin([load_pct])
            self._was_loaded = load_pct > _IDLE_PCT
            return LoadStep(0.0, None, self._name(load_pct), is_seen=True)
        if abs(load_pct - self._sum / self._count) <= CHANGE_PCT:
            self._other = []
            self._sum += load_pct
            self._count += 1
            return None
        self._other.append((t_s, load_pct))
        since_s = self._other[0][0]
        if t_s - since_s < LASTS_S:
            return None
        values = [load for _, load in self._other]
        mean = sum(values) / len(values)
        name = self._name(mean)
        self._was_loaded = self._was_loaded or mean > _IDLE_PCT
        self._begin(values[len(values) // 2 :])
        self._other = []
        return LoadStep(since_s, None, name, is_seen=True)

    def _begin(self, values: list[float]) -> None:
        self._sum, self._count = sum(values), len(values)

    def _name(self, load_pct: float) -> str:
        if load_pct < _IDLE_PCT:
            return "cool-down" if self._was_loaded else "idle"
        return "all cores" if load_pct > _ALL_PCT else "part load"
