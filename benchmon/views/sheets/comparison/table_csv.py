"""A comparison as CSV: one row for each quantity of each phase, raw numbers; the two verdicts first."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from benchmon.model.comparison import Comparison, Contrast, Verdict
from benchmon.model.findings import Figure
from benchmon.views.doors import csv_cell
from benchmon.views.words.comparison import tag_words

_HEAD = (
    *("before_tags", "after_tags", "what", "phase_before", "phase_after", "unit", "before", "after"),
    *("difference", "difference_low", "difference_high", "answer", "why_not"),
)


def render(comparison: Comparison) -> str:
    """Header line and rows; lines end with a line feed alone."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_HEAD)
    for contrast in comparison.contrasts:
        tags = [csv_cell(tag_words(side.tags)) for side in (comparison.before, contrast.side)]
        for row in _rows(contrast):
            writer.writerow([*tags, *row])
    return out.getvalue()


def _rows(contrast: Contrast) -> Iterator[list[str]]:
    answers = [("cooling", contrast.cooling), ("capacity", contrast.capacity), ("speed", contrast.speed)]
    for what, verdict in answers if contrast.capacity_at is not None else (answers[0], answers[2]):
        yield _verdict(what, verdict)
    for pair in contrast.phases:
        names = [csv_cell(pair.before), csv_cell(pair.after)]
        for row in pair.rows:
            numbers = [_cell(row.before), _cell(row.after), *_interval(row.difference)]
            yield [csv_cell(row.key), *names, csv_cell(row.unit), *numbers, "", csv_cell(row.difference.why_not or "")]


def _verdict(what: str, verdict: Verdict) -> list[str]:
    numbers = [_cell(verdict.before), _cell(verdict.after), *_interval(verdict.difference)]
    return [what, "", "", verdict.unit, *numbers, verdict.answer.value, csv_cell(verdict.why_not)]


def _interval(figure: Figure) -> list[str]:
    return [_cell(figure.value), _cell(figure.low), _cell(figure.high)]


def _cell(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"
