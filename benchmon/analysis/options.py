"""What a person may tell the analysis besides the session itself."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AnalysisOptions:
    """None means: as the session says."""

    limit_c: float | None = None
    """Limit temperature in place of the sensors' [°C]."""
    room_c: float | None = None
    """Room temperature to predict for [°C]; also taken for the run's if the session has none."""
    criterion: str = "iec62368"
    """Name of the settling criterion, a key of ``settling.CRITERIA``."""
    part_watts: float | None = None
    """Power of a part in question [W]; None = nothing asked."""
