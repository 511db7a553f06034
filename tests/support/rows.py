"""Plain rows, (time, value by canonical key), as the records of a session: what the benches and traces of tests give."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime

from benchmon.analysis.intake.series import Observation, ObservationMaker
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import Record, Sample, SessionHeader, Setting
from benchmon.model.units import Unit

Rows = Iterable[tuple[float, Mapping[str, float | None]]]

SETTINGS = frozenset(
    {
        keys.RATED_CLOCK,
        keys.HIGHEST_CLOCK,
        keys.LOWEST_CLOCK,
        keys.TEMP_LIMIT,
        keys.TEMP_CRITICAL,
        keys.POWER_LIMIT_LONG,
        keys.POWER_WINDOW_LONG,
        keys.POWER_LIMIT_SHORT,
    }
)
"""Keys that are settings; everything else in a row is a channel."""


def unit_of(key: str) -> Unit:
    """The unit that a key's ending names."""
    return max((unit for unit in Unit if key.endswith(unit.suffix)), key=lambda unit: len(unit.suffix))


def records_of(rows: Rows, period_s: float = 1.0) -> Iterator[Record]:
    """Header, settings where they change, and samples."""
    listed = list(rows)
    names = list(dict.fromkeys(key for _, values in listed for key in values if key not in SETTINGS))
    channels = tuple(Channel(key, key, unit_of(key), "test") for key in names)
    yield SessionHeader("rows", datetime(2026, 1, 1, tzinfo=UTC), period_s, channels)
    told: dict[str, float | None] = {}
    for t_s, values in listed:
        for key in SETTINGS & values.keys():
            if key not in told or told[key] != values[key]:
                told[key] = values[key]
                yield Setting(t_s, key, values[key], unit_of(key), "test")
        yield Sample(t_s, tuple(values.get(key) for key in names))


def observations(records: Iterable[Record]) -> list[Observation]:
    """Records as the analysis takes them in."""
    maker = ObservationMaker()
    return [seen for record in records if (seen := maker.feed(record)) is not None]
