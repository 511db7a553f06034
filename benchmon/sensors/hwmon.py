"""The kernel's hardware monitoring chips: their files by name, for their numbers change from boot to boot.

Source of names and units: kernel, ``Documentation/hwmon/sysfs-interface.rst``.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from benchmon.sensors.file_tree import entries, text_of
from benchmon.sensors.number_file import NumberFile

CLASS_FOLDER = "sys/class/hwmon"


@dataclass(frozen=True, slots=True)
class Chip:
    """One chip as the kernel shows it now."""

    name: str
    device: str
    """Name of the device behind it, ``coretemp.0``; empty if the kernel does not say."""
    folders: tuple[Path, ...]
    """Where its files may lie: older drivers put them below ``device/``."""
    is_alone: bool
    """No other chip has its name."""


@dataclass(frozen=True, slots=True)
class Input:
    """One number of a chip."""

    chip: Chip
    stem: str
    """``temp1``."""
    path: Path
    label: str
    """The driver's word for it; empty if it has none."""

    @property
    def words(self) -> str:
        """Chip and label for people: ``coretemp Core 0``."""
        return f"{self.chip.name} {self.label or self.stem}"


def chips(root: Path) -> list[Chip]:
    """All chips, by name and device."""
    folders = [(_name(folder), folder) for folder in entries(root / CLASS_FOLDER, r"hwmon\d+")]
    count = Counter(name for name, _ in folders)
    found = [_chip(name, folder, is_alone=count[name] == 1) for name, folder in folders]
    return sorted(found, key=lambda chip: (chip.name, chip.device))


def inputs(chip: Chip, kind: str, suffixes: tuple[str, ...] = ("input",)) -> Iterator[Input]:
    """The chip's numbers of one kind (``temp``, ``fan``, ``power``); of several suffixes the first that exists."""
    seen: set[str] = set()
    for folder in chip.folders:
        for suffix in suffixes:
            for path in entries(folder, rf"{kind}\d+_{suffix}"):
                stem = path.name.partition("_")[0]
                if stem not in seen:
                    seen.add(stem)
                    yield Input(chip, stem, path, text_of(folder / f"{stem}_label") or "")


def file_of(root: Path, one: Input) -> NumberFile:
    """The file of a number, that finds its chip again when it comes back under another number."""

    def locate() -> str | None:
        """The same number of the same chip, wherever it is now."""
        same_name = [chip for chip in chips(root) if chip.name == one.chip.name]
        same = [chip for chip in same_name if chip.device == one.chip.device]
        if (
            not same and one.chip.is_alone and len(same_name) == 1
        ):  # a device on another bus or port changes its name too
            same = same_name
        suffix = one.path.name.partition("_")[2]
        kind = re.sub(r"\d+$", "", one.stem)
        numbers = [new for chip in same for new in inputs(chip, kind, (suffix,))]
        for new in numbers:
            if new.label == one.label and (one.label or new.stem == one.stem):
                return str(new.path)
        return None

    return NumberFile(str(one.path), locate, empty_means="no data: the file is empty")


def _name(folder: Path) -> str:
    return text_of(folder / "name") or text_of(folder / "device" / "name") or "unnamed"


def _chip(name: str, folder: Path, *, is_alone: bool) -> Chip:
    device = folder / "device"
    return Chip(name, device.resolve().name if device.is_symlink() else "", (folder, device), is_alone)
