"""Every kind of evidence has a course by which it is measured; taken out of the table, the probabilities there change."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from math import sin

import pytest

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.detector import Detector
from benchmon.analysis.throttle.episode import Episode
from benchmon.analysis.throttle.evidence import TABLE, judge, probabilities
from benchmon.analysis.throttle.measures import Measured, measures
from benchmon.model.events import Cause, Evidence
from benchmon.model.events import EvidenceKind as Kind
from benchmon.views.words.evidence import evidence_sentence
from tests.benchmarks.fit_evidence import HAND, bounds
from tests.support import signals
from tests.support.courses import IDLE_C, START_S, Stretch, course, idle, warming

FELL_S = 80.0
"""When the clock falls, unless a course says otherwise: a minute after the load began."""
WARM = warming(80.0)
WARM_C = WARM(FELL_S)
"""74.6 °C."""


def cooling(
    power_w: float, start_s: float = FELL_S, from_c: float = WARM_C, tau_s: float = 30.0
) -> Callable[[float], float]:
    """Where this power takes the same machine: 40 K at 56 W above idle, by hand."""
    return warming(IDLE_C + 40.0 / 56.0 * (power_w - 4.0), tau_s, from_c, start_s)


def swinging(mean: float, share: float, period_s: float = 40.0) -> Callable[[float], float]:
    return lambda t_s: mean * (1.0 + share * sin(6.283 * (t_s - FELL_S) / period_s))


def fall(
    clock_mhz=2500.0, power_w=40.0, temp_c=WARM_C, *, at_s=FELL_S, until_s=140.0, before=WARM, known=None
) -> Iterator[Observation]:
    """Idle, a load with nothing in the way, and from ``at_s`` on what the test says."""
    return course(
        idle(), Stretch(START_S, temp_c=before), Stretch(at_s, clock_mhz, power_w, temp_c), until_s=until_s, known=known
    )


def known(**told: float) -> Observation:
    return Observation(0.0, **told)


def changed(seen: Iterable[Observation], since_s: float, **later: float | None) -> Iterator[Observation]:
    return (one._replace(**later) if one.t_s >= since_s else one for one in seen)


def followed(seen: Iterable[Observation], defended_c: Iterable[float] = ()) -> Episode:
    """What the detector follows at the end of the course."""
    detector = Detector(defended_c)
    for one in seen:
        detector.push(one)
    assert detector._episode is not None
    return detector._episode


def teeth_elsewhere() -> Iterator[Observation]:
    """It falls at 74.6, comes back at 60 and falls again at 66 °C, three times."""
    stretches = [idle(), Stretch(START_S, temp_c=WARM)]
    for tooth in range(3):
        start_s = FELL_S + 18.0 * tooth
        from_c = WARM_C if tooth == 0 else 66.0
        stretches.append(
            Stretch(start_s, 2000.0, 30.0, lambda t, s=start_s, c=from_c: c - (c - 60.0) * min((t - s) / 11.0, 1.0))
        )
        stretches.append(Stretch(start_s + 12.0, temp_c=lambda t, s=start_s: 60.0 + t - s - 12.0))
    stretches.append(Stretch(FELL_S + 54.0, 2000.0, 30.0, 66.0))
    return course(*stretches, until_s=FELL_S + 60.0)


def two_loads(second_c: float) -> Iterator[Observation]:
    """Two loads with a pause; the clock falls in each, the first time at 74.6 °C."""
    again_s = 260.0
    return course(
        idle(), Stretch(START_S, temp_c=WARM), Stretch(FELL_S, 2500.0, 40.0, cooling(40.0)),
        idle(200.0, warming(IDLE_C, 20.0, 65.0, 200.0)),
        Stretch(again_s, temp_c=warming(second_c + 5.0, 30.0, IDLE_C, again_s)),
        Stretch(again_s + 30.0 * 1.95, 2500.0, 40.0, second_c), until_s=again_s + 75.0,
    )  # fmt: skip


def ran_hotter() -> Iterator[Observation]:
    """A first load runs free at 80 °C; in the second the clock falls at 70."""
    return course(
        idle(), Stretch(START_S, temp_c=warming(80.0, 15.0)), idle(150.0, warming(IDLE_C, 20.0, 80.0, 150.0)),
        Stretch(220.0, temp_c=warming(75.0, 30.0, IDLE_C, 220.0)), Stretch(280.0, 2500.0, 40.0, 70.0), until_s=310.0,
    )  # fmt: skip


def gave_up() -> Iterator[Observation]:
    """Heat is held at 75 °C; from 400 s on the clock is held lower by somebody else, and it cools."""
    heat = signals.glide_at(75.0)
    return signals.run(
        lambda box, t_s, power_w: min(heat(box, t_s, power_w), 1500.0 if t_s >= 400.0 else 9999.0),
        duration_s=460.0, temp_step_c=0.125,
    )  # fmt: skip


def from_start() -> Iterator[Observation]:
    """The load begins at its 40 W limit and below the 3.2 GHz that it idles at."""
    power_w = known(power_limit_w=40.0)
    seen = course(idle(), Stretch(START_S, 2400.0, 40.0, warming(65.0)), until_s=60.0, known=power_w)
    return (one._replace(clock_mhz=3200.0) if one.t_s < START_S else one for one in seen)


def load_unread() -> Iterator[Observation]:
    """Loaded since before it was looked at, load not read: half the power is gone and it cools."""
    seen = course(Stretch(0.0, temp_c=75.0), Stretch(FELL_S, 2500.0, 30.0, cooling(30.0, from_c=75.0)), until_s=110.0)
    return (one._replace(load_pct=None) for one in seen)


@dataclass(frozen=True)
class Case:
    """A course, what is measured at its end, and whose probability it moves."""

    seen: Callable[[], Iterable[Observation]]
    least: float
    """The strength is this or more; this or less where it is negative."""
    cause: Cause
    raises: bool = True
    defended_c: tuple[float, ...] = ()


HEAT, POWER, OUTSIDE, NONE = Cause.THERMAL, Cause.POWER_LIMIT, Cause.OUTSIDE, Cause.UNEXPLAINED
LATE_S = 320.0
SLOW = warming(80.0, 150.0)
BUDGET_S = START_S + 28.8
"""28 s · ln((60 - 4) / (60 - 40)): when the running average of a 28 s window reaches 40 W."""
CAPPED = known(clock_cap_mhz=4000.0)

CASES: dict[Kind, Case] = {
    Kind.HELD_WHILE_POWER_MOVED: Case(lambda: fall(swinging(2500.0, 0.08), swinging(40.0, 0.15)), 0.5, HEAT),
    Kind.HELD_SINCE_POWER_FELL: Case(fall, 0.5, HEAT),
    Kind.NOTHING_ELSE_HELD: Case(
        lambda: fall(swinging(2500.0, 0.08, 12.0), swinging(40.0, 0.15, 12.0)), 0.6, HEAT
    ),
    Kind.STAYS: Case(fall, 0.5, HEAT),
    Kind.FOLLOWS_POWER: Case(lambda: fall(temp_c=cooling(40.0)), 0.3, HEAT, raises=False),
    Kind.TEETH: Case(lambda: signals.run(signals.sawtooth_at(75.0, 68.0, 2000.0)), 1.0, HEAT),
    Kind.TEETH_TO_FLOOR: Case(
        lambda: signals.run(signals.sawtooth_at(75.0, 68.0, 800.0), known=known(lowest_clock_mhz=800.0)), 0.9, OUTSIDE
    ),
    Kind.TEETH_ELSEWHERE: Case(teeth_elsewhere, 0.6, HEAT, raises=False),
    Kind.HEAT_HERE_BEFORE: Case(fall, 1.0, HEAT, defended_c=(74.0,)),
    Kind.SAME_ONSET: Case(lambda: two_loads(WARM_C), 0.3, HEAT),
    Kind.OTHER_ONSETS: Case(lambda: two_loads(66.0), 0.3, HEAT, raises=False),
    Kind.RAN_FREE_HOTTER: Case(ran_hotter, 1.0, HEAT, raises=False),
    Kind.FRESH_PEAK: Case(fall, 1.0, HEAT),
    Kind.RISING: Case(lambda: fall(temp_c=cooling(40.0)), 0.3, OUTSIDE, raises=False),
    Kind.AT_TOLD_LIMIT: Case(lambda: fall(known=known(temp_limit_c=75.0)), 1.0, HEAT),
    Kind.COLD: Case(lambda: fall(before=warming(50.0), temp_c=48.0), 0.8, HEAT, raises=False),
    Kind.NO_TEMPERATURE: Case(lambda: changed(fall(), 0.0, temp_c=None), 1.0, HEAT, raises=False),
    Kind.CLIMBED_ON: Case(lambda: fall(temp_c=lambda t_s: WARM_C + 0.3 * (t_s - FELL_S)), 1.0, HEAT, raises=False),
    Kind.TAKEN_DOWN_WHILE_COOLING: Case(
        lambda: fall(lambda t_s: 3500.0 - 20.0 * (t_s - FELL_S), lambda t_s: 50.0 - 0.4 * (t_s - FELL_S), lambda t_s: WARM_C - 0.3 * (t_s - FELL_S)),
        1.0, HEAT, raises=False,
    ),
    Kind.HEAT_GAVE_UP: Case(gave_up, 1.0, HEAT, raises=False),
    Kind.LIGHTER_WORK: Case(lambda: fall(4000.0, 45.0, cooling(45.0), until_s=110.0), 1.0, HEAT, raises=False),
    Kind.POWER_ALONE_FELL: Case(lambda: fall(4000.0, 45.0, until_s=110.0), 1.0, POWER, raises=False),
    Kind.LOAD_MAY_HAVE_ENDED: Case(load_unread, 1.0, NONE),
    Kind.SINCE_LOAD_BEGAN: Case(from_start, 1.0, POWER),
    Kind.AFTER_USUAL_BUDGET: Case(lambda: fall(at_s=50.0, until_s=70.0, temp_c=WARM(50.0)), 0.95, POWER),
    Kind.AT_ONCE: Case(lambda: fall(at_s=25.0, until_s=40.0, temp_c=WARM(25.0)), 0.4, OUTSIDE, raises=False),
    Kind.LONGER_THAN_BUDGETS: Case(
        lambda: fall(temp_c=SLOW(LATE_S), at_s=LATE_S, until_s=340.0, before=SLOW), 1.0, POWER, raises=False
    ),
    Kind.AT_POWER_LIMIT: Case(lambda: fall(known=known(power_limit_w=40.0)), 0.95, POWER),
    Kind.BELOW_POWER_LIMIT: Case(lambda: fall(known=known(power_limit_w=55.0)), 0.95, POWER, raises=False),
    Kind.BUDGET_USED_UP: Case(
        lambda: fall(at_s=BUDGET_S, temp_c=WARM(BUDGET_S), until_s=70.0, known=known(power_limit_w=40.0, power_window_s=28.0)),
        1.0, POWER,
    ),
    Kind.POWER_HELD: Case(lambda: fall(swinging(2500.0, 0.04)), 0.3, POWER),
    Kind.CLOCK_HELD: Case(lambda: fall(power_w=swinging(40.0, 0.08)), 0.3, POWER, raises=False),
    Kind.CLOCK_FOLLOWS_LEAKAGE: Case(
        lambda: fall(lambda t_s: 2500.0 * (1.0 + 0.0018 * (WARM_C - cooling(40.0)(t_s))), temp_c=cooling(40.0)), 0.3, POWER
    ),
    Kind.POWER_FOLLOWS_LEAKAGE: Case(
        lambda: fall(power_w=lambda t_s: 40.0 * (1.0 - 0.004 * (WARM_C - cooling(40.0)(t_s))), temp_c=cooling(40.0)),
        0.3, POWER, raises=False,
    ),
    Kind.COOLING_STEP: Case(lambda: changed(fall(known=known(cooling_step=0.0)), FELL_S, cooling_step=3.0), 1.0, HEAT),
    Kind.HEAT_COUNTED: Case(lambda: changed(fall(known=known(throttle_count=7.0)), FELL_S, throttle_count=9.0), 1.0, HEAT),
    Kind.NO_HEAT_COUNTED: Case(
        lambda: fall(known=known(throttle_count=7.0, temp_limit_c=75.0)), 1.0, HEAT, raises=False
    ),
    Kind.CAP_FELL: Case(lambda: changed(fall(known=CAPPED), FELL_S, clock_cap_mhz=2500.0), 1.0, OUTSIDE),
    Kind.NO_CAP: Case(lambda: fall(800.0, 12.0, cooling(12.0), known=CAPPED._replace(lowest_clock_mhz=800.0), until_s=100.0), 1.0, OUTSIDE, raises=False),
    Kind.AT_FLOOR: Case(lambda: fall(800.0, 12.0, cooling(12.0), until_s=100.0, known=known(lowest_clock_mhz=800.0)), 1.0, OUTSIDE),
    Kind.COLD_AT_FLOOR: Case(lambda: fall(800.0, 12.0, cooling(12.0), known=known(lowest_clock_mhz=800.0)), 1.0, OUTSIDE),
}  # fmt: skip
each_kind = pytest.mark.parametrize("kind", list(CASES), ids=lambda kind: kind.value)


def measured(case: Case) -> list[Measured]:
    return measures(followed(case.seen(), case.defended_c))


def test_every_kind_has_weights_and_a_case():
    assert set(TABLE) == set(CASES) == set(Kind)


@each_kind
def test_it_is_measured_where_it_is_seen(kind):
    found = {one.kind: one for one in measured(CASES[kind])}
    assert kind in found
    strength, least = found[kind].strength, CASES[kind].least
    assert least - 1e-9 <= strength <= 3.0
    sentence = evidence_sentence(Evidence(kind, 1.0, found[kind].figures))
    assert sentence and "–" not in sentence


@each_kind
def test_taken_out_it_is_missed(kind):
    """Without its row the probability of the cause that it speaks of moves the other way."""
    case = CASES[kind]
    seen = measured(case)
    with_it = probabilities(seen)[case.cause]
    without = probabilities([one for one in seen if one.kind is not kind])[case.cause]
    assert (with_it - without if case.raises else without - with_it) > 1e-3


def test_a_budget_that_was_not_used_up_speaks_against_a_power_limit():
    told = known(power_limit_w=40.0, power_window_s=28.0)
    for at_s in (START_S + 5.0, START_S + 120.0):  # the average is at 13 W then, and at 59 W: long above the limit
        found = {
            one.kind: one
            for one in measures(followed(fall(at_s=at_s, temp_c=WARM(at_s), until_s=at_s + 20.0, known=told)))
        }
        assert found[Kind.BUDGET_USED_UP].strength == -1.0


def test_probabilities_add_up_and_none_is_ever_quite_sure():
    nothing = probabilities([])
    assert sum(nothing.values()) == pytest.approx(1.0)
    for kind in Kind:
        for strength in (-1.0, 1.0, 40.0):
            causes = probabilities([Measured(kind, strength, {})])
            assert set(causes) == set(Cause)
            assert sum(causes.values()) == pytest.approx(1.0)
            assert all(0.0 <= share <= 1.0 for share in causes.values())


def test_weights_keep_the_signs_and_bounds_that_were_written_by_hand():
    """What a measure can mean is decided by hand; the fit may only say how much of it."""
    assert set(HAND) == set(TABLE)
    for (kind, guesses), (least, most) in zip(_cells(), bounds()[3:], strict=True):
        place, guess = guesses
        weight = TABLE[kind][place]
        assert least - 0.005 <= weight <= most + 0.005, (kind, place)
        assert weight * guess >= 0.0, (kind, place)


def _cells() -> Iterator[tuple[Kind, tuple[int, float]]]:
    return ((kind, cell) for kind, hand in HAND.items() for cell in enumerate(hand))


@each_kind
def test_the_evidence_that_is_told_moves_the_odds_by_its_weight(kind):
    """First what speaks for the likeliest cause, then what speaks against the next, then what speaks against it."""
    judgement = judge(followed(CASES[kind].seen(), CASES[kind].defended_c))
    told = judgement.evidence()
    weights = [one.weight for one in told]
    likeliest = max(judgement.causes, key=lambda cause: judgement.causes[cause])
    place = list(judgement.causes).index(likeliest)
    strength_of = {one.kind: one.strength for one in judgement.measured}
    speaks_for_it = [strength_of[one.kind] * (*TABLE[one.kind], 0.0)[place] > 0.0 for one in told]
    groups = [2 if weight < 0.0 else 0 if speaks else 1 for weight, speaks in zip(weights, speaks_for_it, strict=True)]
    order = [(group, -abs(weight)) for group, weight in zip(groups, weights, strict=True)]
    assert order == sorted(order)
    assert all(abs(weight) >= 0.4 for weight in weights)
