"""Keys that change only how the session is looked at: events, panels, views, and the pace of a replay."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.stream.replay import Replay
from benchmon.views.tui.paper_keys import PaperKeys
from benchmon.views.tui.playing import next_event_start
from benchmon.views.tui.prompts import Ask, Prompt
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.view import Mode, Panel, View

_PAGES = {"pageup": -1, "pagedown": 1}


class LookingKeys:
    """Takes the keys that look.

    Args:
        state: what is known.
        view: how it is looked at; changed here.
        replay: what is being played; None when following.
    """

    def __init__(self, state: ViewState, view: View, replay: Replay | None) -> None:
        self._state = state
        self._view = view
        self._replay = replay
        self._paper = PaperKeys(state, view)
        self._does: dict[str, Callable[[], None]] = {
            "[": lambda: self._step_event(-1),
            "]": lambda: self._step_event(1),
            "o": self._open_event,
            "e": lambda: self._toggle(Panel.ENTRIES),
            "?": self._turn_help,
            "up": lambda: self._scroll(-1),
            "down": lambda: self._scroll(1),
            "escape": self._put_away,
            "v": self._next_mode,
            "d": self._toggle_behind,
            "j": self._ask_time,
            "space": self._hold,
            " ": self._hold,
            "<": lambda: self._change_speed(0.5),
            ">": lambda: self._change_speed(2.0),
            "enter": self._play_from_cursor,
        }

    def press(self, key: str) -> bool:
        """Take a key; False if it is not one that looks."""
        if self._view.mode is Mode.SHEET and self._view.panel is Panel.NONE and key in _PAGES:
            self._scroll(_PAGES[key] * self._view.sheet_room)
            return True
        action = self._does.get(key)
        if action is None:
            return self._paper.press(key)
        action()
        return True

    def go_to(self, t_s: float) -> None:
        """Go to a time of the session [s]: a replay plays from there, else the cursor stands there."""
        if self._replay is not None:
            self._replay.seek(t_s)
            self._paper.back_to_now()
        else:
            self._paper.place_cursor(t_s)

    def _put_away(self) -> None:
        if self._view.panel is not Panel.NONE:
            self._view.panel = Panel.NONE
        else:
            self._view.cursor_s = self._view.event = None

    def _next_mode(self) -> None:
        modes = list(Mode)
        self._view.mode = modes[(modes.index(self._view.mode) + 1) % len(modes)]

    def _toggle_behind(self) -> None:
        self._view.behind_shown = not self._view.behind_shown
        if not self._view.has_behind:
            self._view.message = "No earlier run was given: --behind SESSION lays one behind the traces."

    # --- events and panels -------------------------------------------------------------------------------------------

    def _step_event(self, by: int) -> None:
        events = sorted(self._state.events.values(), key=lambda event: event.start_s)
        at_s = self._state.now_s if self._view.cursor_s is None else self._view.cursor_s
        if by < 0:
            found = next((event for event in reversed(events) if event.start_s < at_s - 1e-6), None)
        else:
            found = next((event for event in events if event.start_s > at_s + 1e-6), None)
        if found is not None:
            self._paper.place_cursor(found.start_s)
            self._view.event = found.number
        elif by > 0 and self._replay is not None:
            self._play_to_next_event(self._replay)
        else:
            self._view.message = "No throttle event there." if events else "No throttle event so far."

    def _play_to_next_event(self, replay: Replay) -> None:
        start_s = next_event_start(self._state, replay)
        if start_s is None:
            self._view.message = "No throttle event follows."
            return
        replay.seek(start_s)
        self._paper.back_to_now()

    def _open_event(self) -> None:
        if self._view.event is None and self._state.events:
            self._view.event = max(self._state.events.values(), key=lambda event: event.start_s).number
        self._toggle(Panel.EVENT)

    def _turn_help(self) -> None:
        """Open the help, turn its page, and close it after the last one."""
        view = self._view
        if view.panel is Panel.HELP and view.panel_top + view.panel_room < view.panel_lines:
            view.panel_top += view.panel_room
        else:
            self._toggle(Panel.HELP)

    def _toggle(self, panel: Panel) -> None:
        self._view.panel = Panel.NONE if self._view.panel is panel else panel
        self._view.panel_top = self._view.entry = 0

    def _scroll(self, by: int) -> None:
        if self._view.panel is Panel.NONE:
            self._view.sheet_top = max(self._view.sheet_top + by, 0)
        elif self._view.panel is Panel.ENTRIES:
            self._view.entry = max(self._view.entry + by, 0)
        else:
            self._view.panel_top = max(self._view.panel_top + by, 0)

    # --- pace --------------------------------------------------------------------------------------------------------

    def _hold(self) -> None:
        if self._replay is not None:
            self._replay.paused = not self._replay.paused
        else:
            self._view.held = not self._view.held

    def _change_speed(self, factor: float) -> None:
        if self._replay is None:
            self._view.message = "Only a replay can be played faster or slower."
        else:
            self._replay.speed *= factor
            self._view.message = f"Played {self._replay.speed:g} times as fast as recorded."

    def _play_from_cursor(self) -> None:
        if self._replay is None or self._view.cursor_s is None:
            self._view.message = "Place the cursor with the arrow keys first." if self._replay is not None else ""
            return
        self._replay.seek(self._view.cursor_s)
        self._paper.back_to_now()

    def _ask_time(self) -> None:
        self._view.prompt = Prompt(Ask.TIME)
