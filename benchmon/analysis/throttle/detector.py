"""The throttle detector: one observation at a time, the same live and afterwards."""

from __future__ import annotations

from collections.abc import Iterable

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.announcer import Announcer, Events
from benchmon.analysis.throttle.episode import Episode
from benchmon.analysis.throttle.evidence import judge
from benchmon.analysis.throttle.load import GAP_S, LoadFollower, LoadState
from benchmon.analysis.throttle.memory import Memory
from benchmon.analysis.throttle.readings import Cleaner, Reading, Second, Seconds
from benchmon.analysis.throttle.reference import BLOCK_S
from benchmon.analysis.throttle.seeker import SLOW_SAMPLING_S, Fell, Found, FurtherDrop, Seeker
from benchmon.analysis.throttle.told import Told
from benchmon.model.events import Cause

VERSION = "5"
"""Named in reports; raised whenever the same recording may give other events."""
CONTROL_RIPPLE = 0.012
"""Power sits at a limit as closely as control holds it."""
SUCCESSOR_FROM_S, SUCCESSOR_UNTIL_S = 1.4, 120.0
"""A further drop inside an event must show its cause within this time."""


class Detector:
    """Finds the stretches during which the processor was held below what the load asked for.

    Causal: what it says at a time rests on what was pushed until then. An event given out with ``end_s`` set never
    changes afterwards; an open one may be given out again, revised.
    """

    VERSION = VERSION

    def __init__(self, defended_c: Iterable[float] = ()) -> None:
        """Start before the first observation.

        Args:
            defended_c: temperatures that this machine was seen to defend in earlier sessions [°C].
        """
        self._cleaner = Cleaner()
        self._load = LoadFollower()
        self._told = Told()
        self._memory = Memory(defended_c)
        self._seeker = Seeker()
        self._announcer = Announcer()
        self._seconds = Seconds()
        self._episode: Episode | None = None
        self._further: FurtherDrop | None = None
        self._successor: Episode | None = None
        self._uses_clock = False
        self._stretch = 0
        self._last_s: float | None = None

    @property
    def events(self) -> Events:
        """All events so far as last given out; the last may be open."""
        return tuple(self._announcer.events)

    def push(self, seen: Observation) -> Events:
        """Take the next observation; gives the events that are new, revised or closed by it.

        An observation whose time does not go forward is ignored.
        """
        reading = self._cleaner.clean(seen)
        if reading is None:
            return ()
        now, last = reading.t_s, self._last_s
        since_s = now - last if last is not None else 0.0
        given: Events = ()
        if last is not None and since_s > GAP_S:
            given = self._end(last)
            self._seeker.rest()
            since_s = 0.0
        self._last_s = now
        self._told.feed(seen, reading.power)
        state = self._load.feed(reading, seen.busy_cores, seen.work)
        self._uses_clock |= reading.clock is not None
        speed = reading.clock if self._uses_clock else reading.work
        second = self._seconds.feed(reading, speed)
        if second is not None:
            self._memory.see(second, is_loaded=state is not LoadState.IDLE and self._load.is_known)
        if self._load.stretch != self._stretch:
            given += self._begin_stretch(seen.busy_cores, seen.work)
        if self._episode is not None:
            return given + self._follow(self._episode, reading, state, since_s, second)
        if state is LoadState.STEADY and speed is not None and speed > 0.0:
            given += self._seek(reading, speed, since_s, second)
        elif state is not LoadState.STEADY:
            self._seeker.skip(reading, is_idle=state is LoadState.IDLE)
            if state is LoadState.IDLE:
                self._memory.see_idle(reading.clock)
            self._memory.not_free()
        return given

    def finish(self) -> Events:
        """The recording is over; gives the open event with its last figures. It stays open: no end was seen."""
        episode = self._episode
        if episode is None:
            return ()
        if episode.recovering_since_s is not None:
            return self._end(episode.recovering_since_s)
        return self._announcer.last_word(episode, self._last_s or 0.0)

    def _begin_stretch(self, cores: float | None, work: str) -> Events:
        given = self._end(min(self._load.busy_until_s, self._load.busy_since_s))
        self._stretch = self._load.stretch
        self._seeker.begin_stretch(self._load.busy_since_s, self._load.level, cores, work)
        self._memory.not_free()
        return given

    def _seek(self, reading: Reading, speed: float, since_s: float, second: Second | None) -> Events:
        known = self._told.known
        found = self._seeker.seek(reading, speed, since_s, known, is_clock=self._uses_clock)
        if found is None and second is not None and self._uses_clock:
            found = self._seeker.seek_start(second, known)
        if found is not None:
            episode = self._begin(found, reading.t_s)
            if second is not None and since_s >= SLOW_SAMPLING_S:  # the next sample is a long time off
                episode.step(second, self._seconds, self._load)
                return self._announcer.speak(episode, reading.t_s)
        elif second is not None and self._seeker.is_free:
            self._memory.see_free(second)
        return ()

    def _begin(self, found: Found, now: float) -> Episode:
        self._memory.not_free()
        self._episode = episode = Episode(self._memory, self._told, found, now)
        episode.onset.loaded_s = found.onset_s - self._load.busy_since_s
        self._further = FurtherDrop(found.onset_s + BLOCK_S)
        self._successor = None
        return episode

    def _follow(
        self, episode: Episode, reading: Reading, state: LoadState, since_s: float, second: Second | None
    ) -> Events:
        now = reading.t_s
        if state is not LoadState.STEADY:
            return self._end(self._load.busy_until_s) if self._load.level == 0.0 else ()
        episode.add(reading, since_s)
        if second is not None and episode.ended_s is None:
            episode.step(second, self._seconds, self._load)
        if episode.ended_s is not None:
            return self._end(episode.ended_s)
        if second is None:
            self._look_for_successor(episode, reading, since_s)
            return ()
        if not self._announcer.is_announced(episode) and episode.is_harmless():
            self._drop(episode)
            return ()
        given = self._announcer.speak(episode, now)
        superseded_s = self._announcer.of(episode).superseded_s
        if superseded_s is not None:  # what named it no longer holds though it is limited still
            found = episode.go_on_from(superseded_s)
            given += self._end(superseded_s)
            self._begin(found, now)
            return given
        self._look_for_successor(episode, reading, since_s)
        return given + self._hand_over(episode, second, now)

    def _drop(self, episode: Episode) -> None:
        """It was no limitation: other code, perhaps, whose clock and power are to be learned."""
        self._announcer.forget(episode)
        self._episode = None
        if episode.fell is not Fell.POWER and episode.is_a_real_loss():
            self._seeker.accept_other_code(episode.onset_s)

    def _look_for_successor(self, episode: Episode, reading: Reading, since_s: float) -> None:
        if self._further is None or episode.fell is not Fell.CLOCK:
            return
        if self._announcer.of(episode).cause is Cause.THERMAL:
            return
        if self._successor is None and episode.recovering_since_s is None:
            found = self._further.feed(reading, since_s, episode.sigma, episode.power_sigma)
            if found is not None:
                self._successor = Episode(self._memory, self._told, found, reading.t_s)
                episode.note_further_drop(reading)
        elif self._successor is not None:
            self._successor.add(reading, since_s)

    def _hand_over(self, episode: Episode, second: Second, now: float) -> Events:
        """Heat that takes over inside another event ends that one and begins its own."""
        successor = self._successor
        if successor is None or self._announcer.of(episode).cause is Cause.THERMAL:
            return ()  # heat that goes on is the same heat
        successor.step(second, self._seconds, self._load)
        if successor.ended_s is not None or successor.age_s > SUCCESSOR_UNTIL_S:
            self._successor = None
            return ()
        if successor.age_s < SUCCESSOR_FROM_S or not successor.recent or _is_at_power_limit(successor):
            return ()
        if judge(successor).named is not Cause.THERMAL:
            return ()
        if self._announcer.of(episode).cause is Cause.UNEXPLAINED and successor.began_as_hot_as(episode):
            return ()  # one cause for both
        given = self._end(successor.onset_s)
        self._episode = successor
        return given + self._announcer.speak(successor, now)

    def _end(self, at_s: float) -> Events:
        episode, self._episode = self._episode, None
        self._successor = self._further = None
        if episode is None:
            return ()
        if episode.recovering_since_s is not None:
            at_s = min(at_s, episode.recovering_since_s)
        given = self._announcer.close(episode, at_s, self._last_s or at_s)
        if given:
            is_heat = self._announcer.of(episode).cause is Cause.THERMAL
            self._memory.learn(is_heat=is_heat, temp_c=episode.onset.temp_c, loaded_s=episode.onset.loaded_s)
        self._announcer.forget(episode)
        return given


def _is_at_power_limit(episode: Episode) -> bool:
    """True while power sits at a known limit."""
    power, limit = episode.power_now_w(), episode.told.known.power_limit_w
    return power is not None and limit is not None and abs(power / limit - 1.0) <= CONTROL_RIPPLE
