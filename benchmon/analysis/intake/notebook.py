"""What is known of a session so far, digested as the records come: the common ground of all figures."""

from __future__ import annotations

from collections.abc import Iterable

from benchmon.analysis.intake.commands import CommandKeeper
from benchmon.analysis.intake.phases import Phase, PhaseTracker
from benchmon.analysis.intake.pieces import Pieces
from benchmon.analysis.intake.quality import QualityKeeper
from benchmon.analysis.intake.tally import Tally
from benchmon.analysis.intake.told_limits import is_believed
from benchmon.analysis.intake.trace import Trace
from benchmon.model import keys
from benchmon.model.records import LoadChange, Machine, Record, Sample, SessionHeader, Setting

_TRACED = (
    keys.PROCESSOR_TEMP,
    keys.PACKAGE_POWER,
    keys.CLOCK,
    keys.LOAD,
    keys.WALL_POWER,
    keys.ROOM_TEMP,
    keys.WORK_RATE,
)
_GAP_PERIODS, _GAP_S = 5.0, 3.0


class Notebook:
    """Takes every record of one session, header first. A few µs for a sample."""

    def __init__(self, boundaries_s: Iterable[float] = ()) -> None:
        """Start empty; boundaries of phases that are known beforehand make every figure exact [s]."""
        self.header: SessionHeader | None = None
        self.machine: Machine | None = None
        self.settings: dict[str, Setting] = {}
        self.tracker = PhaseTracker()
        self.quality = QualityKeeper()
        self.commands = CommandKeeper()
        self.pieces: Pieces | None = None
        self.trace = Trace(1.0)
        self.column_keys: tuple[str, ...] = ()
        self.assumed_room_c: float | None = None
        """Room of the run if it was neither entered nor read, because a person gives one afterwards [°C]."""
        self._boundaries = tuple(boundaries_s)

    @property
    def now_s(self) -> float:
        """Time of the latest sample, or of the end [s]."""
        return self.quality.last_s

    def feed(self, record: Record) -> bool:
        """Take the next record; True when it completed a second, so that slower figures may be looked at."""
        if isinstance(record, Sample):
            return self.take(record)
        self.quality.feed(record)
        if isinstance(record, SessionHeader):
            self._begin(record)
        elif isinstance(record, Machine):
            self.machine = record
        elif isinstance(record, Setting):
            self.settings[record.key] = record
        elif isinstance(record, LoadChange):
            self.commands.feed(record)
        version = self.tracker.version
        self.tracker.feed(record)
        if self.tracker.version != version:
            self.cut()
        return False

    def take(self, sample: Sample) -> bool:
        """The same for a sample."""
        self.quality.take(sample)
        if self.pieces is None:
            return False
        self.pieces.add(sample)
        return self.trace.add(sample.t_s, sample.values)

    def cut(self) -> None:
        """Let the sums follow the phases as they are now."""
        if self.pieces is not None:
            for phase in self.tracker.phases:
                self.pieces.cut(phase.start_s)

    def sums(self, phase: Phase) -> Tally | None:
        """Statistics of a phase; None if there is no sample in it."""
        return None if self.pieces is None else self.pieces.between(phase.start_s, phase.end_s)

    def number(self, key: str) -> float | None:
        """A setting as a number; None if it is not known, is words, or is a limit that cannot be meant."""
        setting = self.settings.get(key)
        value = None if setting is None else setting.value
        return float(value) if isinstance(value, int | float) and is_believed(key, value) else None

    def resolution(self, key: str) -> float | None:
        """Smallest step that a channel can show, if it is known."""
        channels = () if self.header is None else self.header.channels
        return next((channel.resolution for channel in channels if channel.key == key), None)

    def _begin(self, header: SessionHeader) -> None:
        self.header = header
        self.column_keys = tuple(channel.key for channel in header.channels)
        columns = {key: place for place, key in enumerate(self.column_keys)}
        self.pieces = Pieces(columns.get(keys.PACKAGE_POWER), max(_GAP_PERIODS * header.period_s, _GAP_S))
        self.trace = Trace(max(1.0, header.period_s), [columns.get(key) for key in _TRACED])
        for at_s in self._boundaries:
            self.pieces.cut(at_s)
