"""What the screen knows: a session's records, folded one by one. The same for live, joined and replayed sessions."""

from __future__ import annotations

from collections.abc import Callable
from typing import assert_never

from benchmon.model import keys
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import PhaseFindings, Summary
from benchmon.model.records import (
    ChannelState,
    Gap,
    LoadAction,
    LoadChange,
    Machine,
    Mark,
    MarkKind,
    PlannedRun,
    Record,
    Sample,
    SessionEnd,
    SessionHeader,
    Setting,
    StepChange,
)
from benchmon.model.valid_marks import ValidMarks
from benchmon.views.analyst import Analyst
from benchmon.views.tui.long_numbers import LongNumbers
from benchmon.views.tui.track import Track

KEPT = (
    keys.CLOCK,
    keys.PACKAGE_POWER,
    keys.PROCESSOR_TEMP,
    keys.WORK_RATE,
    keys.LOAD,
    keys.WALL_POWER,
    keys.ROOM_TEMP,
    keys.RECORDER_COST,
)
"""Channels the screen keeps; a machine offers many more, which the session file keeps."""

_JOINED_PERIODS = 2.5
"""Readings this many periods apart are still joined by the pen; beyond, the line stays open."""


class _NothingYet:
    """The analyst before the session begins: the first drawing must not wait for the real one to be loaded."""

    forecast = None
    sustains = None

    def work_on(self) -> None:
        """There is nothing to work on."""

    def conclusion(self) -> Summary | None:
        """There is nothing to conclude from."""
        return None

    def feed(self, _: Record) -> tuple[ThrottleEvent, ...]:
        """Nothing can be said without a header."""
        return ()

    def progress(self) -> None:
        """None."""

    def phases(self) -> tuple[PhaseFindings, ...]:
        """None."""
        return ()


class ViewState:
    """Everything the screen shows of one session.

    Args:
        new_analyst: makes the analyst of a session; called again when a header begins the session anew.
    """

    def __init__(self, new_analyst: Callable[[], Analyst]) -> None:
        self.new_analyst = new_analyst
        self._begin(None)

    def _begin(self, header: SessionHeader | None) -> None:
        self.header = header
        self.analyst: Analyst = self.new_analyst() if header is not None else _NothingYet()
        self.machine: Machine | None = None
        self.settings: dict[str, Setting] = {}
        self.marks = ValidMarks()
        self.gaps: list[Gap] = []
        self.load: LoadChange | None = None
        """What happened to the load last; None if there was none."""
        self.work_units: set[tuple[str, float | None, float | None]] = set()
        """Kinds of built-in work that ran, with operations and bytes in one unit of each."""
        self.unreadable: dict[str, str] = {}
        """Channel key → why it is not read now."""
        self.end: SessionEnd | None = None
        self.conclusion: Summary | None = None
        """What was concluded when it was over; None before, and after an entry that came later."""
        self.events: dict[int, ThrottleEvent] = {}
        self.times = LongNumbers()
        """Times of the samples [s]; a gap adds one without readings, so that the pen is lifted."""
        self.now_s = 0.0
        """Latest time any record speaks of [s]."""
        channels = header.channels if header is not None else ()
        join_s = _JOINED_PERIODS * header.period_s if header is not None else 0.0
        self._places = tuple((place, channel) for place, channel in enumerate(channels) if channel.key in KEPT)
        self.tracks = {channel.key: Track(channel, self.times, join_s) for _, channel in self._places}

    def forget_analysis(self) -> None:
        """Free the analyst of a session that will not go on; its events stay."""
        self.analyst = _NothingYet()

    def conclude(self) -> None:
        """Conclude from all that has come, once it is over; call it until the conclusion is there."""
        if self.conclusion is None:
            self.conclusion = self.analyst.conclusion()

    def apply(self, record: Record) -> None:
        """Fold one record in; a header begins anew."""
        self.conclusion = None
        if isinstance(record, SessionHeader):
            self._begin(record)
        for event in self.analyst.feed(record):
            self.events[event.number] = event
        match record:
            case SessionHeader():
                pass
            case Sample():
                self._sample(record)
            case Mark():
                self.marks.feed(record)
                self._reach(record.entered_s)
            case Setting():
                self.settings[record.key] = record
            case Machine():
                self.machine = record
            case ChannelState():
                self._channel_state(record)
            case Gap():
                self._gap(record)
            case PlannedRun() | StepChange():
                self._reach(record.t_s)
            case LoadChange():
                self.load = record
                if record.action is LoadAction.STARTED:
                    self.work_units.add((record.work, record.unit_operations, record.unit_bytes))
                self._reach(record.t_s)
            case SessionEnd():
                self.end = record
                self._reach(record.t_s)
            case _:
                assert_never(record)

    def _sample(self, sample: Sample) -> None:
        self.times.append(sample.t_s)
        for place, channel in self._places:
            self.tracks[channel.key].add(sample.values[place])
        self._reach(sample.t_s)

    def _gap(self, gap: Gap) -> None:
        self.gaps.append(gap)
        if not self.times or gap.start_s >= self.times[-1]:
            self.times.append(gap.start_s)
            for track in self.tracks.values():
                track.add(None)
        self._reach(gap.end_s)

    def _channel_state(self, state: ChannelState) -> None:
        if state.readable:
            self.unreadable.pop(state.key, None)
        else:
            self.unreadable[state.key] = state.reason

    def _reach(self, t_s: float) -> None:
        self.now_s = max(self.now_s, t_s)

    def index_at(self, t_s: float) -> int | None:
        """Index of the sample at or before a time; None before the first one."""
        index = self.times.count_below(t_s + 1e-9) - 1
        return index if index >= 0 else None

    def number(self, key: str) -> float | None:
        """Latest value of a setting that is a number; None if it is not known."""
        setting = self.settings.get(key)
        return float(setting.value) if setting is not None and isinstance(setting.value, int | float) else None

    @property
    def tags(self) -> dict[str, str]:
        """What is special about this run: the header's tags and those entered since."""
        return self.marks.tags(self.header.tags if self.header is not None else {})

    @property
    def load_runs(self) -> bool:
        """Whether a load of ours is running."""
        return self.load is not None and self.load.action is LoadAction.STARTED

    @property
    def open_event(self) -> ThrottleEvent | None:
        """The throttle event that lasts; None if the processor is not throttled."""
        lasting = [event for event in self.events.values() if event.is_open]
        return max(lasting, key=lambda event: event.number) if lasting else None

    def latest_of(self, key: str, kind: MarkKind) -> tuple[float, float] | None:
        """Latest value of a quantity that is read by a command or entered by hand, and its time [s]."""
        track = self.tracks.get(key)
        if track is not None and track.last is not None:
            return track.last, self.times[-1]
        mark = self.marks.latest(kind)
        return (mark.value, mark.t_s) if mark is not None and mark.value is not None else None
