"""What the system tells about the box without any rights: firmware, drives, fans, and memory where it is watched.

Never serial numbers. Cooler and power supply tell nothing.
"""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

from benchmon.model.box_parts import MOST_LETTERS
from benchmon.plain_text import one_line
from benchmon.sensors.file_tree import SAYS_NOTHING, text_of

_DMI = "sys/class/dmi/id"
_NO_DRIVE = re.compile(r"(loop|ram|zram|dm-|md|sr|fd|nbd|zd)\d*.*")
_SECTOR_BYTES = 512
"""In which /sys/block/*/size counts, whatever the drive's own sectors are (Documentation/ABI/stable/sysfs-block)."""
_MOST_LISTED = 32
Told = dict[str, tuple[str, str]]
"""Name of a part → description and source."""


def told_parts(root: Path = Path("/")) -> Told:
    """The parts that the system tells.

    Args:
        root: folder in which ``sys/`` lies.
    """
    told = {
        "firmware": (_firmware(root), f"/{_DMI}/bios_version"),
        "drive": (_drives(root), "/sys/block"),
        "fans": (_fans(root), "/sys/class/hwmon"),
        "memory": (_memory(root), "/sys/devices/system/edac/mc"),
    }
    return {part: (one_line(text, MOST_LETTERS), source) for part, (text, source) in told.items() if text}


def _line(path: Path) -> str:
    return " ".join((text_of(path) or "").split())


def _firmware(root: Path) -> str:
    version, day = (_line(root / _DMI / name) for name in ("bios_version", "bios_date"))
    if SAYS_NOTHING.fullmatch(version):
        return ""
    return f"{version} of {day}" if version and day else version


def _drives(root: Path) -> str:
    """Every fixed drive: ``EXAMPLE 512 GB, solid state``."""
    found = []
    for folder in _listed(root / "sys/block"):
        if _NO_DRIVE.fullmatch(folder.name) or not (folder / "device").is_dir() or _line(folder / "removable") == "1":
            continue
        model = _line(folder / "device/model") or _line(folder / "device/name")
        name = model or folder.name
        size = _line(folder / "size")
        text = f"{name} {int(size) * _SECTOR_BYTES / 1e9:.0f} GB" if size.isdigit() and len(size) < 16 else name
        kind = {"0": ", solid state", "1": ", spinning"}.get(_line(folder / "queue/rotational"), "")
        found.append(text + (kind if model else ""))  # of a drive without a model the kernel does not know it either
    return "; ".join(found)


def _fans(root: Path) -> str:
    """How many fans tell their speed, and what they are called."""
    names = [
        _line(file.with_name(file.name.replace("_input", "_label"))) or file.name.removesuffix("_input")
        for folder in _listed(root / "sys/class/hwmon")
        for file in sorted(folder.glob("fan[0-9]*_input"))
    ]
    return f"{len(names)} with a speed reading: {', '.join(names)}" if names else ""


def _memory(root: Path) -> str:
    """Modules as the kernel's memory watch lists them: ``2 x 8 GiB Unbuffered-DDR4``."""
    modules: Counter[str] = Counter()
    for controller in _listed(root / "sys/devices/system/edac/mc"):
        for folder in [*controller.glob("dimm[0-9]*"), *controller.glob("rank[0-9]*")][:_MOST_LISTED]:
            size = _line(folder / "size")
            if size.isdigit() and 0 < int(size) < 2**31:
                modules[f"{int(size) / 1024:g} GiB {_line(folder / 'dimm_mem_type')}".rstrip()] += 1
    return ", ".join(f"{count} x {module}" for module, count in modules.items())


def _listed(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir())[:_MOST_LISTED]
    except OSError:
        return []
