"""What the same load, begun at several temperatures, says together about a cause."""

from __future__ import annotations

from benchmon.model.events import Cause
from benchmon.model.plan_findings import Experiment, Onset
from benchmon.model.units import Unit
from benchmon.views.numbers import duration, plain, quantity
from benchmon.views.words.evidence import CAUSE_WORDS, chance

_BECAUSE = {
    Cause.THERMAL: "it struck at the same temperature, from wherever the load began",
    Cause.POWER_LIMIT: "it struck when the running average of power was as high as before, at whatever temperature",
    Cause.OUTSIDE: "it struck neither at the same temperature nor at the same average of power",
}
_OPEN = "what they have in common does not tell heat, a power limit and something from outside apart"

MOST_TOLD = 8
"""So many onsets are told one by one; more are summed up."""


def experiment_sentences(found: Experiment | None) -> tuple[str, ...]:
    """``Held back first after 1:32 at 81 °C, then after 0:31 at 81 °C: heat, for …``; empty without an experiment."""
    if found is None:
        return ()
    told = [_onset(onset) for onset in found.onsets[:MOST_TOLD]]
    told += _summed_up(found.onsets[MOST_TOLD:])
    head = f"Held back first {told[0]}" + "".join(f", then {words}" for words in told[1:])
    if found.cause is Cause.UNEXPLAINED:
        return (f"{head}: open still, for {_OPEN}.",)
    sure = chance(found.causes[found.cause])
    return (f"{head}: {CAUSE_WORDS[found.cause]} ({sure}), for {_BECAUSE[found.cause]}.",)


def _summed_up(onsets: tuple[Onset, ...]) -> list[str]:
    temps_c = [onset.onset_c for onset in onsets if onset.onset_s is not None and onset.onset_c is not None]
    free = len(onsets) - len(temps_c)
    told = []
    if temps_c:
        low, high = (quantity(temp_c, Unit.CELSIUS) for temp_c in (min(temps_c), max(temps_c)))
        told.append(f"in {len(temps_c)} more loads between {low} and {high}")
    return [*told, f"not at all in {free}"] if free else told


def _onset(onset: Onset) -> str:
    temp = quantity(onset.onset_c, Unit.CELSIUS)
    if onset.onset_s is None:
        return f"not at all up to {temp}"
    energy = "" if onset.energy_j is None else f" and {plain(onset.energy_j / 1000.0, 1)} kJ"
    return f"after {duration(onset.onset_s - onset.load_s)}{energy} at {temp}"
