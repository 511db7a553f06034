"""When an episode is announced, revised, given out anew and closed."""

from __future__ import annotations

from benchmon.analysis.throttle.pursuit import Fell, Pursuit
from benchmon.analysis.throttle.rules import Rules
from benchmon.analysis.throttle.verdict import Verdict, judge
from benchmon.model.events import Cause, ThrottleEvent

Events = tuple[ThrottleEvent, ...]


class Speaker:
    """Keeps the list of events and decides what is said when."""

    __slots__ = ("_rules", "events")

    def __init__(self, rules: Rules) -> None:
        """Start with nothing said."""
        self._rules = rules
        self.events: list[ThrottleEvent] = []

    def speak(self, pursuit: Pursuit, now: float) -> Events:
        """Judge the pursuit if it is time to, and say what is new."""
        episode, rules = pursuit.episode, self._rules
        age = now - episode.onset_s
        wait_s = rules.lighter_work_clear_after_s if pursuit.case.lighter_work_possible else rules.clear_after_s
        if age < wait_s or episode.recovering_since_s is not None or now < pursuit.judge_next_s:
            return self.refresh(pursuit, now)
        pursuit.judge_next_s = now + min(rules.judge_age_share * age, rules.judge_seldom_s)
        verdict = judge(pursuit.case)
        if not episode.number:
            if episode.sums.limited_s < rules.least_limited_s:
                return ()
            if not pursuit.power_fell_too():
                return ()  # wide code, it may be, or noise
            if verdict.is_clear or self._speaks_unexplained(pursuit, age):
                return self._announce(pursuit, verdict, now)
            return ()
        pursuit.superseded_s = pursuit.cap_took_over_s()
        if pursuit.superseded_s is not None:
            return ()
        if self._takes_back(pursuit, verdict):
            if self._was_true(pursuit):
                pursuit.superseded_s = pursuit.last_clear_s
                return ()
            episode.cause = verdict.cause
            episode.revision += 1
            self._write(pursuit, verdict)
            return self.refresh(pursuit, now, at_once=True)
        if verdict.cause is episode.cause:
            pursuit.last_clear_s = now
            self._write(pursuit, verdict)
        return self.refresh(pursuit, now)

    def is_clearly_heat(self, pursuit: Pursuit) -> bool:
        """True if the evidence of a pursuit that is old enough names heat."""
        if pursuit.case.age_s < self._rules.clear_after_s or not pursuit.case.recent:
            return False
        return judge(pursuit.case).cause is Cause.THERMAL

    def refresh(self, pursuit: Pursuit, now: float, *, at_once: bool = False) -> Events:
        """The open event with its figures until now, if it is time to give it out."""
        episode = pursuit.episode
        if not episode.number or not (at_once or now - episode.given_s >= self._rules.refresh_s):
            return ()
        return self._give(pursuit, None, now)

    def close(self, pursuit: Pursuit, end_s: float, now: float) -> Events:
        """The episode is over: the closed event, or nothing if it was never worth a word."""
        if not pursuit.episode.number and not self._tell_at_last(pursuit, end_s, now):
            return ()
        return self._give(pursuit, max(end_s, pursuit.episode.onset_s), now)

    def last_word(self, pursuit: Pursuit, now: float) -> Events:
        """The recording is over while it lasts: the open event, or nothing if it was not worth a word yet."""
        if not pursuit.episode.number and not self._tell_at_last(pursuit, now, now):
            return ()
        return self._give(pursuit, None, now)

    def _tell_at_last(self, pursuit: Pursuit, end_s: float, now: float) -> bool:
        """Announce what was not told yet because its cause was still being looked for; True if that was worth it."""
        episode, verdict = pursuit.episode, judge(pursuit.case)
        if episode.sums.limited_s < self._rules.least_limited_s * 2.0 or not pursuit.power_fell_too():
            return False
        is_old = end_s - episode.onset_s >= self._rules.announce_after_s
        if verdict.is_clear or (is_old and self._is_certain(pursuit)):
            self._announce(pursuit, verdict, now)
        return episode.number > 0

    def _is_certain(self, pursuit: Pursuit) -> bool:
        """Limited for certain though nobody knows by what: not where the load or the work may have changed instead."""
        case = pursuit.case
        if not case.load_is_known or (pursuit.fell is Fell.POWER and case.lighter_work_possible):
            return False
        follows_demand = not case.load_is_full and case.spread(20, of_speed=True) > self._rules.on_demand_step
        return pursuit.is_a_real_loss() and not follows_demand

    def _speaks_unexplained(self, pursuit: Pursuit, age_s: float) -> bool:
        least_s = self._rules.announce_blind_after_s if pursuit.case.is_blind else self._rules.announce_after_s
        if age_s < least_s or not self._is_certain(pursuit):
            return False
        undecided = pursuit.case.track.is_undecided or pursuit.episode.relapses
        blind = pursuit.case.is_blind and pursuit.case.track.is_undecided
        until_s = self._rules.undecided_blind_until_s if blind else self._rules.undecided_until_s
        return age_s >= until_s or not undecided

    def _takes_back(self, pursuit: Pursuit, verdict: Verdict) -> bool:
        """A cause once named is taken back only when the evidence says otherwise twice."""
        if verdict.cause is pursuit.episode.cause:
            pursuit.unlike = 0
            return False
        if not verdict.is_clear and verdict.score_of(pursuit.episode.cause) >= 1.0:
            return False
        pursuit.unlike += 1
        return pursuit.unlike >= 2

    def _was_true(self, pursuit: Pursuit) -> bool:
        """A limit of power or a cap that was obeyed for a while was the cause then, whatever is the cause now."""
        episode, clear_s = pursuit.episode, pursuit.last_clear_s
        if episode.cause not in {Cause.POWER_LIMIT, Cause.OUTSIDE} or clear_s is None:
            return False
        return clear_s - episode.announced_s >= self._rules.lasting_s

    def _announce(self, pursuit: Pursuit, verdict: Verdict, now: float) -> Events:
        episode = pursuit.episode
        episode.number = len(self.events) + 1
        episode.announced_s = now
        episode.cause = episode.first_cause = verdict.cause
        self._write(pursuit, verdict)
        self.events.append(episode.event(None))
        return self._give(pursuit, None, now)

    def _write(self, pursuit: Pursuit, verdict: Verdict) -> None:
        episode = pursuit.episode
        episode.confidence, episode.evidence = verdict.confidence, verdict.evidence
        episode.would_settle = verdict.would_settle

    def _give(self, pursuit: Pursuit, end_s: float | None, now: float) -> Events:
        event = pursuit.episode.event(end_s)
        self.events[event.number - 1] = event
        pursuit.episode.given_s = now
        return (event,)
