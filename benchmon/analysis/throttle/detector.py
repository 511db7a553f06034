"""The throttle detector: one observation at a time, the same live and afterwards."""

from __future__ import annotations

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.cleaning import Cleaner, Reading
from benchmon.analysis.throttle.load import LoadFollower, LoadState
from benchmon.analysis.throttle.memory import Memory
from benchmon.analysis.throttle.other_clues import is_at_power_limit
from benchmon.analysis.throttle.pursuit import Fell, Found, Pursuit
from benchmon.analysis.throttle.rules import Rules
from benchmon.analysis.throttle.seeker import Seeker
from benchmon.analysis.throttle.speaker import Speaker
from benchmon.analysis.throttle.successor import FurtherDrop
from benchmon.analysis.throttle.trail import Second, Trail
from benchmon.analysis.throttle.watch import MachineWatch
from benchmon.model.events import Cause, ThrottleEvent

VERSION = "2"
"""Named in reports; raised whenever the same recording may give other events."""

Events = tuple[ThrottleEvent, ...]


class Detector:
    """Finds the stretches during which the processor was held below what the load asked for.

    Causal: what it says at a time rests on what was pushed until then. An event given out with ``end_s`` set never
    changes afterwards; an open one may be given out again, revised.
    """

    VERSION = VERSION

    def __init__(self, rules: Rules | None = None) -> None:
        """Start before the first observation, with the written rules unless others are given."""
        self._rules = rules or Rules()
        self._cleaner = Cleaner(self._rules)
        self._load = LoadFollower(self._rules)
        self._watch = MachineWatch(self._rules)
        self._memory = Memory(self._rules)
        self._seeker = Seeker(self._rules)
        self._speaker = Speaker(self._rules)
        self._trail = Trail()
        self._pursuit: Pursuit | None = None
        self._further: FurtherDrop | None = None
        self._successor: Pursuit | None = None
        self._uses_clock = False
        self._start_temp: float | None = None
        self._stretch = 0
        self._last_s: float | None = None

    @property
    def events(self) -> Events:
        """All events so far as last given out; the last may be open."""
        return tuple(self._speaker.events)

    def push(self, seen: Observation) -> Events:
        """Take the next observation; gives the events that are new, revised or closed by it.

        An observation whose time does not go forward is ignored.
        """
        reading = self._cleaner.clean(seen)
        if reading is None:
            return ()
        now, last = reading.t_s, self._last_s
        since = now - last if last is not None else 0.0
        given: Events = ()
        if last is not None and since > self._rules.gap_s:
            given = self._end(last)
            self._seeker.rest()
            since = 0.0
        self._last_s = now
        self._watch.feed(seen, reading.power)
        state = self._load.feed(reading, seen.busy_cores)
        if reading.clock is not None:
            self._uses_clock = True
        speed = reading.clock if self._uses_clock else reading.work
        second = self._trail.feed(reading, speed, self._rules.judge_every_s)
        if second is not None:
            self._memory.see(second)
        if self._load.stretch != self._stretch:
            given += self._begin_stretch(now, seen.busy_cores)
        if self._pursuit is not None:
            return given + self._follow(self._pursuit, reading, state, since, second)
        if state is LoadState.STEADY and speed is not None and speed > 0.0:
            given += self._seek(reading, speed, since, second)
        elif state is not LoadState.STEADY:
            self._seeker.skip(reading, state is LoadState.IDLE)
            if state is LoadState.IDLE:
                self._memory.see_idle(reading.clock)
            self._memory.not_free()
        return given

    def finish(self) -> Events:
        """The recording is over; gives the open event with its last figures. It stays open: no end was seen."""
        pursuit = self._pursuit
        if pursuit is None:
            return ()
        if pursuit.episode.recovering_since_s is not None:
            return self._end(pursuit.episode.recovering_since_s)
        return self._speaker.last_word(pursuit, self._last_s or 0.0)

    def _begin_stretch(self, now: float, cores: float | None) -> Events:
        given = self._end(min(self._load.busy_until_s, self._load.busy_since_s))
        self._stretch = self._load.stretch
        self._seeker.begin_stretch(self._load.level, cores)
        self._memory.not_free()
        self._start_temp = self._trail.seconds[-1].temp if self._trail.seconds else None
        before = self._trail.since(now - 6.0, now - 0.01)
        if before and before[0].temp is not None and before[0].power is not None:
            self._memory.answer.begin(now, before[0].temp, before[0].power)
        return given

    def _seek(self, reading: Reading, speed: float, since: float, second: Second | None) -> Events:
        found = self._seeker.seek(reading, speed, since, self._watch.known, self._uses_clock)
        if found is not None:
            pursuit = self._pursue(found, reading.t_s)
            if second is not None and since >= self._rules.slow_sampling_s:  # the next sample is a long time off
                pursuit.see(second, self._trail, self._load.is_known, self._load.level)
                return self._speaker.speak(pursuit, reading.t_s)
        elif second is not None and self._seeker.is_free:
            self._memory.see_free(second)
        return ()

    def _follow(
        self, pursuit: Pursuit, reading: Reading, state: LoadState, since: float, second: Second | None
    ) -> Events:
        now = reading.t_s
        if state is not LoadState.STEADY:
            if self._load.level == 0.0:
                return self._end(self._load.busy_until_s)
            return ()
        pursuit.add(reading, since)
        if pursuit.ended_s is not None:
            return self._end(pursuit.ended_s)
        if second is None:
            self._look_for_successor(pursuit, reading, since)
            return ()
        pursuit.see(second, self._trail, self._load.is_known, self._load.level)
        if not pursuit.episode.number and pursuit.is_harmless():
            self._pursuit = None
            if pursuit.fell is not Fell.POWER and pursuit.is_a_real_loss():
                self._seeker.accept_other_code()
            return ()
        given = self._speaker.speak(pursuit, now)
        if pursuit.superseded_s is not None:
            return given + self._supersede(pursuit, pursuit.superseded_s, now)
        self._look_for_successor(pursuit, reading, since)
        return given + self._hand_over(pursuit, second, now)

    def _supersede(self, pursuit: Pursuit, at_s: float, now: float) -> Events:
        """What named the event no longer holds though it is limited still: it ends, and another is followed."""
        found = pursuit.go_on_from(at_s)
        given = self._end(at_s)
        self._pursue(found, now)
        return given

    def _pursue(self, found: Found, now: float) -> Pursuit:
        self._memory.not_free()
        self._pursuit = pursuit = Pursuit(self._rules, self._memory, self._watch, found, now)
        onset = pursuit.case.onset
        onset.loaded_s = found.onset_s - self._load.busy_since_s
        onset.start_temp_c = self._start_temp
        self._further = FurtherDrop(self._rules, found.onset_s + self._rules.block_s)
        self._successor = None
        return pursuit

    def _look_for_successor(self, pursuit: Pursuit, reading: Reading, since: float) -> None:
        if self._further is None or pursuit.episode.cause is Cause.THERMAL or pursuit.fell is not Fell.CLOCK:
            return
        if self._successor is None and pursuit.episode.recovering_since_s is None:
            found = self._further.feed(reading, since, pursuit.sigma, pursuit.case.power_sigma)
            if found is not None:
                self._successor = Pursuit(self._rules, self._memory, self._watch, found, reading.t_s)
                pursuit.note_further_drop(reading)
        elif self._successor is not None:
            self._successor.add(reading, since)

    def _hand_over(self, pursuit: Pursuit, second: Second, now: float) -> Events:
        """Heat that takes over inside another event ends that one and begins its own."""
        successor = self._successor
        if successor is None or pursuit is not self._pursuit:
            return ()
        successor.see(second, self._trail, self._load.is_known, self._load.level)
        if successor.ended_s is not None or successor.case.age_s > self._rules.successor_s:
            self._successor = None
            return ()
        if not self._speaker.is_clearly_heat(successor) or successor.is_same_heat(pursuit):
            return ()
        if is_at_power_limit(successor.case):
            return ()
        given = self._end(successor.episode.onset_s)
        self._pursuit, self._successor, self._further = successor, None, None
        return given + self._speaker.speak(successor, now)

    def _end(self, at_s: float) -> Events:
        pursuit, self._pursuit = self._pursuit, None
        self._successor = self._further = None
        if pursuit is None:
            return ()
        recovering = pursuit.episode.recovering_since_s
        if recovering is not None:
            at_s = min(at_s, recovering)
        given = self._speaker.close(pursuit, at_s, self._last_s or at_s)
        if given:
            self._memory.learn(pursuit.episode, pursuit.case.onset)
        return given
