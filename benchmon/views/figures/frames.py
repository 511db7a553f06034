"""A run as a sequence of transparent pictures, the pen moving on from one to the next: to be laid over a video."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from benchmon.errors import OutputError, UsageError
from benchmon.views.figures.files.saving import Style, write
from benchmon.views.figures.run_picture import RunPicture
from benchmon.views.new_files import already_there

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_FRAMES = 20_000
"""More would fill a disk by mistake."""


@dataclass(frozen=True, slots=True)
class Pace:
    """How a time-lapse is made; the ground is always transparent."""

    style: Style
    speed: float
    """Seconds of the run in one second of video."""
    per_s: int
    """Pictures for each second of video."""


def save_frames(picture: RunPicture, folder: Path, pace: Pace, tell: Callable[[int, int], None]) -> int:
    """Draw the frames into a new folder; give their number. ``tell`` hears how many are done, and of how many.

    Raises:
        UsageError: if there would be too many, or matplotlib is missing.
        OutputError: if the folder exists or cannot be written.
    """
    count = int(picture.until_s / pace.speed * pace.per_s) + 2
    if count > MOST_FRAMES:
        raise UsageError(f"that would be {count} pictures, more than {MOST_FRAMES}", "Choose a higher --speed.")
    try:
        folder.mkdir()
        for number, frame in enumerate(_frames(picture, pace, count)):
            frame.save(folder / f"{number:05d}.png", compress_level=1)
            tell(number + 1, count)
    except FileExistsError:
        raise already_there(folder) from None
    except OSError as error:
        raise OutputError(f"{folder} cannot be written: {error.strerror or error}.") from None
    return count


def _frames(picture: RunPicture, pace: Pace, count: int) -> Iterator[Image]:
    """Left of the pen the whole picture, right of it the empty paper: two drawings are enough for all frames."""
    whole, left, right = _drawn(picture, pace.style)
    empty, _, _ = _drawn(replace(picture, is_bare=True), pace.style)
    for number in range(count):
        passed = number / pace.per_s * pace.speed / picture.until_s
        at = round(left + (right - left) * min(passed, 1.0))
        frame = empty.copy()
        frame.paste(whole.crop((0, 0, at, whole.height)), (0, 0))
        yield frame


def _drawn(picture: RunPicture, style: Style) -> tuple[Image, float, float]:
    """The drawing, and where its paper begins and ends [pixels]."""
    held = BytesIO()
    left, right = write(picture, held, "png", replace(style, is_transparent=True))
    from PIL import Image  # noqa: PLC0415  # comes with matplotlib

    return Image.open(held).convert("RGBA"), left, right
