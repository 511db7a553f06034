"""Which logical processors there are, and which of them share a core or a package."""

from __future__ import annotations

from pathlib import Path

from benchmon.sensors.file_tree import entries, number_of, text_of

CPU_FOLDER = "sys/devices/system/cpu"


def cpu_folders(root: Path) -> dict[int, Path]:
    """Folder of each logical processor that is fitted, online or not."""
    return {int(folder.name[3:]): folder for folder in entries(root / CPU_FOLDER, r"cpu\d+")}


def cpus(root: Path) -> list[int]:
    """Numbers of the logical processors, from their folders and from the kernel's tick counters."""
    lines = (text_of(root / "proc/stat") or "").splitlines()
    counted = {
        int(name[3:]) for line in lines if (name := line.partition(" ")[0])[3:].isdecimal() and name[:3] == "cpu"
    }
    return sorted(counted | set(cpu_folders(root)))


def package_of(cpu_folder: Path) -> tuple[int, int]:
    """Package and die; one and the same for all where the kernel does not say (-1 means so too)."""
    topology = cpu_folder / "topology"
    return (number_of(topology / "physical_package_id") or 0, number_of(topology / "die_id") or 0)


def core_of(cpu: int, cpu_folder: Path) -> tuple[int, int, int]:
    """Package, die and core; each logical processor is a core of its own where the kernel does not say."""
    core = number_of(cpu_folder / "topology/core_id")
    return (*package_of(cpu_folder), cpu if core is None else core)
