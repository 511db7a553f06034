"""Keys: what each changes in the view, or asks of the recorder. Knows no terminal; tested without one."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.errors import BenchmonError, NoSessionError
from benchmon.model import phase_names
from benchmon.model.records import Mark, MarkKind
from benchmon.stream.replay import Replay
from benchmon.views.numbers import duration
from benchmon.views.tui.leaving import Leaving, ScreenOutcome
from benchmon.views.tui.loaded import loaded_phase
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
from benchmon.views.tui.steps import LOADED, Offer, offer_with_load, offer_with_phase, others_work, phase_of_load
from benchmon.views.tui.view import Panel, View
from benchmon.views.words.records import mark_sentence

Control = Callable[[Request], Request]


_PHASE_KEYS = {
    "i": phase_names.IDLE,
    "1": phase_names.ONE_CORE,
    "a": phase_names.ALL_CORES,
    "c": phase_names.COOL_DOWN,
}
_LATER_KEYS = "wrsnt"
"""What can still be entered when the recording is over."""
_PLACED = {Ask.WALL, Ask.SCORE}
"""Entries that mean nothing without the moment they speak of."""
_BEFORE_THE_END_S = 1.0
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
        enter_later: enters into the file what became known when nobody records any more; None where it cannot be.
    """

    def __init__(
        self,
        state: ViewState,
        view: View,
        control: Control | None,
        replay: Replay | None,
        enter_later: Control | None = None,
    ) -> None:
        self.state = state
        self.view = view
        self.outcome: ScreenOutcome | None = None
        """Set when the screen is to be left."""
        self._control = control
        self._enter_later = enter_later
        self._replay = replay
        self._looking = LookingKeys(state, view, replay)

    @property
    def live(self) -> bool:
        """Whether the session is being recorded and can be marked."""
        return self._control is not None and self.state.end is None

    @property
    def can_enter(self) -> bool:
        """Whether what became known later can be entered."""
        return not self.live and self._enter_later is not None

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
        if self.view.offer is not None and key not in {"enter", "escape"}:
            self._put_away()  # an offer keeps nobody from going on
        if self.view.prompt is not None:
            self._type(self.view.prompt, key)
        elif key in {"q", "ctrl+c"}:
            self._ask_to_leave()
        elif self.view.panel is Panel.ENTRIES and key in {"enter", "delete", "backspace"}:
            self._change_entry(withdraw=key != "enter")
        elif self._looking.press(key):
            pass
        elif key in _PHASE_KEYS or key in _PROMPT_KEYS or key in {"b", "x", "y"}:
            self._mark(key)
        else:
            self.view.message = "That key does nothing here. ? shows what each key does."

    def _mark(self, key: str) -> None:
        if not self.live:
            self._mark_later(key)
        elif key in _PHASE_KEYS:
            self._mark_phase(_PHASE_KEYS[key])
        elif key in _PROMPT_KEYS:
            self.view.prompt = Prompt(_PROMPT_KEYS[key])
        elif key == "b":
            self._move_phase_back()
        elif key == "y":
            self._ask({"do": "confirm"}, "Done; the plan goes on.")
        elif self._ask({"do": "load_stop"}, "The load was stopped.") is not None:
            self._offer(offer_with_load(self.state, phase_names.COOL_DOWN))

    def _mark_phase(self, phase: str) -> None:
        """Mark it, and offer the load that goes with it."""
        answer = self._ask({"do": "mark", "kind": "phase", "text": phase}, f"Phase: {phase}, from now.")
        if answer is None:
            return
        self._offer(offer_with_phase(self.state, phase, answer.get("number")))
        if self.view.offer is None and phase in LOADED and others_work(self.state):
            self.view.message += (
                " The processor is busy already: that is taken for a run of your own; l starts a load beside it."
            )

    def _offer(self, offer: Offer | None) -> None:
        self.view.offer = offer
        self.view.prompt = None if offer is None else Prompt(Ask.STEP)

    def _put_away(self) -> None:
        self.view.prompt = self.view.offer = None

    def _accept(self, offer: Offer) -> None:
        """Ask what was offered, one thing after the other, and no further than the first that is refused."""
        self._put_away()
        for request in offer.requests:
            if self._ask(request, offer.done) is None:
                return

    def _mark_later(self, key: str) -> None:
        """Open the prompt for an entry into a recording that is over; the moment it speaks of is told."""
        over = "The recording is over" if self._control is not None else "This is a stored session"
        if self._enter_later is None:
            self.view.message = f"{over}; “benchmon add” enters what became known later."
        elif key not in _LATER_KEYS:
            self.view.message = f"{over}: phases and load stay as they were; w r s n t enter what became known later."
        else:
            ask = _PROMPT_KEYS[key]
            t_s, of = self._moment(ask)
            self.view.prompt = Prompt(ask, t_s=t_s, of=of)

    def _moment(self, ask: Ask) -> tuple[float | None, str]:
        """The time that a later entry speaks of [s], and in words: the cursor's, else the end of the loaded phase."""
        if self.view.cursor_s is not None:
            return self.view.cursor_s, f" at {duration(self.view.cursor_s)}, the cursor"
        phase = loaded_phase(self.state.analyst.phases()) if ask in _PLACED else None
        if phase is None:
            return None, ""
        end_s = self.state.now_s if phase.end_s is None else phase.end_s
        t_s = max(phase.start_s, end_s - _BEFORE_THE_END_S)
        return t_s, f" at {duration(t_s)}, the end of {phase.name} (left, right: elsewhere)"

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
        if not marks or not (self.live or self.can_enter):
            self.view.message = "Here entries cannot be changed; “benchmon add” does it."
            return
        mark = marks[min(self.view.entry, len(marks) - 1)]
        if withdraw:
            request: Request = {"do": "mark", "kind": "withdraw", "replaces": mark.number}
            self._ask(request, f"Withdrawn: {mark_sentence(mark)}")
            return
        text = mark.text if mark.value is None else f"{mark.value:g} {mark.text}".rstrip()
        self.view.prompt = Prompt(ASKS[mark.kind], text, replaces=mark.number, t_s=mark.t_s)

    def _ask(self, request: Request, done: str) -> Request | None:
        """Ask the recorder, or enter into the file; the answer becomes the message, and is None where it is no."""
        control = self._control if self.live else self._enter_later
        if control is None:
            return None
        try:
            answer = control(request)
        except BenchmonError as error:
            self.view.message = f"{error.message[:1].upper()}{error.message[1:].rstrip('.')}. {error.hint}".rstrip()
            self.view.prompt = None  # nobody hears what is typed, and the prompt would hide why
            return None
        if answer.get("ok") is True:
            warning = answer.get("warning")
            self.view.message = f"{done} {warning}." if warning else done
            self._take(answer.get("mark"))
            return answer
        self.view.message = f"Not done: {answer.get('why', 'no reason given')}."
        return None

    def _take(self, mark: object) -> None:
        """Take what was entered into the file: nobody follows it any more."""
        if not isinstance(mark, Mark):
            return
        if self._replay is not None:
            self._replay.append(mark)
        else:
            self.state.apply(mark)

    # --- the prompt --------------------------------------------------------------------------------------------------

    def _type(self, prompt: Prompt, key: str) -> None:
        if key == "escape":
            self._put_away()
        elif self.view.offer is not None:
            self._accept(self.view.offer)
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
                words = f"Entered: {MARK_KINDS[prompt.ask].value} {prompt.text.strip()}{prompt.of.partition(' (')[0]}."
                done = self._ask(mark_request(prompt), words) is not None
        except NotUnderstoodError as error:
            self.view.message = f"Not understood: {error}."
            return
        if done and self.view.offer is None:
            self.view.prompt = None

    def _start_load(self, request: Request) -> bool:
        if self.state.load_runs:
            self._ask({"do": "load_stop"}, "")
        if self._ask(request, f"Load: {load_words(request)}.") is None:
            return False
        self._offer(offer_with_load(self.state, phase_of_load(str(request.get("load", "")))))
        return True

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
        elif key == "e" and (self._ask({"do": "end"}, "") is not None or self.state.end is not None):
            self.outcome = ScreenOutcome(Leaving.ENDED)
