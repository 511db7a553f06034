"""Keys: what each changes in the view, or asks of the recorder. Knows no terminal; tested without one."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.errors import BenchmonError, NoSessionError
from benchmon.model import phase_names
from benchmon.model.records import MarkKind
from benchmon.stream.replay import Replay
from benchmon.views.tui.leaving import Leaving, ScreenOutcome
from benchmon.views.tui.looking import LookingKeys
from benchmon.views.tui.panels import listed_marks
from benchmon.views.tui.prompts import (
    ASKS,
    MARK_KINDS,
    Ask,
    NotUnderstoodError,
    Prompt,
    Request,
    load_request,
    load_words,
    mark_request,
    session_time,
)
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.view import Panel, View
from benchmon.views.words.records import mark_sentence

Control = Callable[[Request], Request]


_PHASE_KEYS = {
    "i": phase_names.IDLE,
    "1": phase_names.ONE_CORE,
    "a": phase_names.ALL_CORES,
    "c": phase_names.COOL_DOWN,
}
_PROMPT_KEYS = {
    "p": Ask.PHASE,
    "w": Ask.WALL,
    "r": Ask.ROOM,
    "s": Ask.SCORE,
    "n": Ask.NOTE,
    "t": Ask.TAG,
    "l": Ask.LOAD,
}
_BACK_S = 10.0


class Desk:
    """Takes keys.

    Args:
        state: what is known.
        view: how it is looked at; changed here.
        control: asks the recorder; None where nobody records.
        replay: what is being played; None when following.
    """

    def __init__(self, state: ViewState, view: View, control: Control | None, replay: Replay | None) -> None:
        self.state = state
        self.view = view
        self.outcome: ScreenOutcome | None = None
        """Set when the screen is to be left."""
        self._control = control
        self._replay = replay
        self._looking = LookingKeys(state, view, replay)

    @property
    def live(self) -> bool:
        """Whether the session is being recorded and can be marked."""
        return self._control is not None and self.state.end is None

    @property
    def is_recorded(self) -> bool:
        """Whether the recorder really is there; one that does not answer in time may be."""
        if self._control is None or self.state.end is not None:
            return False
        try:
            self._control({"do": "ping"})
        except NoSessionError:
            return False
        except BenchmonError:
            return True
        return True

    def press(self, key: str) -> None:
        """Take one key: a printable letter, or a name such as ``left`` or ``enter``."""
        self.view.message = ""
        if self.view.prompt is not None:
            self._type(self.view.prompt, key)
        elif key in {"q", "ctrl+c"}:
            self._ask_to_leave()
        elif self.view.panel is Panel.ENTRIES and key in {"enter", "delete", "backspace"}:
            self._change_entry(withdraw=key != "enter")
        elif self._looking.press(key):
            pass
        elif key in _PHASE_KEYS or key in _PROMPT_KEYS or key in {"b", "x"}:
            self._mark(key)
        else:
            self.view.message = "That key does nothing here. ? shows what each key does."

    def _mark(self, key: str) -> None:
        if self._control is None:
            self.view.message = "A stored session is looked at only; “benchmon add” enters what became known later."
        elif self.state.end is not None:
            self.view.message = "The recording has ended; “benchmon add” enters what became known later."
        elif key in _PHASE_KEYS:
            self._ask(
                {"do": "mark", "kind": "phase", "text": _PHASE_KEYS[key]}, f"Phase: {_PHASE_KEYS[key]}, from now."
            )
        elif key in _PROMPT_KEYS:
            self.view.prompt = Prompt(_PROMPT_KEYS[key])
        elif key == "b":
            self._move_phase_back()
        else:
            self._ask({"do": "load_stop"}, "The load was stopped.")

    def _move_phase_back(self) -> None:
        mark = self.state.marks.latest(MarkKind.PHASE)
        if mark is None:
            self.view.message = "No phase has been marked yet."
            return
        t_s = max(mark.t_s - _BACK_S, 0.0)
        request: Request = {"do": "mark", "kind": "phase", "text": mark.text, "t_s": t_s, "replaces": mark.number}
        self._ask(request, f"{mark.text} began 10 s earlier than marked.")

    def _change_entry(self, *, withdraw: bool) -> None:
        marks = listed_marks(self.state)
        if not marks or not self.live:
            self.view.message = "Here entries can only be changed while it is recorded; “benchmon add” does it later."
            return
        mark = marks[min(self.view.entry, len(marks) - 1)]
        if withdraw:
            request: Request = {"do": "mark", "kind": "withdraw", "replaces": mark.number}
            self._ask(request, f"Withdrawn: {mark_sentence(mark)}")
            return
        text = mark.text if mark.value is None else f"{mark.value:g} {mark.text}".rstrip()
        self.view.prompt = Prompt(ASKS[mark.kind], text, replaces=mark.number, t_s=mark.t_s)

    def _ask(self, request: Request, done: str) -> bool:
        """Ask the recorder; its answer becomes the message."""
        if self._control is None:
            return False
        try:
            answer = self._control(request)
        except BenchmonError as error:
            self.view.message = f"{error.message[:1].upper()}{error.message[1:].rstrip('.')}. {error.hint}".rstrip()
            self.view.prompt = None  # nobody hears what is typed, and the prompt would hide why
            return False
        if answer.get("ok") is True:
            warning = answer.get("warning")
            self.view.message = f"{done} {warning}." if warning else done
            return True
        self.view.message = f"Not done: {answer.get('why', 'no reason given')}."
        return False

    # --- the prompt --------------------------------------------------------------------------------------------------

    def _type(self, prompt: Prompt, key: str) -> None:
        if key == "escape":
            self.view.prompt = None
        elif prompt.ask is Ask.QUIT:
            self._leave(key)
        elif key == "enter":
            self._finish(prompt)
        elif key == "backspace":
            prompt.rub_out()
        elif key == "ctrl+c":
            self.view.prompt = None
        elif len(key) == 1 and key.isprintable():
            prompt.type(key)
        elif key == "space":
            prompt.type(" ")

    def _finish(self, prompt: Prompt) -> None:
        try:
            if prompt.ask is Ask.TIME:
                self._looking.go_to(session_time(prompt.text))
                done = True
            elif prompt.ask is Ask.LOAD:
                done = self._start_load(load_request(prompt.text))
            else:
                request = mark_request(prompt)
                done = self._ask(request, f"Entered: {MARK_KINDS[prompt.ask].value} {prompt.text.strip()}.")
        except NotUnderstoodError as error:
            self.view.message = f"Not understood: {error}."
            return
        if done:
            self.view.prompt = None

    def _start_load(self, request: Request) -> bool:
        if self.state.load_runs:
            self._ask({"do": "load_stop"}, "")
        return self._ask(request, f"Load: {load_words(request)}.")

    # --- leaving -----------------------------------------------------------------------------------------------------

    def _ask_to_leave(self) -> None:
        if self._replay is not None:
            self.outcome = ScreenOutcome(Leaving.REPLAY_LEFT)
        elif not self.is_recorded:
            self.outcome = ScreenOutcome(Leaving.SESSION_OVER)
        else:
            self.view.prompt = Prompt(Ask.QUIT)

    def _leave(self, key: str) -> None:
        # A second q is no answer: who presses it twice in haste would leave a load running without being watched.
        if key in {"g", "ctrl+c"}:
            # The recorder may have gone since the question was asked.
            goes_on = self.is_recorded
            self.outcome = ScreenOutcome(Leaving.GOES_ON if goes_on else Leaving.SESSION_OVER, goes_on)
        elif key == "e" and (self._ask({"do": "end"}, "") or self.state.end is not None):
            self.outcome = ScreenOutcome(Leaving.ENDED)
