"""What is looked at, and how: zoom, place, cursor, open panel, prompt. Changed by keys only, never by records."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from benchmon.views.tui.prompts import Prompt
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.steps import Offer
from benchmon.views.tui.window import Window, automatic_step, fitting_step, following_window, window_ending_at


class Mode(Enum):
    """What fills the screen."""

    BOTH = "traces and sheet"
    TRACES = "traces"
    SHEET = "sheet"


class Panel(Enum):
    """What lies over the sheet."""

    NONE = ""
    HELP = "help"
    EVENT = "event"
    ENTRIES = "entries"


@dataclass
class View:
    """How a session is looked at."""

    mode: Mode = Mode.BOTH
    step_s: float | None = None
    """Time of a column of dots [s]; None lets the paper fit the run."""
    end_s: float | None = None
    """Right edge of the paper [s]; None follows the pen."""
    whole: bool = False
    """Show the whole run however long it is."""
    cursor_s: float | None = None
    """Time of the cursor [s]; None without one."""
    panel: Panel = Panel.NONE
    panel_room: int = 1
    """Lines of the open panel at the last drawing."""
    panel_lines: int = 0
    """Lines that it has in all."""
    panel_top: int = 0
    """First line shown of a panel that is longer than its place."""
    sheet_top: int = 0
    """First line shown of a sheet that is longer than its place."""
    sheet_room: int = 1
    """Lines of the sheet shown at the last drawing."""
    event: int | None = None
    """Number of the throttle event that was stepped to."""
    entry: int = 0
    """Chosen line among the entries, from the newest."""
    prompt: Prompt | None = None
    offer: Offer | None = None
    """What enter does, while the prompt offers a step."""
    message: str = ""
    """Answer to the last key; empty when it has been shown long enough."""
    held: bool = False
    """The drawing stands still; the recording does not."""
    has_behind: bool = False
    """Whether there is an earlier run to lay behind the traces."""
    behind_shown: bool = True
    count: int = field(default=200, init=False)
    """Dot columns of paper at the last drawing: keys move by parts of it."""

    def window(self, state: ViewState, count: int) -> Window:
        """The stretch that lies on ``count`` columns of dots of paper."""
        self.count = count
        if self.step_s is not None:
            step_s = self.step_s
        elif state.end is not None:
            step_s = fitting_step(state.now_s, count)
        elif self.whole:
            step_s = automatic_step(state.now_s, count, float("inf"))
        else:
            step_s = automatic_step(state.now_s, count)
        if self.end_s is not None:
            return window_ending_at(self.end_s, count, step_s)
        return following_window(state.now_s, count, step_s)
