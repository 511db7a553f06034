"""How the screen was left."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Leaving(Enum):
    """How the screen was left."""

    SESSION_OVER = "nobody records any more"
    REPLAY_LEFT = "the replay was left"
    ENDED = "the recording was ended"
    GOES_ON = "the recording goes on"
    SIGNAL = "the terminal was closed or the screen was told to end"


@dataclass(frozen=True, slots=True)
class ScreenOutcome:
    """How the screen was left.

    The request to end the recording has been sent already where ``leaving`` is ``ENDED``.
    """

    leaving: Leaving
    recording_goes_on: bool = False
    """Whether somebody still records."""
