"""Recording without a screen: one readable line a second, and everything that happens as a sentence of its own.

Made for screen readers, logs and very small machines: it says all that the screen says.
"""

from __future__ import annotations

from typing import Protocol

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.events import ThrottleEvent
from benchmon.model.plan import Plan
from benchmon.model.records import (
    ChannelState,
    Gap,
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
from benchmon.views.analyst import Analyst
from benchmon.views.doors import terminal
from benchmon.views.numbers import clock_ghz, duration, plain_ascii, quantity
from benchmon.views.words.events import event_details, event_sentence
from benchmon.views.words.outlook import forecast_sentence
from benchmon.views.words.plans import planned_run_sentence, progress_sentence, step_sentence
from benchmon.views.words.records import channel_sentence, gap_sentence, load_sentence, mark_sentence, missing_words
from benchmon.views.words.work import rate_now

_SHOWN = (keys.CLOCK, keys.PACKAGE_POWER, keys.WALL_POWER, keys.PROCESSOR_TEMP, keys.LOAD, keys.WORK_RATE)
_FORECAST_EVERY_S = 60.0
_ASIDE_EVERY_S, _ASIDE_AGAIN_S = 5.0, 300.0


class Output(Protocol):
    """Where lines go; a text file is one."""

    def write(self, text: str, /) -> object:
        """Take a text."""

    def flush(self) -> None:
        """Pass it on."""


class Aside(Protocol):
    """An earlier run that the recording is held against."""

    def take(self, record: Record, events: tuple[ThrottleEvent, ...], /) -> None:
        """The next record, and the events that came of it."""

    def words(self) -> str:
        """The difference so far, or why there is none."""


class LineOutput:
    """A sink that writes lines.

    Args:
        out: where the lines go.
        analyst: finds the throttle events; None writes readings only.
        every_s: session seconds between lines of readings.
        ascii_only: write nothing but ASCII.
        aside: an earlier run that this one is held against; None = none.
    """

    def __init__(
        self,
        out: Output,
        analyst: Analyst | None,
        *,
        every_s: float = 1.0,
        ascii_only: bool = False,
        aside: Aside | None = None,
    ) -> None:
        self._out = out
        self._aside = aside
        self._analyst = analyst
        self._every_s = every_s
        self._ascii = ascii_only
        self._begin(())

    def _begin(self, channels: tuple[Channel, ...]) -> None:
        self._channels = channels
        self._phase = ""
        self._work: LoadChange | None = None
        self._plan: Plan | None = None
        self._due_s = 0.0
        self._forecast_due_s = 0.0
        self._aside_due_s = 0.0
        self._aside_again_s = 0.0
        self._aside_said = ""
        self._said: dict[int, tuple[object, ...]] = {}
        self._lasting: ThrottleEvent | None = None

    def accept(self, record: Record) -> None:
        """Write what the record means, if anything."""
        events = self._analyst.feed(record) if self._analyst is not None else ()
        if self._aside is not None:
            self._aside.take(record, events)
        match record:
            case SessionHeader():
                self._begin(record.channels)
                if record.time_scale != 1:
                    name, pace = record.virtual, f"{record.time_scale:g}"
                    self._write(f"Virtual bench ({name}): time runs {pace} times faster than real.")
                missing = missing_words({channel.key for channel in record.channels})
                if missing:
                    self._write(f"Not read here: {', '.join(missing)} (benchmon channels says why).")
            case Sample():
                self._sample(record)
            case Mark():
                if record.kind is MarkKind.PHASE:
                    self._phase = record.text
                self._say(record.entered_s, mark_sentence(record))
            case LoadChange():
                self._work = record
                self._say(record.t_s, load_sentence(record))
            case Gap():
                self._say(record.end_s, gap_sentence(record))
            case ChannelState():
                self._say(record.t_s, channel_sentence(record, self._label(record.key)))
            case SessionEnd():
                self._say(record.t_s, f"Recording ended: {record.reason}.")
            case PlannedRun():
                self._plan = record.plan
                self._say(record.t_s, planned_run_sentence(record))
            case StepChange():
                self._step(record)
            case Setting() | Machine():
                pass
        for event in events:
            self._event(event)
        if isinstance(record, SessionEnd) and self._lasting is not None:
            number, said = self._lasting.number, event_sentence(self._lasting, record.t_s)
            self._say(record.t_s, f"EVENT {number}, TO THE END: {said}")
            self._details(record.t_s, self._lasting)

    def _step(self, change: StepChange) -> None:
        words = step_sentence(change, self._plan) if self._plan is not None else ""
        if words:
            self._say(change.t_s, words)

    def _sample(self, sample: Sample) -> None:
        if sample.t_s < self._due_s:
            return
        self._due_s = (sample.t_s // self._every_s + 1) * self._every_s
        parts = [
            self._reading(channel, value)
            for key in _SHOWN
            for channel, value in zip(self._channels, sample.values, strict=True)
            if channel.key == key
        ]
        self._say(sample.t_s, "  ".join((self._phase.ljust(10), *parts)))
        self._forecast(sample.t_s)
        self._beside(sample.t_s)

    def _beside(self, now_s: float) -> None:
        """Hold it against the earlier run every few seconds; say what is new, and new figures every few minutes."""
        if self._aside is None or now_s < self._aside_due_s:
            return
        words = self._aside.words()
        self._aside_due_s = now_s + _ASIDE_EVERY_S
        meant = "".join(sign for sign in words if not sign.isdigit())
        if words and (meant != self._aside_said or now_s >= self._aside_again_s):
            self._aside_said, self._aside_again_s = meant, now_s + _ASIDE_AGAIN_S
            self._say(now_s, words)

    def _forecast(self, now_s: float) -> None:
        if self._analyst is None or now_s < self._forecast_due_s:
            return
        forecast, progress = self._analyst.forecast, self._analyst.progress()
        said = [] if progress is None else [progress_sentence(progress, now_s)]
        if forecast is not None and forecast.settles_at_c.value is not None:
            said.append(forecast_sentence(forecast, now_s))
        for words in said:
            self._forecast_due_s = now_s + _FORECAST_EVERY_S
            self._say(now_s, words)

    def _event(self, event: ThrottleEvent) -> None:
        """Say an event when it is announced, when its cause is revised, and when it ends."""
        state = (event.cause, event.is_open)
        self._lasting = event if event.is_open else None
        known = self._said.get(event.number)
        if known == state:
            return
        self._said[event.number] = state
        at_s = event.announced_s if event.end_s is None else event.end_s
        if known is None:
            word = f"EVENT {event.number}"
        elif event.is_open:
            word = f"EVENT {event.number}, CAUSE CORRECTED"
        else:
            word = f"EVENT {event.number} OVER"
        self._say(at_s, f"{word}: {event_sentence(event)}")
        if known is None or not event.is_open:
            self._details(at_s, event)

    def _details(self, at_s: float, event: ThrottleEvent) -> None:
        for detail in event_details(event):
            self._say(at_s, f"  {detail}")

    def _reading(self, channel: Channel, value: float | None) -> str:
        if channel.key == keys.CLOCK:
            return f"clock {clock_ghz(value)}"
        if channel.key == keys.WORK_RATE:
            return f"work {rate_now(value, self._work)}"
        words = {keys.PACKAGE_POWER: "package", keys.WALL_POWER: "wall", keys.PROCESSOR_TEMP: "temp"}
        word = words.get(channel.key, channel.key.split("_", maxsplit=1)[0])
        return f"{word} {quantity(value, channel.unit, channel.resolution)}"

    def _label(self, key: str) -> str:
        return next((channel.label for channel in self._channels if channel.key == key), key)

    def _say(self, t_s: float, text: str) -> None:
        self._write(f"{duration(t_s):>7}  {text}")

    def _write(self, text: str) -> None:
        text = terminal(text).rstrip()
        self._out.write((plain_ascii(text) if self._ascii else text) + "\n")
        self._out.flush()
