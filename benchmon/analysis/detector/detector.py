"""The throttle detector: one observation at a time, the same live and afterwards."""

from __future__ import annotations

from benchmon.analysis.detector.cleaning import Cleaner, Reading
from benchmon.analysis.detector.drop_test import DropTest
from benchmon.analysis.detector.episode import Before
from benchmon.analysis.detector.load import LoadFollower, LoadState
from benchmon.analysis.detector.memory import Memory
from benchmon.analysis.detector.noise import Jitter
from benchmon.analysis.detector.pursuit import Fell, Pursuit, begin_episode
from benchmon.analysis.detector.reference import Reference, References
from benchmon.analysis.detector.rules import Rules
from benchmon.analysis.detector.trail import Second, Trail
from benchmon.analysis.detector.verdict import Verdict, judge
from benchmon.analysis.detector.watch import MachineWatch
from benchmon.analysis.series import Observation
from benchmon.model.events import Cause, ThrottleEvent

VERSION = "1"
"""Named in reports; raised whenever the same recording may give other events."""

_PENDING_KEPT = 400


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
        self._references = References(self._rules)
        self._reference = Reference(self._rules, 0.0, None)
        self._trail = Trail()
        self._jitter = Jitter()
        self._power_jitter = Jitter(0.01)
        self._test = DropTest()
        self._power_test = DropTest()
        self._pending: list[tuple[float, Reading]] = []
        self._pursuit: Pursuit | None = None
        self._uses_clock = False
        self._stretch = 0
        self._last_s: float | None = None
        self._last_free_s = 0.0
        self._events: list[ThrottleEvent] = []

    @property
    def events(self) -> tuple[ThrottleEvent, ...]:
        """All events so far as last given out; the last may be open."""
        return tuple(self._events)

    def push(self, seen: Observation) -> tuple[ThrottleEvent, ...]:
        """Take the next observation; gives the events that are new, revised or closed by it.

        An observation whose time does not go forward is ignored.
        """
        reading = self._cleaner.clean(seen)
        if reading is None:
            return ()
        now = reading.t_s
        since = now - self._last_s if self._last_s is not None else 0.0
        given: tuple[ThrottleEvent, ...] = ()
        if since > self._rules.gap_s:
            given = self._end(self._last_s or now)
            self._jitter.forget_last()
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
            given += self._begin_stretch(reading, seen.busy_cores)
        if self._pursuit is None:
            if state is LoadState.STEADY:
                self._seek(reading, speed, since, second)
            else:
                self._jitter.forget_last()
                self._memory.not_free()
            return given
        return given + self._follow(reading, state, since, second)

    def finish(self) -> tuple[ThrottleEvent, ...]:
        """The recording is over: an open event stays open unless it had recovered; gives what changed."""
        pursuit = self._pursuit
        if pursuit is None or not pursuit.episode.number:
            return ()
        return self._give(pursuit, None)

    # --- stretches ---

    def _begin_stretch(self, reading: Reading, cores: float | None) -> tuple[ThrottleEvent, ...]:
        given = self._end(reading.t_s) if self._pursuit is not None else ()
        self._stretch = self._load.stretch
        self._reference.drop_open_block()
        self._reference = self._references.pick(self._load.level, cores)
        self._test.reset()
        self._power_test.reset()
        self._pending.clear()
        self._jitter.forget_last()
        self._memory.not_free()
        before = self._trail.since(reading.t_s - 6.0, reading.t_s - 0.01)
        if before and before[0].temp is not None and before[0].power is not None:
            self._memory.answer.begin(reading.t_s, before[0].temp, before[0].power)
        return given

    # --- while nothing limits ---

    def _seek(self, reading: Reading, speed: float | None, since: float, second: Second | None) -> None:
        if speed is None or speed <= 0.0:
            return
        reference, rules, now = self._reference, self._rules, reading.t_s
        self._jitter.feed(speed)
        sigma = self._jitter.sigma
        if reference.speed <= 0.0:
            reference.feed(now, speed, reading.power, reading.work, sigma)
            self._last_free_s = now
            return
        deficit = 1.0 - speed / reference.speed
        slack = max(rules.slack, rules.slack_sigmas * sigma)
        if reference.is_young:
            slack += rules.young_reference_doubt
        fired = self._test.feed(now, deficit, slack, max(rules.threshold, rules.threshold_sigmas * sigma))
        if self._test.total > 0.0:
            if len(self._pending) < _PENDING_KEPT:
                self._pending.append((since, reading))
            if fired:
                self._begin_pursuit(reading, self._test.onset_s, Fell.CLOCK if self._uses_clock else Fell.WORK)
            return
        self._pending.clear()
        self._last_free_s = now
        reference.feed(now, speed, reading.power, reading.work, sigma)
        if second is not None:
            self._memory.see_free(second)

    def _begin_pursuit(self, reading: Reading, first_low_s: float, fell: Fell) -> None:
        self._reference.drop_open_block()
        onset_s = (self._last_free_s + first_low_s) / 2.0 if first_low_s - self._last_free_s < 11.0 else first_low_s
        episode = begin_episode(onset_s, reading.t_s, Before(self._reference, self._uses_clock), fell)
        pursuit = Pursuit(self._rules, self._memory, self._watch, episode, fell)
        pursuit.sigma = self._jitter.sigma
        for dt_s, past in self._pending:
            pursuit.add(past, dt_s)
        pursuit.case.onset.hottest_before_c = self._hottest_until(onset_s)
        self._pending.clear()
        self._test.reset()
        self._memory.not_free()
        self._pursuit = pursuit

    def _hottest_until(self, onset_s: float) -> float | None:
        temps = [s.temp for s in self._trail.since(float("-inf"), onset_s) if s.temp is not None]
        return max(temps) if temps else None

    # --- while something limits ---

    def _follow(
        self, reading: Reading, state: LoadState, since: float, second: Second | None
    ) -> tuple[ThrottleEvent, ...]:
        pursuit = self._pursuit
        if pursuit is None:
            return ()
        now = reading.t_s
        if state is not LoadState.STEADY:
            if now - self._load.last_busy_s > self._rules.pause_s:
                return self._end(self._load.last_busy_s)
            return ()
        pursuit.add(reading, since)
        if pursuit.ended_s is not None:
            return self._end(pursuit.ended_s)
        if second is None:
            return ()
        pursuit.see(second, self._trail)
        if not pursuit.episode.number and self._is_other_code(pursuit):
            self._reference.restart(*self._held_now(pursuit))
            self._pursuit = None
            return ()
        return self._speak(pursuit, now)

    def _is_other_code(self, pursuit: Pursuit) -> bool:
        """Power did not fall with the clock: other code runs now, nothing limits it more than before."""
        before, power = pursuit.episode.before.power, pursuit.case.power_now_w()
        if before is None or power is None or pursuit.case.age_s < self._rules.clear_after_s:
            return False
        return 1.0 - power / before < self._rules.other_code_share * pursuit.case.deficit

    def _held_now(self, pursuit: Pursuit) -> tuple[float, float | None, float | None]:
        last = pursuit.case.recent[-1] if pursuit.case.recent else None
        speed = pursuit.case.speed_now() or pursuit.episode.before.speed
        return speed, pursuit.case.power_now_w(), last.work if last else None

    def _speak(self, pursuit: Pursuit, now: float) -> tuple[ThrottleEvent, ...]:
        episode, rules = pursuit.episode, self._rules
        age = now - episode.onset_s
        if age < rules.clear_after_s or episode.recovering_since_s is not None:
            return self._refresh(pursuit, now)
        verdict = judge(pursuit.case)
        if not episode.number:
            if episode.sums.limited_s < rules.least_limited_s:
                return ()
            if verdict.is_clear or (age >= rules.announce_after_s and self._load.is_known):
                return self._announce(pursuit, verdict, now)
            return ()
        if self._takes_back(pursuit, verdict):
            episode.cause = verdict.cause
            episode.revision += 1
            self._write(pursuit, verdict)
            return self._give(pursuit, None)
        if verdict.cause is episode.cause:
            self._write(pursuit, verdict)
        return self._refresh(pursuit, now)

    def _takes_back(self, pursuit: Pursuit, verdict: Verdict) -> bool:
        """A cause once named is taken back only when the evidence says otherwise twice."""
        if verdict.cause is pursuit.episode.cause:
            pursuit.unlike = 0
            return False
        if not verdict.is_clear and verdict.score_of(pursuit.episode.cause) >= 1.0:
            return False
        pursuit.unlike += 1
        return pursuit.unlike >= 2

    def _announce(self, pursuit: Pursuit, verdict: Verdict, now: float) -> tuple[ThrottleEvent, ...]:
        episode = pursuit.episode
        episode.number = len(self._events) + 1
        episode.announced_s = now
        episode.cause = episode.first_cause = verdict.cause
        self._write(pursuit, verdict)
        self._events.append(episode.event(None))
        return self._give(pursuit, None)

    def _write(self, pursuit: Pursuit, verdict: Verdict) -> None:
        episode = pursuit.episode
        episode.confidence, episode.evidence = verdict.confidence, verdict.evidence
        episode.would_settle = verdict.would_settle

    def _refresh(self, pursuit: Pursuit, now: float) -> tuple[ThrottleEvent, ...]:
        episode = pursuit.episode
        if not episode.number or now - episode.given_s < self._rules.refresh_s:
            return ()
        return self._give(pursuit, None)

    def _give(self, pursuit: Pursuit, end_s: float | None) -> tuple[ThrottleEvent, ...]:
        event = pursuit.episode.event(end_s)
        self._events[event.number - 1] = event
        pursuit.episode.given_s = self._last_s or 0.0
        return (event,)

    def _end(self, at_s: float) -> tuple[ThrottleEvent, ...]:
        pursuit, self._pursuit = self._pursuit, None
        if pursuit is None:
            return ()
        episode = pursuit.episode
        if episode.recovering_since_s is not None:
            at_s = min(at_s, episode.recovering_since_s)
        if not episode.number:
            if episode.sums.limited_s < 2.0 * self._rules.least_limited_s or not self._load.is_known:
                return ()
            verdict = judge(pursuit.case)
            if not verdict.is_clear:
                return ()
            self._announce(pursuit, verdict, self._last_s or at_s)
        self._remember(pursuit)
        return self._give(pursuit, max(at_s, episode.onset_s))

    def _remember(self, pursuit: Pursuit) -> None:
        episode = pursuit.episode
        if episode.cause is Cause.THERMAL and pursuit.case.onset.temp_c is not None:
            held = episode.temp_plateau
            self._memory.heat_temps.append(held if held is not None else pursuit.case.onset.temp_c)
        power = pursuit.case.power_now_w()
        if episode.cause is not Cause.THERMAL and power is not None:
            self._memory.power_levels.append(power)
