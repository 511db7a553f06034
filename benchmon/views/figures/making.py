"""From what is asked for to a new file: gathers the picture, draws it, says what was made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from benchmon.errors import UsageError
from benchmon.model.comparison import Comparison
from benchmon.model.findings import Summary
from benchmon.model.recorded import Recorded
from benchmon.views.figures.captions import captions
from benchmon.views.figures.card import card
from benchmon.views.figures.change_picture import Run, change_picture
from benchmon.views.figures.files.saving import Picture, Style, save
from benchmon.views.figures.frames import Pace, save_frames
from benchmon.views.figures.power_picture import power_picture
from benchmon.views.figures.rise_picture import rise_picture
from benchmon.views.figures.run_picture import run_picture
from benchmon.views.new_files import write_new

GATHERERS: Mapping[str, Callable[[Recorded, Summary], Picture]] = {
    "run": run_picture,
    "rise": rise_picture,
    "power": power_picture,
    "card": card,
}
"""Kind of picture → what gathers it."""


def save_picture(kind: str, session: Recorded, summary: Summary, path: Path, style: Style) -> str:
    """Draw one picture into a new file; give a sentence.

    Raises:
        UsageError: if there is nothing to draw, or matplotlib is missing.
        OutputError: if the file exists or cannot be written.
    """
    picture = GATHERERS[kind](session, summary)
    if picture.why_not:
        raise UsageError(picture.why_not.rstrip("."))
    save(picture, path, style)
    return f"Drawn: {path}"


def save_change(comparison: Comparison, before: Run, after: Run, path: Path, style: Style) -> str:
    """Draw two runs over one another into a new file; give a sentence.

    Raises:
        UsageError: if there is nothing to draw, or matplotlib is missing.
        OutputError: if the file exists or cannot be written.
    """
    picture = change_picture(comparison, before, after)
    if picture.why_not:
        raise UsageError(picture.why_not.rstrip("."))
    save(picture, path, style)
    return f"Drawn: {path}"


def save_captions(session: Recorded, summary: Summary, path: Path, speed: float) -> str:
    """Write the caption file; give a sentence.

    Raises:
        OutputError: if the file exists or cannot be written.
    """
    write_new(path, captions(run_picture(session, summary), summary, speed))
    return f"Written: {path}"


def save_sequence(
    session: Recorded, summary: Summary, folder: Path, pace: Pace, tell: Callable[[int, int], None]
) -> str:
    """Draw the frames of a time-lapse into a new folder; give a sentence.

    Raises:
        UsageError: if there is nothing to draw, or matplotlib is missing.
        OutputError: if the folder exists or cannot be written.
    """
    picture = run_picture(session, summary)
    if picture.why_not:
        raise UsageError(picture.why_not.rstrip("."))
    count = save_frames(picture, folder, pace, tell)
    return f"Drawn: {count} pictures in {folder}, {pace.per_s} for each second of video"
