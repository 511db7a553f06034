"""What the machine is: only what may be shown to others, never serial numbers, host names or addresses.

Slow (py-cpuinfo looks in many places), so the recorder runs ``main`` beside itself, which prints it as JSON.
"""

from __future__ import annotations

import json
import platform
import re
import sys
from collections.abc import Sequence
from pathlib import Path

from benchmon.sensors.box_file import parts_of_box
from benchmon.sensors.file_tree import SAYS_NOTHING, text_of
from benchmon.sensors.topology import core_of, cpu_folders, cpus

_DMI = "sys/class/dmi/id"
_KIB_PER_GIB = 1024 * 1024


def identify(root: Path = Path("/")) -> dict[str, object]:
    """What the machine is.

    Args:
        root: folder in which ``sys/`` and ``proc/`` lie.

    Returns:
        ``processor``, ``board``, ``product``, ``system`` (texts, empty if not known), ``cores``, ``threads`` and
        ``memory_gib`` (None if not known).
    """
    folders = cpu_folders(root)
    has_cores = any((folder / "topology/core_id").exists() for folder in folders.values())
    cores = len({core_of(cpu, folder) for cpu, folder in folders.items()}) if has_cores else None
    return {
        "processor": _processor(root),
        "board": _joined(_dmi(root, "board_vendor"), _dmi(root, "board_name")),
        "product": _joined(_dmi(root, "sys_vendor"), _dmi(root, "product_name")) or _device_tree_model(root),
        "system": _system(root),
        "cores": cores,
        "threads": len(cpus(root)) or None,
        "memory_gib": _memory_gib(root),
    }


def _processor(root: Path) -> str:
    name = re.search(r"^model name\s*: *(.+)$", text_of(root / "proc/cpuinfo") or "", re.MULTILINE)
    if name or root != Path("/"):
        return " ".join(name[1].split()) if name else ""
    try:
        import cpuinfo  # noqa: PLC0415  # slow: only who asks pays for it

        return str(cpuinfo.get_cpu_info().get("brand_raw", ""))
    except Exception:  # noqa: BLE001  # it raises plain Exceptions on processors it does not know
        return platform.processor()


def _dmi(root: Path, name: str) -> str:
    text = " ".join((text_of(root / _DMI / name) or "").split())
    return "" if SAYS_NOTHING.fullmatch(text) else text


def _joined(vendor: str, name: str) -> str:
    return name if name.lower().startswith(vendor.lower()) else f"{vendor} {name}".strip()


def _device_tree_model(root: Path) -> str:
    return (text_of(root / "sys/firmware/devicetree/base/model") or "").rstrip("\0")


def _system(root: Path) -> str:
    release = re.search(r'^PRETTY_NAME="?([^"\n]*)', text_of(root / "etc/os-release") or "", re.MULTILINE)
    if root != Path("/"):
        return release[1] if release else ""
    kernel = f"{platform.system()} {platform.release()}"
    return f"{release[1]}, {kernel}" if release else kernel


def _memory_gib(root: Path) -> float | None:
    total = re.search(r"^MemTotal:\s*(\d+) kB", text_of(root / "proc/meminfo") or "", re.MULTILINE)
    return round(int(total[1]) / _KIB_PER_GIB, 1) if total else None


def main(arguments: Sequence[str]) -> None:
    """``ROOT FOLDER ENTERED``: print it as JSON, with what the box is made of.

    FOLDER is where descriptions of boxes are kept, empty = nowhere; ENTERED a description, as JSON.
    """
    root = Path(arguments[0])
    parts, problem = parts_of_box(root, Path(arguments[1]) if arguments[1] else None, json.loads(arguments[2]))
    json.dump({**identify(root), "box": parts, "problem": problem}, sys.stdout)
