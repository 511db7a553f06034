"""Keys that move over the paper: cursor, zoom, pan, back to now."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.views.numbers import duration
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.view import View
from benchmon.views.tui.window import other_step


class PaperKeys:
    """Takes the keys that move over the paper.

    Args:
        state: what is known.
        view: how it is looked at; changed here.
    """

    def __init__(self, state: ViewState, view: View) -> None:
        self._state = state
        self._view = view
        self._does: dict[str, Callable[[], None]] = {
            "left": lambda: self._move_cursor(-1),
            "right": lambda: self._move_cursor(1),
            "comma": lambda: self._step_sample(-1),
            ",": lambda: self._step_sample(-1),
            ".": lambda: self._step_sample(1),
            "home": lambda: self.place_cursor(0.0),
            "end": self.back_to_now,
            "0": self.back_to_now,
            "+": lambda: self._zoom(-1),
            "=": lambda: self._zoom(-1),
            "-": lambda: self._zoom(1),
            "pageup": lambda: self._pan(-0.5),
            "pagedown": lambda: self._pan(0.5),
            "f": self._show_whole,
        }

    def press(self, key: str) -> bool:
        """Take a key; False if it is none of these."""
        action = self._does.get(key)
        if action is None:
            return False
        action()
        return True

    # --- cursor ------------------------------------------------------------------------------------------------------

    def _move_cursor(self, columns: int) -> None:
        step_s = self._view.window(self._state, self._view.count).step_s
        at_s = self._state.now_s if self._view.cursor_s is None else self._view.cursor_s
        index = self._state.index_at(at_s)
        target_s = at_s + columns * step_s
        # On fast paper a column may hold no sample: go on to the next one.
        if index is not None and columns > 0 and self._state.index_at(target_s) == index:
            self._step_sample(1)
        else:
            self.place_cursor(target_s)

    def _step_sample(self, by: int) -> None:
        times = self._state.times
        if not times:
            return
        at_s = self._state.now_s if self._view.cursor_s is None else self._view.cursor_s
        index = self._state.index_at(at_s)
        place = min(max((index if index is not None else 0) + by, 0), len(times) - 1)
        self.place_cursor(times[place])

    def place_cursor(self, t_s: float) -> None:
        """Put the cursor on a time [s], and the paper where it can be seen."""
        self._view.event = None
        self._view.cursor_s = min(max(t_s, 0.0), self._state.now_s)
        self._keep_on_paper(self._view.cursor_s)

    def _keep_on_paper(self, t_s: float) -> None:
        window = self._view.window(self._state, self._view.count)
        if not 0 <= window.column(t_s) < window.count:
            self._view.step_s = window.step_s
            self._view.end_s = max(t_s + window.count * window.step_s / 2, window.count * window.step_s)

    # --- paper -------------------------------------------------------------------------------------------------------

    def _zoom(self, by: int) -> None:
        view = self._view
        window = view.window(self._state, view.count)
        view.step_s, view.whole = other_step(window.step_s, by), False
        if view.cursor_s is not None:
            view.end_s = view.cursor_s + view.count * view.step_s / 2
        view.message = f"The paper shows {duration(view.count * view.step_s)} at once."

    def _pan(self, share: float) -> None:
        view = self._view
        window = view.window(self._state, view.count)
        end_s = window.end_s + share * (window.end_s - window.start_s)
        view.step_s = window.step_s
        view.end_s = None if end_s >= self._state.now_s and share > 0 else max(end_s, window.count * window.step_s)

    def back_to_now(self) -> None:
        """Follow the pen again, without a cursor, the whole run on the paper if it fits."""
        view = self._view
        view.step_s = view.end_s = view.cursor_s = view.event = None
        view.whole = False

    def _show_whole(self) -> None:
        self.back_to_now()
        self._view.whole = True
