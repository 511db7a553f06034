"""Everything one drawing of the screen is made from, gathered once."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.model.events import Cause
from benchmon.model.findings import PhaseFindings
from benchmon.views.tui.behind import Behind
from benchmon.views.tui.loaded import loaded_phase
from benchmon.views.tui.look import Look
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.view import View


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the screen knows besides the session."""

    live: bool
    """Whether the session is being recorded and can be marked."""
    can_enter: bool = False
    """Whether what became known later can be entered, nobody recording any more."""
    behind: Behind | None = None
    screen_cost_pct: float | None = None
    silent_s: float | None = None
    """Real seconds since anything came from a recorder that should be running."""
    is_cut: bool = False
    """Whether a stored session stops here without having been ended."""
    playing: str = ""
    """How a replay runs, in words; empty without one."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """What is known, how it is looked at, and on what terminal."""

    state: ViewState
    view: View
    around: Surroundings
    phases: tuple[PhaseFindings, ...]
    width: int
    """Columns of the terminal."""
    height: int
    look: Look

    @property
    def behind(self) -> Behind | None:
        """The earlier run; None if there is none or it is hidden."""
        return self.around.behind if self.view.behind_shown else None

    @property
    def has_verdict(self) -> bool:
        """Whether it throttles, and what the cooler sustains is known."""
        event = self.state.open_event
        return event is not None and event.cause is Cause.THERMAL and self.state.analyst.sustains is not None

    @property
    def loaded(self) -> PhaseFindings | None:
        """The loaded phase, whose figures are shown when it is over; None while it goes on and with the cursor out."""
        found = self.state.conclusion
        return None if found is None or self.view.cursor_s is not None else loaded_phase(found.phases)

    @property
    def seen_s(self) -> float:
        """The time whose readings are written out: the cursor's, else the latest [s]."""
        return self.state.now_s if self.view.cursor_s is None else self.view.cursor_s
