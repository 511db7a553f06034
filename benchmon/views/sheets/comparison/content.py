"""What a comparison says, before it has a format: the runs, the answers, the phases, the doubts."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.analysis.compare.differences import (
    CLOCK_UNTIL,
    ENERGY,
    HELD,
    POWER_UNTIL,
    RESISTANCE,
    RISE,
    TEMP_UNTIL,
    WORK_WHOLE,
)
from benchmon.model import keys
from benchmon.model.comparison import Answer, Comparison, Contrast, PhaseDifference, Side, WorkUnit
from benchmon.model.findings import Figure
from benchmon.views.numbers import NOT_READ, counted, duration, plain
from benchmon.views.words import comparison as words
from benchmon.views.words.simulated import seen_words
from benchmon.views.words.work import in_digits, unit_of_rate

NAMES = {
    keys.CLOCK: "clock",
    keys.PACKAGE_POWER: "package power",
    keys.WALL_POWER: "wall power",
    keys.PROCESSOR_TEMP: "temperature, at the end",
    RISE: "rise over the room, at the end",
    RESISTANCE: "resistance, settled",
    CLOCK_UNTIL: "clock, at first",
    POWER_UNTIL: "package power, at first",
    TEMP_UNTIL: "temperature, at first",
    keys.WORK_RATE: "built-in work",
    WORK_WHOLE: "built-in work, whole phase",
    ENERGY: "package energy",
    HELD: "throttled",
}
_SHOWN_AS = {
    keys.CLOCK: ("GHz", 1000.0, 2),
    CLOCK_UNTIL: ("GHz", 1000.0, 2),
    ENERGY: ("Wh", 3600.0, 2),
    RESISTANCE: ("K/W", 1.0, 2),
}


SIDE_COLUMNS = ("runs", "cooling", "95 % interval", "speed", "answer")
"""What is told of each side of many, behind its tags."""


@dataclass(frozen=True, slots=True)
class PhaseTable:
    """One phase: rows of quantity, unit, before, after, difference."""

    title: str
    rows: tuple[tuple[str, str, str, str, str], ...]
    note: str
    """Over which part of a throttled phase the figures are taken; may be empty."""


@dataclass(frozen=True, slots=True)
class Section:
    """One side compared with the first."""

    title: str
    answers: tuple[str, ...]
    caveats: tuple[str, ...]
    phases: tuple[PhaseTable, ...]


@dataclass(frozen=True, slots=True)
class ComparisonSheet:
    """A comparison in words, ready to be laid out."""

    title: str
    facts: tuple[tuple[str, str], ...]
    table: tuple[tuple[str, ...], ...]
    """Sides by their tags, best first, headings before them; empty where there are only two."""
    sections: tuple[Section, ...]
    basis: tuple[str, ...]


def make_comparison(comparison: Comparison) -> ComparisonSheet:
    """Everything a comparison says."""
    before = comparison.before
    facts = [("Before", _side_words(before))]
    facts += [("After", _side_words(contrast.side)) for contrast in comparison.contrasts]
    for contrast in comparison.contrasts[:1] if not comparison.is_many else ():
        facts.append(("Changed", words.changed_words(contrast) or "no tag"))
    sections = tuple(_section(before, contrast, is_many=comparison.is_many) for contrast in comparison.contrasts)
    table = _table(comparison) if comparison.is_many else ()
    return ComparisonSheet("Comparison: did it help?", tuple(facts), table, sections, words.basis_sentences(comparison))


def _section(before: Side, contrast: Contrast, *, is_many: bool) -> Section:
    answers = (
        words.cooling_sentence(contrast, before),
        words.capacity_sentence(contrast, before),
        words.speed_sentence(contrast),
        _held_words(before, contrast),
        words.decision_sentence(contrast.cooling),
    )
    title = f"{words.label(contrast.side, contrast)} after {words.label(before, contrast)}" if is_many else "Verdict"
    return Section(
        title,
        tuple(line for line in answers if line),
        words.caveat_sentences(contrast, before),
        tuple(
            PhaseTable(
                pair.before if pair.before == pair.after else f"{pair.before} / {pair.after}",
                tuple(phase_row(row, pair.work_unit) for row in pair.rows),
                words.sustained_sentence(pair),
            )
            for pair in contrast.phases
            if not is_many or contrast.at is None or pair.before == contrast.at.phase
        ),
    )


def _held_words(before: Side, contrast: Contrast) -> str:
    """Whether anything was throttled in the phase that counts."""
    phase = None if contrast.at is None else contrast.at.phase
    row = next((r for p in contrast.phases if p.before == phase for r in p.rows if r.key == HELD), None)
    if row is None or row.before is None or row.after is None or row.before == row.after == 0:
        return ""
    names = words.label(before, contrast), words.label(contrast.side, contrast)
    runs = (len(before.runs), len(contrast.side.runs))
    parts = [
        f"{name} {_held(value, count)}" for name, value, count in zip(names, (row.before, row.after), runs, strict=True)
    ]
    return f"Throttled in {phase}: {', '.join(parts)}."


def _held(value: float, runs: int) -> str:
    mean = f" (mean of {runs} runs)" if runs > 1 else ""
    return "never" if value == 0 else f"for {duration(round(value))}{mean}"


def _side_words(side: Side) -> str:
    days = sorted({run.started_at.strftime("%Y-%m-%d") for run in side.runs})
    when = " and ".join(days) if len(days) < 3 else f"{days[0]} to {days[-1]}"
    names = [run.name for run in side.runs]
    many = "" if len(names) == 1 else f" ({counted(len(names), 'run')})"
    tags = f", {words.tag_words(side.tags)}" if side.tags else ""
    virtual = f", {seen_words(side.are_virtual)}" if any(side.are_virtual) else ""
    return f"{', '.join(names)}{many}: {when}{tags}{virtual}"


def _table(comparison: Comparison) -> tuple[tuple[str, ...], ...]:
    """The sides by what their tags say, best first."""
    changed = list(dict.fromkeys(key for contrast in comparison.contrasts for key in contrast.changed))
    head = (*changed, *SIDE_COLUMNS)
    first = [comparison.before.tags.get(key, NOT_READ) for key in changed]
    rows = [(0.0, (*first, str(len(comparison.before.runs)), "0 %", "", "0 %", "reference"))]
    for contrast in comparison.contrasts:
        value = contrast.cooling.change.value
        tags = [contrast.side.tags.get(key, NOT_READ) for key in changed]
        cells = (str(len(contrast.side.runs)), _percent(value), _interval(contrast.cooling.change))
        row = (*tags, *cells, _percent(contrast.speed.change.value), _answer(contrast.cooling.answer))
        rows.append((-2.0 if value is None else value, row))
    rows.sort(key=lambda row: row[0], reverse=True)
    return (head, *(row for _, row in rows))


def _answer(answer: Answer) -> str:
    return answer.value


def _percent(share: float | None) -> str:
    if share is None:
        return NOT_READ
    text = plain(share * 100, 0)
    return f"{'+' if share >= 0.005 else ''}{text} %"


def _interval(change: Figure) -> str:
    if change.low is None or change.high is None:
        return NOT_READ
    return f"{_percent(change.low)} to {_percent(change.high)}"


def phase_row(row: PhaseDifference, work_unit: WorkUnit | None) -> tuple[str, str, str, str, str]:
    """Quantity, unit, before, after and difference as they are shown; ``work_unit`` is what a work rate counts."""
    if row.key == HELD:
        moved = row.difference.value
        sign = "+" if moved is not None and moved > 0 else ""
        shown = NOT_READ if moved is None else f"{sign}{duration(round(moved))}"
        cells = [NOT_READ if value is None else duration(round(value)) for value in (row.before, row.after)]
        return NAMES[HELD], "min:s", cells[0], cells[1], shown if moved is not None else _why(row)
    unit, scale, places = _SHOWN_AS.get(row.key, (row.unit, 1.0, 1))
    if work_unit is not None and row.key in {keys.WORK_RATE, WORK_WHOLE}:
        unit, scale = unit_of_rate(work_unit)
        cells = [NOT_READ if value is None else in_digits(value / scale) for value in (row.before, row.after)]
    else:
        cells = [plain(None if value is None else value / scale, places) for value in (row.before, row.after)]
    moved_by = _scaled(row.difference, scale)
    shown = _why(row) if moved_by.value is None else words.signed(moved_by, "", most_decimals=4)
    return NAMES.get(row.key, row.key), unit, cells[0], cells[1], shown


def _why(row: PhaseDifference) -> str:
    return f"({row.difference.why_not})" if row.difference.why_not else NOT_READ


def _scaled(figure: Figure, scale: float) -> Figure:
    value, low, high = (None if one is None else one / scale for one in (figure.value, figure.low, figure.high))
    return Figure(value, low, high, figure.why_not)
