"""What must be said before a session's figures are believed: limits that cannot be meant, cores that others took."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from benchmon.analysis.intake.told_limits import is_believed
from benchmon.model import keys
from benchmon.model.findings import PhaseFindings
from benchmon.model.records import Setting

TAKEN_PCT = 5.0
"""Others that took less of the workers' cores are background activity [%]."""
_NAMES = {
    keys.TEMP_LIMIT: ("temperature limit", "°C"),
    keys.POWER_LIMIT_LONG: ("sustained power limit", "W"),
    keys.POWER_LIMIT_SHORT: ("short-term power limit", "W"),
}


def limit_caveats(settings: Mapping[str, Setting]) -> tuple[str, ...]:
    """A sentence for each told limit that is not used."""
    told = []
    for key, (name, unit) in _NAMES.items():
        value = settings[key].value if key in settings else None
        if isinstance(value, int | float) and not is_believed(key, value):
            told.append(f"The {name} of {value:g} {unit} that is told cannot be meant; it is not used.")
    return tuple(told)


def neighbour_caveats(phases: Iterable[PhaseFindings]) -> tuple[str, ...]:
    """A sentence for each phase whose workers were let run less than they asked for: that is no throttling."""
    told = []
    for phase in phases:
        ran = phase.means.get(keys.WORK_SHARE)
        taken_pct = 0.0 if ran is None else 100.0 - ran.mean
        if taken_pct >= TAKEN_PCT:
            told.append(
                f"Other programs took {taken_pct:.0f} % of the cores' time that the load asked for in {phase.name}."
            )
    return tuple(told)
