"""What each strip shows: name, unit, scale, and the lines that matter. One row for each quantity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from benchmon.model import keys
from benchmon.model.records import MarkKind
from benchmon.model.units import Unit
from benchmon.views.numbers import clock_ghz, plain, quantity
from benchmon.views.traces import Scale
from benchmon.views.tui.scale import RuledScale, ruled_scale
from benchmon.views.tui.state import ViewState
from benchmon.views.tui.track import Track
from benchmon.views.words.work import billions, rate_unit


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity that has a strip of its own."""

    key: str
    name: str
    style: str
    unit: str
    per_unit: float = 1.0
    """Shown number = value times this."""

    def words(self, value: float | None, resolution: float | None) -> str:
        """The value with its unit, as fine as its sensor; ``–`` for None."""
        if self.key == keys.CLOCK:
            return clock_ghz(value)
        if self.key == keys.WORK_RATE and self.unit != WORK.unit:
            return billions(None if value is None else value * self.per_unit, self.unit)
        units = {keys.PROCESSOR_TEMP: Unit.CELSIUS, keys.WORK_RATE: Unit.PER_SECOND, keys.LOAD: Unit.PERCENT}
        return quantity(value, units.get(self.key, Unit.WATT), resolution)

    def bare(self, value: float, decimals: int) -> str:
        """The shown number without its unit."""
        return plain(value * self.per_unit, decimals) if value else "0"


@dataclass(frozen=True, slots=True)
class Line:
    """A value that matters, drawn across a strip."""

    value: float
    names: tuple[str, ...]
    """From the longest to the shortest."""


CLOCK = Quantity(keys.CLOCK, "clock", "clock", "GHz", 0.001)
POWER = Quantity(keys.PACKAGE_POWER, "package power", "power", "W")
TEMP = Quantity(keys.PROCESSOR_TEMP, "temperature", "temp", "°C")
WORK = Quantity(keys.WORK_RATE, "work rate", "work", "1/s")
LOAD = Quantity(keys.LOAD, "load", "other", "%")
WALL = Quantity(keys.WALL_POWER, "wall power", "power", "W")

_FIRST = (CLOCK, POWER, TEMP)
_SECOND = (WALL, LOAD)
_FEW = 3


def shown_quantities(state: ViewState) -> list[Quantity]:
    """The strips of a session: what was ever read, and load or wall power where there is little else."""
    read = [one for one in (*_FIRST, _work(state)) if _was_read(state, one)]
    for one in _SECOND:
        if len(read) < _FEW and _was_read(state, one):
            read.append(one)
    return read


def _work(state: ViewState) -> Quantity:
    """The work rate: in billions a second where all work so far had units of one known size."""
    kind, operations, moved = next(iter(state.work_units)) if len(state.work_units) == 1 else ("", None, None)
    size = operations or moved
    return WORK if size is None else replace(WORK, unit=rate_unit(kind, operations), per_unit=size / 1e9)


def can_lie_behind(quantity: Quantity, state: ViewState, earlier: ViewState) -> bool:
    """Whether an earlier run's values may be drawn behind these: rates of other work may not."""
    return quantity.key != keys.WORK_RATE or state.work_units == earlier.work_units


def _was_read(state: ViewState, one: Quantity) -> bool:
    track = state.tracks.get(one.key)
    return track is not None and track.was_read


def lines_of(state: ViewState, one: Quantity, track: Track) -> list[Line]:
    """Values that matter for a quantity and lie where its readings are, the most important first."""
    lines: list[Line] = []
    if one is CLOCK:
        lines = _setting_line(state, keys.RATED_CLOCK, ("rated clock", "rated"))
    elif one is POWER:
        lines = [
            *_setting_line(state, keys.POWER_LIMIT_LONG, ("sustained limit", "limit")),
            *_setting_line(state, keys.POWER_LIMIT_SHORT, ("short-term limit", "short-term", "short")),
        ]
        # A limit far above what the part draws says nothing and would press the trace flat.
        lines = [line for line in lines if line.value <= 1.6 * track.greatest]
    elif one is TEMP:
        lines = _setting_line(state, keys.TEMP_LIMIT, ("limit",))
        room = state.latest_of(keys.ROOM_TEMP, MarkKind.ROOM)
        if room is not None:
            lines.append(Line(room[0], ("room",)))
    return lines


def _setting_line(state: ViewState, key: str, names: tuple[str, ...]) -> list[Line]:
    value = state.number(key)
    return [] if value is None else [Line(value, names)]


def scale_of(
    one: Quantity, track: Track, behind: Track | None, lines: Sequence[Line], rows: int, *, down: int
) -> RuledScale:
    """The strip's scale over the whole session, in the channel's unit: it grows, and never shrinks.

    Args:
        one: what is drawn.
        track: its readings.
        behind: those of the earlier run, which must fit too; None without one.
        lines: values that are drawn across.
        rows: character rows of the strip.
        down: dots in a row.
    """
    drawn = [track] if behind is None or not behind.was_read else [track, behind]
    readings = [value for one_track in drawn for value in (one_track.least, one_track.greatest)]
    values = [*readings, *(line.value for line in lines)]
    low = min(values) if one is TEMP else min(0.0, *readings)
    factor = one.per_unit
    ruled = ruled_scale(low * factor, max(values) * factor, rows, down)
    scale = Scale(ruled.scale.low / factor, ruled.scale.high / factor)
    return RuledScale(scale, tuple(tick / factor for tick in ruled.ticks), ruled.decimals)
