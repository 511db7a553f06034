"""The limit temperature: given, told by the sensors, or seen as a plateau."""

from __future__ import annotations

from math import sqrt

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.thermal.heat_plateau import Held
from benchmon.analysis.thermal.resistance import figure
from benchmon.model import keys
from benchmon.model.findings import Figure

GIVEN, SENSORS, PLATEAU = "given by you", "the sensors", "an observed plateau"
_EARLY_K = 3.0


def limit_of(notebook: Notebook, given_c: float | None, held: Held | str) -> tuple[Figure, str]:
    """The limit and where it comes from.

    What a person gives goes first. Then what the sensors tell; but firmware may act several kelvin early, and where it
    was seen to, the plateau counts.
    """
    if given_c is not None:
        return Figure(given_c, given_c, given_c), GIVEN
    resolution = notebook.resolution(keys.PROCESSOR_TEMP) or 0.0
    plateau = None if isinstance(held, str) else figure(held.temp_c, sqrt(held.temp_u**2 + resolution**2 / 6))
    told = notebook.number(keys.TEMP_LIMIT)
    if plateau is not None and plateau.value is not None and (told is None or told - plateau.value > _EARLY_K):
        return plateau, PLATEAU
    if told is not None:
        return Figure(told, told - 1.0, told + 1.0), SENSORS
    why = "the sensors tell no limit, none was seen, and none was given"
    return Figure(why_not=why), ""


def standard_u(found: Figure) -> float:
    """Standard uncertainty behind a 95 % interval."""
    return 0.0 if found.low is None or found.high is None else (found.high - found.low) / 4.0
