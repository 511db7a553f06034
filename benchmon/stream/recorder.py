"""The recorder: one thread that samples, writes, listens and guards, until the recording ends."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from benchmon.errors import ExitCode, OutputError
from benchmon.loads.keeper import LIFE_EVERY_S
from benchmon.loads.protocol import Load
from benchmon.loads.strays import Strays, end_strays
from benchmon.loads.tether import give_way, take_precedence
from benchmon.loads.told import GUARD
from benchmon.model import keys, phase_names
from benchmon.model.plan import StepEnd
from benchmon.model.records import (
    LoadAction,
    LoadChange,
    Mark,
    MarkKind,
    Sample,
    SessionEnd,
    Setting,
)
from benchmon.sampler.loop import Sampler
from benchmon.stream.control import ControlServer, Request
from benchmon.stream.doorbell import Doorbell
from benchmon.stream.fanout import Fanout, Sink
from benchmon.stream.heard_output import HeardOutput
from benchmon.stream.identification import Identification
from benchmon.stream.load_guard import LoadGuard
from benchmon.stream.load_switch import LoadSwitch
from benchmon.stream.marking import MarkBook
from benchmon.stream.new_session import begin_in_new_file, new_session_path
from benchmon.stream.options import LoadChoice, RecordOptions
from benchmon.stream.output_file import OutputFile
from benchmon.stream.planned import Planned
from benchmon.stream.privilege import drop_to_caller
from benchmon.stream.requests import answer
from benchmon.stream.setup import Setup
from benchmon.stream.signals import EndSignals, announce, is_watched
from benchmon.stream.trouble import RecordOutcome, Trouble

COOL_DOWN_AFTER_GUARD_S = 30.0
"""So long a recording goes on after the guard has stopped the load, if nothing else says when it ends."""


def record(options: RecordOptions, sinks: Sequence[Sink]) -> RecordOutcome:
    """Record until the recording ends; by itself, by a signal, or by a request.

    Args:
        options: what to do.
        sinks: hear each record after it was written.

    Raises:
        BenchmonError: if the recording cannot even begin. What happens later is told by the outcome.
    """
    started_at = datetime.now(UTC)
    setup = Setup(options)
    try:
        drop_to_caller()  # the sensors are open; nothing else needs more than the user has
        named = partial(new_session_path, started_at.astimezone(), options.tags, options.destination)
        setup.check_loads(OutputFile(named()))
        return begin_in_new_file(partial(_Recording, options, setup, sinks), named).run()
    finally:
        setup.close()


class _Recording:
    """One recording, from its header to its end record."""

    def __init__(self, options: RecordOptions, setup: Setup, sinks: Sequence[Sink], path: Path) -> None:
        self._options = options
        self.path = path
        self.command = options.command
        self._trouble = Trouble(quiet=options.quiet)
        self._watched = is_watched()
        self._session_id = os.urandom(8).hex()
        self.plan = Planned(options, self._remark)
        self._server = self._listen()
        try:
            self._records = Fanout(path, sinks, self._lost_disk, self.plan.followers)
        except OutputError:
            self._stop_listening()
            raise
        self._output = OutputFile(path)
        self._strays = Strays(setup.runners)
        self._setup = setup
        self._guard = LoadGuard(options.stop_at_c, options.period_s, setup.guarded)
        self._switch = LoadSwitch(self._make_load)
        self._sampler: Sampler = setup.make_sampler(lambda: self._switch.running)
        self._temp_at = next(
            (i for i, channel in enumerate(self._sampler.channels) if channel.key == keys.PROCESSOR_TEMP), None
        )
        self._header = setup.make_header(self._session_id, self._sampler.channels)
        self._virtual_machine = setup.virtual_machine
        self._doorbell = Doorbell()
        if self._server is not None:
            self._doorbell.add_server(self._server)
        self._marks = MarkBook()
        self._heard = HeardOutput(self._marks, self._records.accept)
        self._ends_s = options.duration_s
        self._ends_because = "the time asked for is over"
        self._end_reason = ""

    @property
    def now_s(self) -> float:
        """Session time [s]."""
        return self._sampler.now_s

    @property
    def is_loaded(self) -> bool:
        """Whether a load runs."""
        return self._switch.running is not None

    def run(self) -> RecordOutcome:
        """Record from header to end record."""
        identification = Identification(self._options.root, self._doorbell, self._records.accept, self._remark)
        # Signals only ring until the end record is written: pressing Ctrl-C twice must not cost it.
        with EndSignals(
            self._doorbell,
            lambda name: self.end(f"ended by {name}"),
            self._strays.look_soon,
            ignore_hangup=self._watched,
        ):
            try:
                self._records.accept(self._header)
                self._records.accept(
                    Setting(0.0, "recorder_priority", take_precedence(), None, "sched_setscheduler(2)")
                )
                announce(self.path, self._header.session_id)
                self._round()
                self._begin(identification)
                while not self._end_reason:
                    self._sampler.sleep_until_s(self._next_s(), self._doorbell.wait)
                    self._turn()
                    identification.check(self.now_s)
            finally:
                self.stop_load(self._end_reason or "the recorder failed")
                give_way()
                identification.close()
                self._stop_listening()
            return self._finish()

    # --- the loop ----------------------------------------------------------------------------------------------------

    def _begin(self, identification: Identification) -> None:
        """What follows the first sample: it must not wait for any of this."""
        now_s = self.now_s
        if (opening := self.plan.opening()) is not None:
            self._records.accept(opening)
        for text in self._options.noted:
            self._remark(text)
        if self._options.room_c is not None:
            self._records.accept(self._marks.enter(now_s, MarkKind.ROOM, value=self._options.room_c))
        if self._virtual_machine is not None:
            self._records.accept(self._virtual_machine)
        else:
            identification.start(now_s, self._options.box)
        if self._options.load is not None:
            self.start_load(self._options.load)
        self._step()

    def _next_s(self) -> float:
        """Session time of whatever comes next [s]."""
        guard_s = self._guard.due_s() if self.is_loaded else None
        # The keeper must hear from us, and what is left of an earlier load be looked after.
        life_s = (
            self.now_s + LIFE_EVERY_S if self.is_loaded or not self._switch.is_tidy or self._strays.is_due else None
        )
        return min(t for t in (self._sampler.due_s, self._ends_s, self.plan.due_s, guard_s, life_s) if t is not None)

    def _turn(self) -> None:
        self._look_at_disk()
        self._strays.look()
        self._look_at_load()
        guard_s = self._guard.due_s()
        if self.now_s >= self._sampler.due_s:
            self._round()
        elif self.is_loaded and guard_s is not None and self.now_s >= guard_s:
            self._judge(self.now_s, self._sampler.peek(keys.PROCESSOR_TEMP))
        self._step()
        if self._ends_s is not None and self.now_s >= self._ends_s:
            self.end(self._ends_because)

    def _round(self) -> None:
        for one in self._sampler.one_round():
            self._records.accept(one)
            if isinstance(one, Sample):
                self._judge(one.t_s, None if self._temp_at is None else one.values[self._temp_at])

    def _judge(self, t_s: float, temp_c: float | None) -> None:
        reason = self._guard.judge(t_s, temp_c, self._sampler.settings, loaded=self.is_loaded)
        if reason:
            self.stop_load(reason)
            self._guard_stopped(reason)

    def _guard_stopped(self, reason: str) -> None:
        self._trouble.happened(f"the load was stopped: {reason}", ExitCode.GUARD)
        self.abandon_plan()
        now_s = self.now_s
        self._records.accept(self._marks.enter(now_s, MarkKind.PHASE, phase_names.COOL_DOWN))
        if self._ends_s is None and not self._watched:
            self._ends_s, self._ends_because = now_s + COOL_DOWN_AFTER_GUARD_S, reason

    def _step(self) -> None:
        move = None if self._end_reason else self.plan.move(self.now_s)
        if move is None:
            return
        self.stop_load("the next step")
        if move.ended is not None:
            self._records.accept(move.ended)
        if move.begins is None or move.began is None:
            self.end("the steps are over")
            return
        for one in (self._marks.enter(self.now_s, MarkKind.PHASE, move.begins.name), move.began):
            self._records.accept(one)
        if move.begins.load is not None:
            self.start_load(move.begins.load)

    # --- the load ----------------------------------------------------------------------------------------------------

    def _make_load(self, choice: LoadChoice) -> Load:
        return self._setup.make_load(choice, self._output, self._guard.guarding(self._sampler.settings))

    def check_load(self, choice: LoadChoice) -> None:
        """Refuse a load that there cannot be.

        Raises:
            LoadError: saying why.
        """
        self._make_load(choice)

    def start_load(self, choice: LoadChoice) -> LoadChange:
        """Start a load; a failure is recorded, and told by the result."""
        warning = self._guard.warning()
        self._guard.load_changed(self.now_s)
        change = self._switch.start(choice, self.now_s, warning)
        self._records.accept(change)
        self._heard.load_started(change, self._output.path)
        if change.action is LoadAction.FAILED:
            self._load_failed(change.reason)
        elif warning and not self._records.is_heard:
            self._trouble.say(warning)
        return change

    def stop_load(self, reason: str) -> None:
        """Stop the load if one runs."""
        change = self._switch.stop(self.now_s, reason)
        if change is not None:
            self._records.accept(change)

    def _hear(self) -> None:
        too_much = self._heard.take(self._switch.heard(), self.now_s)
        if too_much and self.is_loaded:
            self._trouble.happened(f"the load was stopped: {too_much}", ExitCode.LOAD)
            self.stop_load(too_much)
            self._load_over()

    def _look_at_load(self) -> None:
        self._hear()
        change = self._switch.poll(self.now_s)
        if change is None:
            return
        self._records.accept(change)
        if change.action is LoadAction.STARTED:  # it goes on with other work than was asked for
            self._guard.load_changed(self.now_s)
            return
        if change.action is LoadAction.FAILED:
            self._load_failed(change.reason)
            return
        if change.action is LoadAction.STOPPED and change.reason.startswith(GUARD):
            self._guard_stopped(change.reason)
            return
        if change.exit_status != 0:
            status = "" if change.exit_status is None else f" with status {change.exit_status}"
            self._trouble.happened(f"the load ended by itself{status}: {change.reason or change.what}", ExitCode.LOAD)
        self._load_over()

    def _load_over(self) -> None:
        if self._options.end_with_load and not self._watched and not self.plan.is_on and self._ends_s is None:
            self.end("the load ended")

    def _load_failed(self, reason: str) -> None:
        trouble = f"the load could not be started: {reason}"
        self._trouble.happened(trouble, ExitCode.LOAD)
        if not self._watched:
            self.end(trouble)

    # --- what others ask for -----------------------------------------------------------------------------------------

    def _listen(self) -> ControlServer | None:
        """Nobody could stop a load that no screen reaches: no socket, no load."""
        is_needed = self._options.has_load or self._watched
        return ControlServer.open(self._session_id, partial(answer, self), None if is_needed else self._trouble.mention)

    def _stop_listening(self) -> None:
        if self._server is not None:
            self._server.close()
            self._server = None

    def mark(self, request: Request) -> Mark:
        """Enter a mark."""
        mark = self._marks.from_request(self.now_s, request)
        self._records.accept(mark)
        return mark

    def abandon_plan(self, because: StepEnd = StepEnd.STOPPED) -> None:
        """The plan goes no further: a person says what happens, or the recording ends."""
        if (ended := self.plan.stop(self.now_s, because)) is not None:
            self._records.accept(ended)

    # --- the end -----------------------------------------------------------------------------------------------------

    def end(self, reason: str) -> None:
        """End the recording in good order; the first reason is the one that is kept."""
        self._end_reason = self._end_reason or reason
        self._doorbell.wake()

    def _finish(self) -> RecordOutcome:
        self._switch.close()
        self._hear()
        end_strays(self._setup.runners())
        self._output.close()
        self.abandon_plan(StepEnd.INTERRUPTED)
        self._records.accept(SessionEnd(self.now_s, self._end_reason))
        self._records.close()
        self._trouble.finish()
        return RecordOutcome(
            self.path, self._trouble.exit_code, self._trouble.sentence or self._end_reason, self._output.path
        )

    def _look_at_disk(self) -> None:
        """Say it when records have to wait in memory, and when they are written again."""
        why = self._records.news_of_disk()
        if why:
            self._trouble.say(f"{why}: what is recorded is kept in memory until there is room, up to 1 MiB")
        elif why is not None:
            self._remark("the disk was full for a while; nothing was lost")

    def _lost_disk(self, error: OutputError) -> None:
        """A recording that cannot be kept is no reason to heat the machine any longer."""
        self._trouble.happened(error.message, ExitCode.OUTPUT)
        self.end(error.message)

    def _remark(self, text: str) -> None:
        self._records.accept(self._marks.enter(self.now_s, MarkKind.NOTE, text))
