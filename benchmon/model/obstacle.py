"""What stands in the way of a result that can be trusted, before a recording begins."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.plain_text import make_plain


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One thing, and what it would do to the result."""

    what: str
    """``other programs take 140 % of a core: backup 90 %, browser 40 %``."""
    effect: str
    """What it does to the result."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)
