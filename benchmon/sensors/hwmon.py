"""Chips of the kernel's hardware monitoring, found by name since their numbers change when a device comes back.

Files and units: Linux ``Documentation/hwmon/sysfs-interface.rst``.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from benchmon.sensors.files import numbered, text_of


@dataclass(frozen=True, slots=True)
class Chip:
    """One chip: its name, made unique, and the folder its files lie in at the moment."""

    name: str
    folder: Path


@dataclass(frozen=True, slots=True)
class ChipInput:
    """One input of a chip: ``temp1``, ``fan2``, ``power1``."""

    chip: str
    stem: str
    label: str
    folder: Path

    @property
    def words(self) -> str:
        """Chip and label, for people."""
        return f"{self.chip} {self.label or self.stem}"

    @property
    def key_part(self) -> str:
        """Chip and label, as part of a channel's key."""
        return re.sub(r"[^a-z0-9]+", "_", self.words.lower()).strip("_")


def chips(root: Path) -> tuple[Chip, ...]:
    """All chips; those of one name are numbered. Old drivers keep their files below ``device/``."""
    seen: dict[str, int] = {}
    found = []
    for folder in numbered(root / "sys/class/hwmon", "hwmon[0-9]*"):
        inner = folder / "device"
        name = text_of(folder / "name") or text_of(inner / "name")
        if name is None:
            continue
        has_own = any(folder.glob("*_input")) or any(folder.glob("power*_average"))
        place = folder if has_own or not inner.is_dir() else inner
        seen[name] = seen.get(name, 0) + 1
        found.append(Chip(name if seen[name] == 1 else f"{name}#{seen[name]}", place))
    return tuple(found)


def inputs(root: Path, pattern: str) -> tuple[ChipInput, ...]:
    """Inputs of all chips whose files match, for example ``temp[0-9]*_input``; labels of one chip are made unique."""
    found: list[ChipInput] = []
    for chip in chips(root):
        labels: set[str] = set()
        for path in numbered(chip.folder, pattern):
            stem = path.name.split("_", maxsplit=1)[0]
            label = text_of(chip.folder / f"{stem}_label") or ""
            if label in labels:
                label = f"{label} {stem}".strip()
            labels.add(label)
            found.append(ChipInput(chip.name, stem, label, chip.folder))
    return tuple(found)


def finder(root: Path, wanted: ChipInput, ending: str) -> Callable[[], Path | None]:
    """Finds the input's file wherever the chip lies now: by chip name and label, else by chip name and number."""

    def find() -> Path | None:
        usual = wanted.folder / f"{wanted.stem}{ending}"
        names = (text_of(wanted.folder / "name"), text_of(wanted.folder.parent / "name"))
        if wanted.chip.split("#", maxsplit=1)[0] in names and usual.exists():
            return usual
        for candidate in inputs(root, f"*{ending}"):
            if (candidate.chip, candidate.label or candidate.stem) == (wanted.chip, wanted.label or wanted.stem):
                return candidate.folder / f"{candidate.stem}{ending}"
        return None

    return find
