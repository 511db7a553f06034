"""The screen: follows a source, draws twice a second, passes keys on. What it shows and decides lies elsewhere."""

from __future__ import annotations

import benchmon.views.tui.event_loop  # noqa: F401  (before asyncio)

# isort: split
import asyncio
import os
import signal
import sys
import time
from collections.abc import Callable
from dataclasses import replace

from textual import events
from textual.app import App, ComposeResult

from benchmon.errors import BenchmonError
from benchmon.model.recorded import Recorded
from benchmon.model.records import Record
from benchmon.stream.replay import Replay
from benchmon.stream.source import Source
from benchmon.views.analyst import Analyst
from benchmon.views.traces import PLAIN
from benchmon.views.tui.behind import Behind
from benchmon.views.tui.canvas import Canvas, StyleBook
from benchmon.views.tui.desk import Control, Desk
from benchmon.views.tui.drawing import Surroundings
from benchmon.views.tui.leaving import Leaving, ScreenOutcome
from benchmon.views.tui.look import Look, look_for
from benchmon.views.tui.page import draw_page
from benchmon.views.tui.playing import playing_words
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.terminal import TerminalWatch, is_stalled, stop_reading
from benchmon.views.tui.view import View

_MESSAGE_S = 6.0
_COST_EVERY_S = 10.0
_LONGEST_POLL_S = 0.1


def run_screen(
    source: Source,
    *,
    control: Control | None,
    enter_later: Control | None = None,
    compare: Recorded | None = None,
    title: str = "",
    replay: Replay | None = None,
    refresh_hz: float = 2.0,
    ascii_only: bool | None = None,
) -> ScreenOutcome:
    """Show a session until the user leaves or the terminal goes.

    Args:
        source: where the records come from.
        control: asks the recorder; None where nobody records.
        enter_later: enters into the file what became known when nobody records any more; None where it cannot be.
        compare: an earlier session to draw behind; None for none.
        title: what is shown, for the terminal's title.
        replay: what the source plays; None when it follows a recording.
        refresh_hz: drawings a second.
        ascii_only: True draws with ASCII signs only; None decides by the terminal.

    Raises:
        SessionFormatError: if what is followed turns out not to be a session.
    """
    look = look_for(os.environ, sys.stdout.encoding or "")
    if ascii_only:
        look = replace(look, ascii_only=True, pen=PLAIN)
    app = ScreenApp(
        source,
        control,
        replay,
        look,
        new_analyst=_new_analyst,
        enter_later=enter_later,
        compare=compare,
        refresh_hz=refresh_hz,
    )
    app.title = title
    compare = None  # it has been folded; its records are no longer needed
    app.run(mouse=False)
    if app.crash is not None:
        raise app.crash
    return app.outcome


def _new_analyst() -> Analyst:
    from benchmon.analysis.watched import WatchedAnalysis  # noqa: PLC0415  # tests bring an analyst of their own

    return WatchedAnalysis()


class ScreenApp(App[None]):
    """One full-screen widget and a timer.

    No threads, no sampling: whatever stalls here must not touch the recording.
    """

    ENABLE_COMMAND_PALETTE = False
    CSS = "Screen { overflow: hidden; background: ansi_default; }"

    def __init__(
        self,
        source: Source,
        control: Control | None,
        replay: Replay | None,
        look: Look,
        *,
        new_analyst: Callable[[], Analyst],
        enter_later: Control | None = None,
        compare: Recorded | None = None,
        refresh_hz: float = 2.0,
    ) -> None:
        super().__init__(ansi_color=True)
        self.animation_level = "none"
        self._fault: BenchmonError | None = None
        self._terminal_watch = TerminalWatch()
        self._source = source
        self._replay = replay
        self._look = look
        self._period_s = 1.0 / refresh_hz
        self._state = ViewState(new_analyst)
        self._view = View(has_behind=compare is not None)
        self._desk = Desk(self._state, self._view, control, replay, enter_later)
        self._behind = Behind(compare, new_analyst) if compare is not None else None
        self._canvas = Canvas(StyleBook(look.palette))
        self._terminal = (80, 24)
        self._waiting: list[Record] = []
        self._message_until_s = 0.0
        self._came_at_s = time.monotonic()
        self._cost_pct: float | None = None
        self._cost_mark = (time.monotonic(), time.process_time())

    @property
    def outcome(self) -> ScreenOutcome:
        """How it was left."""
        if self._desk.outcome is not None:
            return self._desk.outcome
        recorded = self._desk.is_recorded
        return ScreenOutcome(Leaving.GOES_ON if recorded else Leaving.SESSION_OVER, recording_goes_on=recorded)

    @property
    def crash(self) -> Exception | None:
        """What ended the screen against its will; None if it was left in good order."""
        return self._fault or self._exception

    def _fatal_error(self) -> None:
        """Leave without Textual's traceback: whoever started the screen says what went wrong."""
        self._close_messages_no_wait()

    def compose(self) -> ComposeResult:
        """The one widget."""
        yield self._canvas

    def on_mount(self) -> None:
        """Begin to draw, and be ready for the terminal's end."""
        loop = asyncio.get_running_loop()
        # Ctrl-C is a key here; left to asyncio, the signal would only cancel what happens to be waited for.
        for number in (signal.SIGHUP, signal.SIGTERM, signal.SIGQUIT, signal.SIGINT):
            loop.add_signal_handler(number, self._end_by_signal, number)
        self._terminal = (self.size.width, self.size.height)
        self._canvas.focus()
        self.set_interval(self._period_s, self._tick)
        # Drawn before anything is read: a long session takes its time, and so does loading the analysis.
        self._draw()
        self.call_after_refresh(self._tick)

    def on_resize(self, event: events.Resize) -> None:
        """Draw for the new size at once."""
        self._terminal = (event.size.width, event.size.height)
        self._draw()

    def on_key(self, event: events.Key) -> None:
        """Pass the key to the desk and show what it changed."""
        event.stop()
        event.prevent_default()
        self._press(event.character if event.is_printable and event.character else event.key)

    def on_paste(self, event: events.Paste) -> None:
        """Pasted text goes into an open prompt only: pasted letters must never act as keys."""
        if self._view.prompt is not None:
            for letter in event.text.splitlines()[0] if event.text else "":
                self._view.prompt.type(letter)
            self._draw()

    async def action_quit(self) -> None:
        """Whatever asks to quit is asked whether the recording goes on."""
        self._press("q")

    def action_help_quit(self) -> None:
        """Ctrl+C, likewise."""
        self._press("ctrl+c")

    def _press(self, key: str) -> None:
        self._desk.press(key)
        self._message_until_s = time.monotonic() + _MESSAGE_S
        if self._desk.outcome is not None:
            self.exit()
            return
        self._take_records()
        self._draw()

    def _tick(self) -> None:
        now_s = time.monotonic()
        if self._terminal_watch.is_gone():
            self._end_by_signal(signal.SIGHUP)
            return
        if self._view.message and now_s > self._message_until_s:
            self._view.message = ""
        self._take_records()
        self._measure(now_s)
        if not self._view.held:
            self._draw()

    def _take_records(self) -> None:
        try:
            records = self._polled()
        except BenchmonError as error:
            self._fault = error
            self.exit()
            return
        if records:
            self._came_at_s = time.monotonic()
        if self._view.held:
            self._waiting += records
            return
        waiting, self._waiting = self._waiting, []
        for record in (*waiting, *records):
            self._state.apply(record)
        if self._state.end is not None or self._is_cut:
            self._state.conclude()
        self._state.analyst.work_on()

    def _polled(self) -> list[Record]:
        """All that has come; a long file comes in portions, and keys must not wait for the last one."""
        records: list[Record] = []
        began_s = time.monotonic()
        while portion := self._source.poll():
            records += portion
            if time.monotonic() - began_s > _LONGEST_POLL_S:
                break
        return records

    @property
    def _is_cut(self) -> bool:
        """Whether a replay has come to its end without a record of it."""
        return self._replay is not None and self._replay.ended and self._state.end is None

    def _measure(self, now_s: float) -> None:
        began_s, used_s = self._cost_mark
        if now_s - began_s >= _COST_EVERY_S:
            used_now_s = time.process_time()
            self._cost_pct = 100.0 * (used_now_s - used_s) / (now_s - began_s)
            self._cost_mark = (now_s, used_now_s)

    def _draw(self) -> None:
        if is_stalled(self._driver):
            return
        following = self._desk.live and self._replay is None
        around = Surroundings(
            live=self._desk.live,
            can_enter=self._desk.can_enter,
            behind=self._behind,
            screen_cost_pct=self._cost_pct,
            silent_s=time.monotonic() - self._came_at_s if following else None,
            is_cut=self._is_cut,
            playing=playing_words(self._replay) if self._replay is not None else "",
        )
        self._canvas.show(draw_page(self._state, self._view, around, self._terminal, self._look))

    def _end_by_signal(self, number: int) -> None:
        """The terminal is gone or somebody wants us gone: leave at once; the recording goes on by itself.

        ``SIGHUP`` stands for a terminal that is gone.
        """
        if number == signal.SIGHUP:
            stop_reading(self._driver)
        if self._desk.outcome is None:
            self._desk.outcome = ScreenOutcome(Leaving.SIGNAL, self._desk.is_recorded)
        self.exit()
