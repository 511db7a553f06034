"""Puts together what a recording needs, from the real machine or from one of the virtual bench."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime

from benchmon import __version__
from benchmon.errors import MachineError, UsageError
from benchmon.loads.guard import Guarding
from benchmon.loads.protocol import Load
from benchmon.model.channel import Channel
from benchmon.model.records import Machine, SessionHeader
from benchmon.sampler.beside import BesideSettings
from benchmon.sampler.clock import SimulatedClock, SystemClock
from benchmon.sampler.loop import Sampler
from benchmon.sampler.own_cost import OwnCost
from benchmon.sensors.discovery import discover
from benchmon.sensors.protocol import Sensor
from benchmon.sensors.settings import SettingsReader
from benchmon.stream.options import CommandChoice, LoadChoice, RecordOptions, VirtualMachine
from benchmon.stream.output_file import OutputFile
from benchmon.stream.work_rate import WorkRate

ROUND_S = 0.001
"""What a round of reading takes on the virtual bench [s]: what follows a sample comes after it, as elsewhere."""


class Setup:
    """Sensors, clock and loads of one machine.

    Args:
        options: what was chosen.

    Raises:
        UsageError: if a reading cannot be understood, or names what is read already.
        MachineError: if nothing at all can be read.
    """

    def __init__(self, options: RecordOptions) -> None:
        self._options = options
        self._virtual = options.virtual
        root = options.root
        if self._virtual is not None:
            self._virtual.tree.write()
            root = self._virtual.folder
        found = discover(root)
        self.guarded = found.guarded if self._virtual is None else None
        self._readings = _readings(options.readings)
        self._sensors: tuple[Sensor, ...] = (*found.sensors, *self._readings)
        _refuse_doubles(self._sensors)
        self._settings = SettingsReader(root)
        self._loads: list[LoadChoice | None] = [options.load, *(step.load for step in options.steps)]

    def runners(self) -> list[int]:
        """The processes that run the user's reading commands."""
        return [pid for reading in self._readings if (pid := getattr(reading, "pid", None)) is not None]

    @property
    def time_scale(self) -> float:
        """Session seconds per real second."""
        return 1.0 if self._virtual is None else self._virtual.time_scale

    @property
    def virtual_name(self) -> str:
        """Name of the virtual machine; empty for a real one."""
        return "" if self._virtual is None else self._virtual.name

    @property
    def virtual_machine(self) -> Machine | None:
        """What the virtual machine is; None for a real one, which has to be identified."""
        if self._virtual is None:
            return None
        cores = self._virtual.box.spec.cores
        return Machine(0.0, processor=self._virtual.name, cores=cores, threads=cores, virtual=True)

    def make_header(self, session_id: str, channels: Sequence[Channel]) -> SessionHeader:
        """The header of a session that begins now."""
        return SessionHeader(
            session_id=session_id,
            started_at=datetime.now(UTC),
            period_s=self._options.period_s,
            channels=tuple(channels),
            tags=self._options.tags,
            time_scale=self.time_scale,
            made_by=f"benchmon {__version__}",
            virtual=self.virtual_name,
        )

    def make_sampler(self, running: Callable[[], Load | None]) -> Sampler:
        """The sampler; its time starts now."""
        sensors = (*self._sensors, WorkRate(running), OwnCost())
        if self._virtual is None:
            settings = BesideSettings(self._settings.read)
            return Sampler(sensors, SystemClock(), self._options.period_s, settings, beside=True)
        clock = SimulatedClock(self._virtual.time_scale)
        return Sampler(sensors, clock, self._options.period_s, self._settings.read, _mover(self._virtual, clock))

    def make_load(self, choice: LoadChoice, output: OutputFile, guarding: Guarding | None = None) -> Load:
        """The load that was chosen.

        Args:
            choice: what it is.
            output: where a command's output goes.
            guarding: what guards it.

        Raises:
            LoadError: if there cannot be such a load.
        """
        if isinstance(choice, CommandChoice):
            from benchmon.loads.command import CommandLoad  # noqa: PLC0415  # only who needs it pays for it

            patterns = {"scores": choice.score_from, "phases": choice.phases, "version": choice.version_from}
            return CommandLoad(
                choice.argv, output.open, guarding, times=choice.times, cores=choice.cores, patterns=patterns
            )
        if self._virtual is not None:
            from benchmon.stream.virtual_load import VirtualLoad  # noqa: PLC0415

            return VirtualLoad(self._virtual.box, self._virtual.box.spec.cores, choice.cores, choice.work, choice.duty)
        from benchmon.loads.builtin import BuiltinLoad  # noqa: PLC0415

        return BuiltinLoad(choice.cores, choice.work, guarding=guarding, duty=choice.duty)

    def check_loads(self, output: OutputFile) -> None:
        """Make every load of the plan once without starting it, so that an impossible one is refused at once.

        Raises:
            LoadError: if there cannot be such a load.
        """
        for choice in self._loads:
            if choice is not None:
                self.make_load(choice, output)
        if self._readings or any(self._loads):
            from benchmon.loads.last_watch import make_ready  # noqa: PLC0415

            make_ready()

    def close(self) -> None:
        """Close the sensors, and the files of a virtual machine."""
        for sensor in self._sensors:
            sensor.close()
        if self._virtual is not None:
            self._virtual.tree.close()


def _readings(texts: Sequence[str]) -> list[Sensor]:
    if not texts:
        return []
    from benchmon.loads.last_watch import entrusted  # noqa: PLC0415  # only who needs it pays for it
    from benchmon.sensors.reading_command import parse_reading  # noqa: PLC0415

    return [parse_reading(text, entrusted) for text in texts]


def _refuse_doubles(sensors: Sequence[Sensor]) -> None:
    channels = [*WorkRate.channels, *OwnCost.channels, *(one for sensor in sensors for one in sensor.channels)]
    names = [channel.key for channel in channels]
    doubles = sorted({name for name in names if names.count(name) > 1})
    if doubles:
        raise UsageError(f"{', '.join(doubles)} is read already", "Give your reading another key.")
    if not any(sensor.channels for sensor in sensors):
        raise MachineError("nothing can be read on this machine", "See what is missing with: benchmon channels")


def _mover(virtual: VirtualMachine, clock: SimulatedClock) -> Callable[[float], None]:
    """Brings the virtual machine up to the session's time, and its files with it."""

    def move_on(t_s: float) -> None:
        if t_s > virtual.box.t_s:
            virtual.box.step(t_s - virtual.box.t_s)
        virtual.tree.write()
        clock.pass_s(ROUND_S)

    return move_on
