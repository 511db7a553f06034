"""When an event is announced, revised, given out anew and closed."""

from __future__ import annotations

from dataclasses import dataclass, field

from benchmon.analysis.throttle.episode import Episode
from benchmon.analysis.throttle.evidence import Judgement, judge, wanted
from benchmon.analysis.throttle.figures import share_of
from benchmon.analysis.throttle.measures import is_at_floor
from benchmon.analysis.throttle.seeker import ON_DEMAND_STEP, Fell
from benchmon.model.events import Cause, ThrottleEvent

CLEAR_AFTER_S, LIGHTER_CLEAR_AFTER_S, BLIND_CLEAR_AFTER_S = 1.4, 6.0, 12.0
"""A cause that is clear is announced so long after the onset: two samples of the usual recording; the die has followed
its power where lighter work would look the same; two judgements that agree where no limit and no count is known."""
UNEXPLAINED_AFTER_S, BLIND_UNEXPLAINED_AFTER_S = 12.0, 20.0
"""Announced without a cause so long after the onset: a third of a usual averaging window; where nothing is known only
repetition can tell, and teeth last that long …"""
UNDECIDED_UNTIL_S, BLIND_UNDECIDED_UNTIL_S = 45.0, 120.0
"""… unless the temperature stayed near, or comes back: then heat is likely, and a heatsink takes its two minutes."""
LEAST_LIMITED_S = 1.0
"""Shorter stretches of limitation are not announced unless they come again."""
TAKEN_BACK_BELOW = 0.5
"""A named cause is taken back once another is likelier than it, twice in a row."""
LASTING_S = 10.0
"""A cause that was clear for this long was true then; when it no longer is, another has taken over."""
JUDGE_AGE_SHARE, JUDGE_SELDOM_S, JUDGE_HEAT_S = 0.05, 5.0, 30.0
"""An old event is looked at less often: after this share of its age, every five seconds at the least. Its evidence is
weighed twice a minute once heat is named and named again: only heatsink and room still change then, with time constants
of minutes, and what relieves heat is looked for apart."""
REFRESH_S, REFRESH_SHARE = 5.0, 0.01
"""An open event's figures are given out anew this often, an old one's after this share of its age: no more than that
share of what its means are made of is new."""

Events = tuple[ThrottleEvent, ...]


@dataclass(slots=True)
class Spoken:
    """What has been said of one event, and what will be."""

    number: int = 0
    """0 until it is announced."""
    announced_s: float = 0.0
    given_s: float = 0.0
    look_next_s: float = float("-inf")
    judge_next_s: float = float("-inf")
    cause: Cause = Cause.UNEXPLAINED
    first_cause: Cause = Cause.UNEXPLAINED
    judgement: Judgement | None = None
    """The last one that agrees with what is said."""
    last_named: Cause = Cause.UNEXPLAINED
    """What the judgement before this one named."""
    unlike: int = 0
    """Judgements in a row that contradict what was announced."""
    clear_s: float | None = None
    """When the evidence last named the announced cause [s]."""
    superseded_s: float | None = None
    """Since when another cause holds it [s]; set once that is certain."""
    revision: int = 0


@dataclass(slots=True)
class Announcer:
    """Keeps the list of events and decides what is said when."""

    events: list[ThrottleEvent] = field(default_factory=list)
    _spoken: dict[int, Spoken] = field(default_factory=dict)

    def of(self, episode: Episode) -> Spoken:
        """What has been said of an event."""
        spoken = self._spoken.get(id(episode))
        if spoken is None:
            spoken = self._spoken[id(episode)] = Spoken()
        return spoken

    def is_announced(self, episode: Episode) -> bool:
        """Whether it was announced."""
        return self.of(episode).number > 0

    def forget(self, episode: Episode) -> None:
        """It is no longer followed."""
        self._spoken.pop(id(episode), None)

    def speak(self, episode: Episode, now: float) -> Events:
        """Judge the event if it is time to, and say what is new."""
        spoken, age_s = self.of(episode), now - episode.onset_s
        wait_s = LIGHTER_CLEAR_AFTER_S if episode.lighter_work_possible else CLEAR_AFTER_S
        if age_s < wait_s or episode.recovering_since_s is not None or now < spoken.look_next_s:
            return self._refresh(episode, spoken, now)
        spoken.look_next_s = now + min(JUDGE_AGE_SHARE * age_s, JUDGE_SELDOM_S)
        if spoken.number:
            spoken.superseded_s = episode.heat_ended_s() if spoken.cause is Cause.THERMAL else None
            if spoken.superseded_s is not None:
                return ()
            if now < spoken.judge_next_s:
                return self._refresh(episode, spoken, now)
        judgement = judge(episode)
        agrees, spoken.last_named = judgement.named is spoken.last_named, judgement.named
        if not spoken.number:
            return self._first_word(episode, judgement, now, agrees=agrees)
        if judgement.named is spoken.cause is Cause.THERMAL:
            spoken.judge_next_s = now + min(JUDGE_AGE_SHARE * age_s, JUDGE_HEAT_S)
        if self._takes_back(spoken, judgement):
            if _was_true(spoken):
                if judgement.named is not Cause.UNEXPLAINED:
                    spoken.superseded_s = spoken.clear_s
                return self._refresh(episode, spoken, now)
            spoken.cause, spoken.judgement = judgement.named, judgement
            spoken.revision += 1
            return self._give(episode, None, now)
        if judgement.named is spoken.cause:
            spoken.clear_s, spoken.judgement = now, judgement
        return self._refresh(episode, spoken, now)

    def _first_word(self, episode: Episode, judgement: Judgement, now: float, *, agrees: bool) -> Events:
        if episode.figures.sums.limited_s < LEAST_LIMITED_S or not episode.power_fell_too():
            return ()  # wide code, it may be, or noise
        age_s = now - episode.onset_s
        is_clear = judgement.named is not Cause.UNEXPLAINED and (not episode.is_noisy or episode.is_a_real_loss())
        if episode.is_blind:
            is_clear &= agrees and age_s >= BLIND_CLEAR_AFTER_S
        if is_clear:
            return self._announce(episode, judgement, judgement.named, now)
        if self._is_time_for_unexplained(episode, age_s):
            return self._announce(episode, judgement, Cause.UNEXPLAINED, now)
        return ()

    def close(self, episode: Episode, end_s: float, now: float) -> Events:
        """The event is over: closed, or nothing if it was never worth a word."""
        given: Events = ()
        if self.is_announced(episode) or self._tell_at_last(episode, end_s, now):
            given = self._give(episode, max(end_s, episode.onset_s), now)
        return given

    def last_word(self, episode: Episode, now: float) -> Events:
        """The recording is over while it lasts: the open event, or nothing if it was not worth a word yet."""
        if self.is_announced(episode) or self._tell_at_last(episode, now, now):
            return self._give(episode, None, now)
        return ()

    def _tell_at_last(self, episode: Episode, end_s: float, now: float) -> bool:
        """Announce what was not told yet because its cause was still being looked for; True if that was worth it."""
        if episode.figures.sums.limited_s < 2.0 * LEAST_LIMITED_S or not episode.power_fell_too():
            return False
        judgement = judge(episode)
        is_old = end_s - episode.onset_s >= UNEXPLAINED_AFTER_S
        if judgement.named is not Cause.UNEXPLAINED or (is_old and _is_certain(episode)):
            self._announce(episode, judgement, judgement.named, now)
        return self.is_announced(episode)

    def _is_time_for_unexplained(self, episode: Episode, age_s: float) -> bool:
        blind = episode.is_blind
        if age_s < (BLIND_UNEXPLAINED_AFTER_S if blind else UNEXPLAINED_AFTER_S) or not _is_certain(episode):
            return False
        near = episode.held.is_near_onset
        until_s = BLIND_UNDECIDED_UNTIL_S if blind and near else UNDECIDED_UNTIL_S
        return age_s >= until_s or not (near or episode.relapses)

    @staticmethod
    def _takes_back(spoken: Spoken, judgement: Judgement) -> bool:
        """A cause once announced is taken back only when the evidence says otherwise twice."""
        is_other = judgement.named is not spoken.cause
        if is_other and judgement.named is Cause.UNEXPLAINED:
            is_other = judgement.causes[spoken.cause] < TAKEN_BACK_BELOW
        spoken.unlike = spoken.unlike + 1 if is_other else 0
        return spoken.unlike >= 2

    def _announce(self, episode: Episode, judgement: Judgement, cause: Cause, now: float) -> Events:
        spoken = self.of(episode)
        spoken.number, spoken.announced_s = len(self.events) + 1, now
        spoken.cause = spoken.first_cause = cause
        spoken.judgement = judgement
        self.events.append(self._event(episode, None))
        return self._give(episode, None, now)

    def _refresh(self, episode: Episode, spoken: Spoken, now: float) -> Events:
        """The open event with its figures until now, if it is time to give it out."""
        return (
            self._give(episode, None, now)
            if spoken.number and now - spoken.given_s >= _refresh_every_s(now - episode.onset_s)
            else ()
        )

    def _give(self, episode: Episode, end_s: float | None, now: float) -> Events:
        event = self._event(episode, end_s)
        self.events[event.number - 1] = event
        self.of(episode).given_s = now
        return (event,)

    def _event(self, episode: Episode, end_s: float | None) -> ThrottleEvent:
        spoken, figures, known = self.of(episode), episode.figures, episode.told.known
        judgement = spoken.judgement or judge(episode)
        sums = figures.sums
        return ThrottleEvent(
            number=spoken.number,
            cause=spoken.cause,
            first_cause=spoken.first_cause,
            start_s=episode.onset_s,
            end_s=end_s,
            announced_s=spoken.announced_s,
            causes={cause: round(share, 3) for cause, share in judgement.causes.items()},
            evidence=judgement.evidence(),
            wanted=wanted(episode, judgement),
            from_start=episode.from_start,
            clock_before_mhz=episode.before.clock,
            clock_held_mhz=figures.held_clock,
            clock_lowest_mhz=figures.least_clock,
            power_before_w=episode.before.power,
            power_held_w=figures.held_power,
            power_lowest_w=figures.least_power,
            temp_onset_c=episode.onset.temp_c,
            temp_plateau_c=share_of(sums.temp, sums.temp_s) if episode.temp_is_held else None,
            temp_told_c=known.temp_limit_c,
            power_limit_w=known.power_limit_w,
            limited_share=share_of(sums.limited_s, sums.total_s),
            recoveries=episode.recoveries,
            work_lost=share_of(sums.work_lost, sums.total_s),
            energy_j=sums.energy_j if figures.least_power is not None else None,
            revision=spoken.revision,
        )


def _refresh_every_s(age_s: float) -> float:
    return max(REFRESH_S, REFRESH_SHARE * age_s)


def _is_certain(episode: Episode) -> bool:
    """Limited for certain though nobody knows by what: not where the load or the work may have changed instead."""
    if not episode.load_is_known or episode.lighter_work_possible:
        return False
    if episode.fell is Fell.WORK and episode.onset.temp_c is None and episode.before.power is None:
        return False  # a rate of work alone: neighbours, a hypervisor, other data
    if episode.load_is_full:
        return episode.is_a_real_loss()
    # a demand that is met: the governor jumps, or has gone down to the lowest clock there is
    follows_demand = episode.spread(20, of_speed=True) > ON_DEMAND_STEP or is_at_floor(episode)
    return episode.is_a_real_loss() and not follows_demand


def _was_true(spoken: Spoken) -> bool:
    """A limit of power or a cap that was obeyed for a while was the cause then, whatever is the cause now."""
    if spoken.cause not in {Cause.POWER_LIMIT, Cause.OUTSIDE} or spoken.clear_s is None:
        return False
    return spoken.clear_s - spoken.announced_s >= LASTING_S
