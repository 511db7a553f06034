"""A comparison in sentences: whether it helped, by how much, how sure that is, and what would decide it."""

from __future__ import annotations

from collections.abc import Mapping

from benchmon.model import keys
from benchmon.model.comparison import (
    Answer,
    At,
    Comparison,
    Contrast,
    Doubt,
    PhaseComparison,
    RunSpread,
    Side,
    Verdict,
    Want,
)
from benchmon.model.findings import Figure
from benchmon.views.numbers import counted, figure_text, half_width, plain
from benchmon.views.words.comparison_caveats import caveat_sentence
from benchmon.views.words.simulated import seen_words
from benchmon.views.words.work import billions, unit_of_rate

SPEED_WORDS = {keys.WORK_RATE: "units of work a second", keys.CLOCK: "MHz"}
_ANSWERS = {
    Answer.BETTER: "Better",
    Answer.WORSE: "Worse",
    Answer.SAME: "No difference beyond measurement",
    Answer.CANNOT_SAY: "Cannot say",
}
_SPEEDS = {
    Answer.BETTER: "Faster",
    Answer.WORSE: "Slower",
    Answer.SAME: "As fast, as far as can be measured",
    Answer.CANNOT_SAY: "Whether it is faster cannot be said",
}
_BETTER, _MORE, _FASTER = ("better", "worse"), ("more", "less"), ("faster", "slower")
_WHEN = ("before", "after")
_LONGEST_LABEL = 36
_UNEVEN = 1.5
"""Where one end of an interval is so many times as far away as the other, both are told."""
_WANTS = {
    Want.ROOM: "the room temperature of each run (“benchmon add SESSION --room 21.5”)",
    Want.POWER: "package power (“benchmon channels” says what would open it)",
    Want.TEMPERATURE: "the processor's temperature (“benchmon channels” says what would open it)",
    Want.SAME_MACHINE: "all runs on one machine, for two have two sensors and two power counters",
    Want.LONGER: "longer phases: until the temperature has settled, or heat has throttled it for five minutes",
    Want.ALIKE: "runs that heat throttles all, or none: in one room, a warmer or a cooler one",
    Want.SAME_LOAD: "the same phases, with the same load, in all runs",
}


def tag_words(tags: Mapping[str, str]) -> str:
    """``duct fitted, room attic``; ``no tags``."""
    return ", ".join(f"{key} {value}" for key, value in tags.items()) or "no tags"


def changed_words(contrast: Contrast) -> str:
    """``duct: none → fitted``; what was not there before is ``–``."""
    return "; ".join(f"{key}: {before or '–'} → {after or '–'}" for key, (before, after) in contrast.changed.items())


def label(side: Side, contrast: Contrast) -> str:
    """A side in as few words as tell it apart: the tags that changed, else (or where they are many) its file's name."""
    words = {key: side.tags[key] for key in contrast.changed if key in side.tags}
    text = tag_words(words)
    return text if words and len(text) <= _LONGEST_LABEL else side.runs[0].name


def cooling_sentence(contrast: Contrast, before: Side) -> str:
    """The answer, and the figures it rests on; ``before`` is the side that it is compared with."""
    verdict, at = contrast.cooling, contrast.at
    answer = _ANSWERS[verdict.answer]
    if verdict.why_not or at is None:
        return f"{answer}: {verdict.why_not}."
    where = _where(at)
    share = percent(verdict.change, *(_BETTER if at.limit_c is None else _MORE))
    if verdict.answer in {Answer.BETTER, Answer.WORSE}:
        return f"{answer}. {where} {_compared((before, contrast.side), verdict, at)} ({share})."
    text = f"{answer}. {where} {_compared((before, contrast.side), verdict, at)}"
    if verdict.answer is Answer.SAME:
        return f"{text}: a change of {_seen(verdict.change)} would have shown."
    return f"{text} ({share}): that is too close to call."


def capacity_sentence(contrast: Contrast, before: Side) -> str:
    """The watts at the limit beside the rise; empty where the cooling was judged by them, or no limit is known."""
    verdict, at = contrast.capacity, contrast.capacity_at
    if at is None or verdict.why_not:
        return ""
    return f"{_where(at)} {_compared((before, contrast.side), verdict, at)} ({percent(verdict.change, *_MORE)})."


def decision_sentence(verdict: Verdict) -> str:
    """What would decide it; empty where it is decided."""
    if verdict.answer is not Answer.CANNOT_SAY:
        return ""
    if verdict.more_runs is not None:
        runs = f"{counted(verdict.more_runs, 'more run')} of each"
        return f"What would decide it: {runs}, if the difference stays what it is."
    wanted = " and ".join(_WANTS[want] for want in verdict.wants if want in _WANTS)
    return f"What would decide it: {wanted}." if wanted else ""


def speed_sentence(contrast: Contrast) -> str:
    """Whether the same work went faster."""
    verdict = contrast.speed
    answer = _SPEEDS[verdict.answer]
    if verdict.why_not or verdict.before is None or verdict.after is None:
        return f"{answer}: {verdict.why_not}."
    after, before = (_speed(value, contrast) for value in (verdict.after, verdict.before))
    sustains = "it sustains " if contrast.is_speed_sustained else ""
    share = percent(verdict.change, *_FASTER)
    return f"{answer}{_in_another_room(contrast)}: {sustains}{after} instead of {before} ({share})."


def _in_another_room(contrast: Contrast) -> str:
    """Where heat throttles, the room makes a machine slow: then a speed says nothing of what was changed."""
    room = next((caveat for caveat in contrast.caveats if caveat.doubt is Doubt.ROOM), None)
    if room is None or not contrast.is_speed_sustained or contrast.speed.answer is Answer.CANNOT_SAY:
        return ""
    return f", but in rooms of {room.before} and {room.after} °C"


def sustained_sentence(phase: PhaseComparison) -> str:
    """Over which part of a phase its figures are taken; empty where it was throttled in no run."""
    if not any(phase.sustained):
        return ""
    counts = list(zip(phase.sustained, phase.runs, strict=True))
    if phase.runs == (1, 1):
        which = "both" if all(phase.sustained) else "before only" if phase.sustained[0] else "after only"
    else:
        which = " and ".join(f"{some} of {all_} {when}" for (some, all_), when in zip(counts, _WHEN, strict=True))
    return (
        f"Throttled for long: {which}. There, clock, powers, temperature, rise and work are of the sustained part, the"
        " last of the throttled time; energy and time throttled are always of the whole phase."
    )


def _speed(value: float, contrast: Contrast) -> str:
    """``71.9 GFlop/s`` where the size of a unit of work is known; else in units, MHz or what the score counts."""
    if contrast.speed_key == keys.WORK_RATE and contrast.speed_unit is not None:
        unit, per_s = unit_of_rate(contrast.speed_unit)
        return billions(value / per_s, unit)
    unit = SPEED_WORDS.get(contrast.speed_key, contrast.speed_key.removeprefix("score").strip())
    return f"{_number(value)} {unit}"


def caveat_sentences(contrast: Contrast, before: Side) -> tuple[str, ...]:
    """In what the runs differ, a sentence each."""
    names = before.runs[0].name, contrast.side.runs[0].name
    lines = [caveat_sentence(caveat) for caveat in contrast.caveats]
    lines += [f"Not in {names[1]}: {', '.join(contrast.only_before)}."] if contrast.only_before else []
    lines += [f"Not in {names[0]}: {', '.join(contrast.only_after)}."] if contrast.only_after else []
    for pair in contrast.phases:
        if pair.by_name:
            lines.append(f"Only the name of {pair.before} is the same in both: what loaded the processor is not.")
    return tuple(lines)


def basis_sentences(comparison: Comparison) -> tuple[str, ...]:
    """What the intervals rest on."""
    lines = [_spread_sentence(comparison.spread)]
    lines.append(
        "What the runs share cancels: the same sensor's calibration, the same meter's scale. What is read anew in"
        " each run does not: the room thermometer (± 1 K), the noise, how the cooler sits."
    )
    if any(contrast.is_paired for contrast in comparison.contrasts):
        lines.append("Runs with the same tag “pair” were compared pair by pair.")
    if comparison.copies:
        same = ", ".join(f"{copy} is {kept}" for copy, kept in comparison.copies.items())
        lines.append(f"The same recording under another name counts once: {same}.")
    if comparison.is_many:
        many = len(comparison.contrasts)
        lines.append(
            f"{many} comparisons are made at once: each interval is widened so that all of them are right together"
            " in 95 of 100 cases (Bonferroni)."
        )
    return tuple(lines)


def percent(change: Figure, more: str = "better", less: str = "worse") -> str:
    """``29 to 69 % more``; ``between 11 % less and 15 % more``."""
    if change.low is None or change.high is None:
        return plain(change.value, 0)
    low, high = 100.0 * change.low, 100.0 * change.high
    if round(low) == round(high) == 0:
        return "0 %"
    if low > 0.0 or high < 0.0:  # an interval without zero must not be seen to begin there
        near, far = sorted((abs(low), abs(high)))
        return f"{plain(near, 0 if near >= 0.95 else 1)} to {plain(far, 0)} % {more if low > 0.0 else less}"
    return f"between {plain(-low, 0)} % {less} and {plain(high, 0)} % {more}"


def signed(figure: Figure, unit: str, least_decimals: int = 0, most_decimals: int = 2) -> str:
    """``+18 ± 6 W``: a difference says its sign."""
    text = figure_text(figure, unit, least_decimals, most_decimals)
    is_more = figure.value is not None and figure.value > 0 and float(text.split(" ")[0]) > 0
    return f"+{text}" if is_more else text


def _where(at: At) -> str:
    room = f"in a {plain(at.room_c, 0)} °C room"
    if at.power_w is not None:
        return f"With {plain(at.power_w, 0 if at.power_w >= 20 else 1)} W ({at.phase}) {room}"
    return f"At {plain(at.limit_c, 0)} °C {room}"


def _compared(sides: tuple[Side, Side], verdict: Verdict, at: At) -> str:
    """``the cooler sustains 55 W instead of 37 W, 18 ± 6 W more``."""
    before, after, moved = verdict.before or 0.0, verdict.after or 0.0, verdict.difference
    half = half_width(moved) or 0.0
    places = 0 if half >= 1.0 or not half else 1
    is_same = round(after - before, places) == 0
    if at.power_w is not None:
        was, now = (f"{plain(kelvin, places)} K" for kelvin in (before, after))
        if is_same:
            return f"it ends as hot, within {plain(half, places)} K ({now} above the room, and {was} before)"
        return f"it ends {_apart(moved, 'K', 'hotter', 'cooler')} ({now} above the room instead of {was})"
    seen = [seen_words(side.are_virtual) for side in sides]
    was, now = (
        f"{plain(watts, places)} W ({_how(*how)})"
        for watts, how in zip((before, after), zip(at.measured, at.runs, seen, strict=True), strict=True)
    )
    if is_same:
        return f"the cooler sustains {now} and before {was}, the same within {plain(half, places)} W"
    return f"the cooler sustains {now} instead of {was}, {_apart(moved, 'W', 'more', 'less')}"


def _apart(moved: Figure, unit: str, more: str, less: str) -> str:
    """``18 ± 6 W more``; ``5 K cooler, between 0.4 and 9 K``, where ± would say too much or too little at one end."""
    value, low, high = moved.value or 0.0, moved.low or 0.0, moved.high or 0.0
    if value < 0.0:
        value, low, high, more, less = -value, -high, -low, less, more
    up, down = high - value, value - low
    text = figure_text(Figure(value, low, high), unit)
    if max(up, down) <= _UNEVEN * min(up, down) and (low <= 0.0 or value - max(up, down) > 0.05 * value):
        return f"{text} {more}"
    places = 0 if max(up, down) >= 1.0 else 1
    least = plain(low, 1) if 0.0 < low < 1.0 else plain(abs(low), places)
    ends = (
        f"{least} and {plain(high, places)} {unit}"
        if low > 0.0
        else f"{least} {unit} {less} and {plain(high, places)} {unit} {more}"
    )
    return f"{plain(value, places)} {unit} {more}, between {ends}"


def _how(measured: int, runs: int, seen: str) -> str:
    if measured in {0, runs}:
        return seen if measured else "predicted"
    return f"{seen} in {measured} of {runs} runs, predicted in the others"


def _seen(change: Figure) -> str:
    """``7 %``: what lies outside the interval would have shown."""
    return f"{plain(100 * max(abs(change.low or 0.0), abs(change.high or 0.0)), 0)} %"


def _spread_sentence(spread: RunSpread) -> str:
    source = "as was told" if spread.is_told else "assumed: common practice, no source"
    text = f"Taking a box apart and putting it together moves its cooling by {_share(spread.expected)} ({source})"
    if spread.seen is None:
        return f"{text}; no run was repeated, so this was not checked here."
    more = "everything in it that differs from run to run" if spread.degrees > 1 else "from two runs only"
    return f"{text}; the repeats here scatter by {_share(spread.seen)} ({more})."


def _share(share: float) -> str:
    return f"{plain(share * 100, 1)} %"


def _number(value: float) -> str:
    return plain(value, 0 if value >= 100 else 1)
