"""Times in a table: seconds, moments of a calendar (ISO 8601, RFC 3339, or 25.11.2026) or of a clock."""

from __future__ import annotations

import re
from datetime import UTC, datetime

from benchmon.model.usable import number_in

_CLOCK = re.compile(r"(\d{1,2}):(\d{2}):(\d{2}(?:[.,]\d{1,9})?)")
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4}),?[ T]+(\d{1,2}:\d{2}:.+)")
"""Day, month and year with dots are in this order (common practice); with strokes they may be in any: no guess."""
_DAY_S = 86_400.0


class TimeReader:
    """Turns the cells of a time column into seconds; a clock that passes midnight goes on."""

    def __init__(self) -> None:
        self.has_no_zone = False
        """Whether moments were written without a time zone; they are taken as UTC."""
        self._days_s = 0.0
        self._last_s: float | None = None

    def seconds(self, cell: str) -> float | None:
        """Seconds from the start, from 1970, or since midnight; None if the cell is no time."""
        text = cell.strip()
        number = number_in(text)
        if number is not None:
            return number
        clock = _CLOCK.fullmatch(text)
        return self._of_day(clock) if clock is not None else self._of_calendar(text)

    def _of_day(self, clock: re.Match[str]) -> float:
        hours, minutes, seconds = int(clock[1]), int(clock[2]), float(clock[3].replace(",", "."))
        t_s = hours * 3600.0 + minutes * 60.0 + seconds + self._days_s
        if self._last_s is not None and t_s < self._last_s - _DAY_S / 2:
            self._days_s += _DAY_S
            t_s += _DAY_S
        self._last_s = t_s
        return t_s

    def _of_calendar(self, text: str) -> float | None:
        dotted = _DOTTED.fullmatch(text)
        if dotted is not None:
            day, month, year, clock = dotted.groups()
            text = f"{year}-{month:0>2}-{day:0>2} {clock:0>8}"
        try:
            moment = datetime.fromisoformat(text.replace(",", "."))
        except ValueError:
            return None
        if moment.tzinfo is None:
            self.has_no_zone = True
            moment = moment.replace(tzinfo=UTC)
        return moment.timestamp()
