"""What the cooler sustains, while that is being found out: the verdict's own answer without the rest of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.thermal.capacity import Asked, measured
from benchmon.analysis.thermal.heat_plateau import held
from benchmon.analysis.thermal.limits import GIVEN, limit_of
from benchmon.analysis.thermal.steady import room_of
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Sustains

if TYPE_CHECKING:
    from benchmon.analysis.thermal.machine import MachineModel


def sustains(
    notebook: Notebook, model: MachineModel | str, events: Sequence[ThrottleEvent], options: AnalysisOptions
) -> Sustains | None:
    """Watts that the cooler sustains at the temperature that is defended; None if that cannot be said yet."""
    plateau = held(notebook, events)
    limit, source = limit_of(notebook, options.limit_c, plateau)
    room = room_of(notebook, 0.0, notebook.now_s) if options.room_c is None else (options.room_c, 0.0)
    asked = Asked(limit, None if room is None else room[0], options.room_c is not None, source == GIVEN)
    watts = measured(plateau, model, asked)
    if isinstance(watts, str) or limit.value is None:
        return None
    return Sustains(watts.figure, limit.value)
