"""The limit temperature: given, seen to be defended, or told by the sensors."""

from __future__ import annotations

from math import sqrt

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.thermal.heat_plateau import Held
from benchmon.analysis.thermal.resistance import figure
from benchmon.model import keys
from benchmon.model.findings import Figure

GIVEN, SENSORS, PLATEAU = "given by you", "the sensors", "an observed plateau"
DIFFERS_K = 2.0
"""A told limit this far from the defended one is worth a figure of its own."""


def limit_of(notebook: Notebook, given_c: float | None, held: Held | str) -> tuple[Figure, str]:
    """The limit and where it comes from.

    What a person gives goes first, then what was seen to be defended: firmware acts early, or late, or at a limit that
    nobody told. What the sensors tell is a hint until something was seen.
    """
    if given_c is not None:
        return Figure(given_c, given_c, given_c), GIVEN
    if not isinstance(held, str):
        resolution = notebook.resolution(keys.PROCESSOR_TEMP) or 0.0
        return figure(held.temp_c, sqrt(held.temp_u**2 + resolution**2 / 6)), PLATEAU
    told = told_limit(notebook)
    if told is not None:
        return Figure(told, told - 1.0, told + 1.0), SENSORS
    return Figure(why_not="the sensors tell no limit, none was seen, and none was given"), ""


def told_limit(notebook: Notebook) -> float | None:
    """What the sensors tell [°C]; None if they tell nothing."""
    return notebook.number(keys.TEMP_LIMIT)


def standard_u(found: Figure) -> float:
    """Standard uncertainty behind a 95 % interval."""
    return 0.0 if found.low is None or found.high is None else (found.high - found.low) / 4.0
