"""What a person's own benchmark came to, in words: its scores, and the command itself."""

from __future__ import annotations

import re
from collections.abc import Sequence

from benchmon.model import keys
from benchmon.model.findings import CommandRun, PhaseFindings, Score, Summary
from benchmon.views.numbers import NOT_READ, figure_text

_SHOWN = 2
_AGAIN = re.compile(r" \(\d+\)$")
"""The number of a phase that came before under the same name."""
_WATTS = {"wall": "watt at the wall", "package": "watt of the package"}


def score_text(score: Score) -> str:
    """``1842 pts (multi core)``."""
    return f"{score.value:.7g} {score.name}".rstrip()


def scores_in_short(phase: PhaseFindings) -> str:
    """The scores of a phase in one cell; how many more there are, where there is no room for all."""
    shown = [score_text(score) for score in phase.scores[:_SHOWN]]
    more = len(phase.scores) - len(shown)
    return ", ".join([*shown, *([f"{more} more"] if more else [])]) or NOT_READ


def score_sentences(summary: Summary) -> tuple[str, ...]:
    """Each score with its phase, and per watt where there is a figure: ``all cores: 1842 render, 47.3 per watt …``.

    Those of one name in phases of one name, runs of the same benchmark, are one sentence with their spread.
    """
    runs: dict[tuple[str, str], list[Score]] = {}
    for phase in summary.phases:
        for score in phase.scores:
            runs.setdefault((_AGAIN.sub("", phase.name), score.name), []).append(score)
    return tuple(
        f"{phase}: {_runs(same) if len(same) > 1 else score_text(same[0]) + _per_watt(same[0])}."
        for (phase, _), same in runs.items()
    )


def _runs(same: Sequence[Score]) -> str:
    values = [score.value for score in same]
    name = f" {same[0].name}" if same[0].name else ""
    mean = sum(values) / len(values)
    return f"{mean:.6g}{name}, mean of {len(values)} runs from {min(values):.6g} to {max(values):.6g}"


def _per_watt(score: Score) -> str:
    if score.per_watt.value is None:
        return ""
    return f", {figure_text(score.per_watt, '', most_decimals=3).strip()} per {_WATTS[score.watts_of]}"


def command_sentences(summary: Summary) -> tuple[str, ...]:
    """What was run, how it ended, its version, and where its output is."""
    lines = [_run(run) for run in summary.commands]
    version, output = (summary.settings.get(key) for key in (keys.COMMAND_VERSION, keys.COMMAND_OUTPUT))
    if version is not None and version.value:
        lines.append(f"Its version: {version.value}.")
    if output is not None and output.value:
        lines.append(f"What it printed is in {output.value}, beside the session.")
    return tuple(lines)


def _run(run: CommandRun) -> str:
    if run.end_s is None:
        return f"{run.words}: still running."
    how = f"ended with status {run.exit_status}" if run.exit_status is not None else "was ended"
    because = f" ({run.reason})" if run.reason else ""
    return f"{run.words}: {how}{because}."
