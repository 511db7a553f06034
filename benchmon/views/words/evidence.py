"""Evidence for a cause in sentences, and what is needed to confirm it: the words, not the weighing."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from benchmon.model.events import Cause, Evidence, EvidenceKind, ThrottleEvent, Wanted
from benchmon.model.units import Unit
from benchmon.views.numbers import clock_ghz, counted, duration, plain, quantity

Kind = EvidenceKind
Figures = Mapping[str, float]

CAUSE_WORDS = {
    Cause.THERMAL: "heat",
    Cause.POWER_LIMIT: "power limit",
    Cause.OUTSIDE: "outside limit",
    Cause.UNEXPLAINED: "cause unknown",
}
"""What throttles the processor, where there is room for a word or two."""
_LIKELY_WORDS = {Cause.THERMAL: "heat", Cause.POWER_LIMIT: "a power limit", Cause.OUTSIDE: "a limit from outside"}


def _c(figures: Figures, name: str = "temp_c") -> str:
    return quantity(figures.get(name), Unit.CELSIUS, 1.0)


def _w(figures: Figures, name: str = "power_w") -> str:
    return quantity(figures.get(name), Unit.WATT)


def _held(figures: Figures) -> str:
    first_w, last_w = figures.get("first_w"), figures.get("last_w", 0.0)
    if first_w is None:
        fell = "the clock fell"
    elif last_w >= first_w:
        fell = "power went down and up again"
    else:
        fell = f"power fell from {plain(first_w, 0)} to {plain(last_w, 0)} W"
    return f"temperature stayed at {_c(figures)} for {duration(figures['length_s'])} while {fell}"


def _told(figures: Figures) -> str:
    below = figures["limit_c"] - figures["temp_c"]
    where = "at" if below <= 2.4 else f"{below:.0f} K below"
    return f"temperature was {_c(figures)}, {where} the limit of {_c(figures, 'limit_c')} that the sensors report"


def _budget(figures: Figures) -> str:
    window = f"the running average of power over {figures['window_s']:.0f} s"
    if figures["average_w"] < 0.8 * figures["limit_w"]:
        return f"{window} was only {_w(figures, 'average_w')}"
    if figures["average_w"] > 1.12 * figures["limit_w"]:
        return f"{window} had long been above the limit of {_w(figures, 'limit_w')}"
    lasts = ""
    if "lasts_s" in figures:
        lasts = f"; from idle, {_w(figures, 'before_w')} can last {figures['lasts_s']:.0f} s"
    return f"{window} had reached the limit of {_w(figures, 'limit_w')}{lasts}"


def _counted(figures: Figures) -> str:
    if "count" in figures:
        return f"the kernel counted {counted(int(figures['count']), 'heat event')} since the onset"
    return f"the kernel counted a heat event {figures['before_s']:.0f} s before the onset"


def _step(figures: Figures) -> str:
    after_s = figures["after_s"]
    side = "after" if after_s > 0 else "before"
    when = "at the onset" if abs(after_s) < 1.0 else f"{abs(after_s):.0f} s {side} the onset"
    return f"the kernel asked for cooling step {figures['step']:.0f}, {when}"


def _cap(figures: Figures) -> str:
    whose = "the platform" if figures["is_platform"] else "the clock policy"
    return f"{whose} lowered its cap from {clock_ghz(figures['before_mhz'])} to {clock_ghz(figures['cap_mhz'])}"


_SENTENCES: dict[Kind, str | Callable[[Figures], str]] = {
    Kind.HELD_WHILE_POWER_MOVED: _held,
    Kind.HELD_SINCE_POWER_FELL: _held,
    Kind.NOTHING_ELSE_HELD: lambda f: (
        f"temperature stayed at {_c(f)} for {duration(f['length_s'])} while neither power nor clock was steady"
    ),
    Kind.STAYS: lambda f: f"temperature stayed near {_c(f)} where this machine would have cooled at that power",
    Kind.FOLLOWS_POWER: "temperature only followed power",
    Kind.RAN_FREE_HOTTER: lambda f: f"it had run unthrottled at {_c(f, 'free_c')} before",
    Kind.FRESH_PEAK: lambda f: f"temperature was rising and at its highest so far, {_c(f)}, when the clock fell",
    Kind.RISING: lambda f: f"temperature had risen {plain(f['k'], 1)} K in the ten seconds before",
    Kind.AT_TOLD_LIMIT: _told,
    Kind.COLD: lambda f: f"it was only {_c(f)} warm",
    Kind.NO_TEMPERATURE: "no temperature was read",
    Kind.TEETH: lambda f: f"the clock fell {f['count']:.0f} times at {_c(f)}, having been cooler in between",
    Kind.TEETH_TO_FLOOR: lambda f: f"the clock fell {f['count']:.0f} times to its lowest, at {_c(f)} each time",
    Kind.TEETH_ELSEWHERE: lambda f: f"the clock fell again at other temperatures than {_c(f)}",
    Kind.HEAT_HERE_BEFORE: lambda f: f"it was throttled by heat at {_c(f)} before",
    Kind.SAME_ONSET: lambda f: f"earlier events began at about {_c(f)} as well",
    Kind.OTHER_ONSETS: lambda f: f"earlier events began at other temperatures than {_c(f)}",
    Kind.CLIMBED_ON: lambda f: f"temperature rose beyond {_c(f)} and the clock was not lowered",
    Kind.TAKEN_DOWN_WHILE_COOLING: lambda f: f"the clock was lowered further while it cooled by {f['k']:.0f} K",
    Kind.HEAT_GAVE_UP: "temperature had been defended at a higher clock, and it is cooler now",
    Kind.LIGHTER_WORK: "power fell while the clock stayed, as with lighter work",
    Kind.LOAD_MAY_HAVE_ENDED: lambda f: f"it cooled to {_c(f)}, as at the end of a load, and the load is not known",
    Kind.POWER_ALONE_FELL: "power fell, the clock did not",
    Kind.SINCE_LOAD_BEGAN: "it was throttled from the first second of the load",
    Kind.AFTER_USUAL_BUDGET: lambda f: (
        f"the load had run {duration(f['loaded_s'])}, about as long as power budgets last"
    ),
    Kind.AT_ONCE: lambda f: f"the load had run only {plain(f['loaded_s'], 0)} s",
    Kind.LONGER_THAN_BUDGETS: lambda f: f"the load had run {duration(f['loaded_s'])}, longer than power budgets last",
    Kind.AT_POWER_LIMIT: lambda f: f"power was {_w(f)}, at the limit of {_w(f, 'limit_w')}",
    Kind.BELOW_POWER_LIMIT: lambda f: f"power was {_w(f)}, below the limit of {_w(f, 'limit_w')}",
    Kind.BUDGET_USED_UP: _budget,
    Kind.POWER_HELD: lambda f: f"power stayed at {_w(f)}, steadier than the clock",
    Kind.CLOCK_HELD: lambda f: f"the clock stayed at {clock_ghz(f['clock_mhz'])}, steadier than power",
    Kind.CLOCK_FOLLOWS_LEAKAGE: lambda f: f"power stayed at {_w(f)} while the clock followed the temperature",
    Kind.POWER_FOLLOWS_LEAKAGE: "the clock stayed while power followed the temperature",
    Kind.COOLING_STEP: _step,
    Kind.HEAT_COUNTED: _counted,
    Kind.NO_HEAT_COUNTED: "the kernel counted no heat event",
    Kind.CAP_FELL: _cap,
    Kind.NO_CAP: "no cap on the clock was lowered",
    Kind.AT_FLOOR: lambda f: f"the clock was clamped to its lowest, {clock_ghz(f['clock_mhz'])}",
    Kind.COLD_AT_FLOOR: lambda f: f"the clock stayed at its lowest though it had cooled to {_c(f)}",
}

_WANTED = {
    Wanted.TEMPERATURE: "a temperature reading",
    Wanted.PACKAGE_POWER: "package power",
    Wanted.TEMP_LIMIT: "the temperature limit",
    Wanted.POWER_LIMIT: "the power limit",
    Wanted.HEAT_COUNTER: "the kernel's heat counter",
}
_ANOTHER_START = (
    "the same load started cool and then half cooled (benchmon watch --plan onset; it takes some three times as long as"
    " this took to come, and the cool-downs): heat then throttles at the same temperature, a power budget after the"
    " same energy, a cap at neither"
)


def evidence_sentence(evidence: Evidence) -> str:
    """What was seen, without a full stop: ``temperature held at 81 °C for 1:20 while power fell from 45 to 31 W``."""
    words = _SENTENCES[evidence.kind]
    return words if isinstance(words, str) else words(evidence.figures)


def evidence_sentences(event: ThrottleEvent) -> tuple[str, ...]:
    """All evidence of an event, strongest first; what speaks against its likeliest cause says so."""
    told = []
    for one in event.evidence:
        sentence = evidence_sentence(one)
        told.append(sentence if one.weight > 0.0 else f"against it: {sentence}")
    return tuple(told)


def wanted_words(event: ThrottleEvent) -> str:
    """What is needed to confirm the cause; empty if there is no doubt."""
    if not event.wanted:
        return ""
    known = [_WANTED[wanted] for wanted in event.wanted if wanted in _WANTED]
    parts = [" or ".join(known)] if known else []
    if Wanted.ANOTHER_START in event.wanted:
        parts.append(_ANOTHER_START)
    return "; or ".join(parts)


def likely_words(event: ThrottleEvent) -> str:
    """Probabilities of an unnamed cause in words: ``most likely heat (70%), else a power limit (20%)``.

    Empty for a named cause, and where nothing is likelier than that none of them is it.
    """
    if event.cause is not Cause.UNEXPLAINED:
        return ""
    ranked = sorted(
        (cause for cause in event.causes if cause is not Cause.UNEXPLAINED), key=lambda cause: -event.causes[cause]
    )
    likely = [cause for cause in ranked if round(10 * event.causes[cause]) >= 1]
    if not likely or event.causes[likely[0]] < 0.4:
        return ""
    first = f"most likely {_LIKELY_WORDS[likely[0]]} ({chance(event.causes[likely[0]])})"
    if len(likely) == 1:
        return first
    return f"{first}, else {_LIKELY_WORDS[likely[1]]} ({chance(event.causes[likely[1]])})"


def chance(probability: float) -> str:
    """A probability as it deserves: ``70%``; above 95% to a hundredth, 99% at most."""
    percent = min(round(100 * probability), 99) if probability >= 0.95 else 10 * round(10 * probability)
    return f"{percent}%"
