"""Everything one drawing of the screen is made from, gathered once."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.model.findings import PhaseFindings
from benchmon.views.tui.behind import Behind
from benchmon.views.tui.look import Look
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.view import View


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the screen knows besides the session."""

    live: bool
    """Whether the session is being recorded and can be marked."""
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
    def seen_s(self) -> float:
        """The time whose readings are written out: the cursor's, else the latest [s]."""
        return self.state.now_s if self.view.cursor_s is None else self.view.cursor_s
