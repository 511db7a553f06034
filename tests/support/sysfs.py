"""File trees as the kernel shows them, for kinds of machine that are not here.

Names, units and places of the files are the kernel's (Documentation/hwmon/sysfs-interface.rst,
Documentation/ABI/testing/sysfs-class-{powercap,thermal}, Documentation/admin-guide/pm/cpufreq.rst, proc(5)).
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path

RANGE_ESU_14_UJ = 262143328850
"""max_energy_range_uj with energy unit 2^-14 J; kernel, drivers/powercap/intel_rapl_common.c (2^32 · 61,035 nJ)."""
RANGE_ESU_16_UJ = 65532610987


class Tree:
    """A root folder to be filled."""

    def __init__(self, root: Path) -> None:
        self.root = root
        root.mkdir(parents=True, exist_ok=True)

    def path(self, name: str) -> Path:
        return self.root / name

    def put(self, name: str, value: object) -> Path:
        """Write as the kernel does, with a newline; in place, so that an open descriptor sees it."""
        path = self.path(name)
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("r+b" if path.exists() else "wb") as file:
            file.write(f"{value}\n".encode())
            file.truncate()
        return path

    def link(self, name: str, target: str) -> None:
        """A symbolic link between two places of the tree, relative as in sysfs."""
        path = self.path(name)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.symlink_to(os.path.relpath(self.path(target), path.parent))

    def cores(
        self,
        khz: list[int],
        *,
        driver: str = "acpi-cpufreq",
        packages: int = 1,
        threads: int = 1,
        policy_of: Mapping[int, int] | None = None,
    ) -> None:
        """Logical processors with clocks; each is its own policy unless ``policy_of`` says otherwise."""
        per_package = len(khz) // packages
        self.put("sys/devices/system/cpu/online", f"0-{len(khz) - 1}")
        for cpu, clock in enumerate(khz):
            folder = f"sys/devices/system/cpu/cpu{cpu}"
            self.put(f"{folder}/topology/physical_package_id", cpu // per_package)
            self.put(f"{folder}/topology/core_id", cpu % per_package // threads)
            policy = (policy_of or {}).get(cpu, cpu)
            place = f"sys/devices/system/cpu/cpufreq/policy{policy}"
            if policy == cpu:
                for name, value in (
                    ("scaling_cur_freq", clock), ("scaling_max_freq", 3_600_000), ("scaling_min_freq", 800_000),
                    ("cpuinfo_max_freq", 3_600_000), ("cpuinfo_min_freq", 800_000),
                    ("scaling_governor", "schedutil"), ("scaling_driver", driver), ("affected_cpus", cpu), ("related_cpus", cpu),
                ):  # fmt: skip
                    self.put(f"{place}/{name}", value)
            self.link(f"{folder}/cpufreq", place)

    def ticks(self, *cores: tuple[int, int]) -> None:
        """proc/stat: for each core (busy, idle) ticks since the start."""
        rows = [(busy, 0, 0, idle, 0, 0, 0, 0, 0, 0) for busy, idle in cores]
        total = [sum(column) for column in zip(*rows, strict=True)]
        lines = ["cpu  " + " ".join(map(str, total))]
        lines += [f"cpu{n} " + " ".join(map(str, row)) for n, row in enumerate(rows)]
        self.put(
            "proc/stat", "\n".join([*lines, "intr 12345 0 0", "ctxt 1", "btime 1700000000", "processes 1", "softirq 0"])
        )

    def chip(
        self, number: int, name: str, files: Mapping[str, object], device: str = "", *, below_device: bool = False
    ) -> str:
        """A hardware monitoring chip; returns its folder."""
        folder = f"sys/class/hwmon/hwmon{number}"
        place = f"sys/devices/platform/{device or name}"
        self.path(place).mkdir(parents=True, exist_ok=True)
        self.path(folder).mkdir(parents=True, exist_ok=True)
        self.link(f"{folder}/device", place)
        where = f"{folder}/device" if below_device else folder
        for file, value in {"name": name, **files}.items():
            self.put(f"{where}/{file}", value)
        return folder

    def zone(
        self, number: int, kind: str, millidegrees: int, trips: Mapping[str, int] = {}, cooling: int | None = None
    ) -> str:
        folder = f"sys/class/thermal/thermal_zone{number}"
        self.put(f"{folder}/type", kind)
        self.put(f"{folder}/temp", millidegrees)
        for at, (trip, value) in enumerate(trips.items()):
            self.put(f"{folder}/trip_point_{at}_type", trip)
            self.put(f"{folder}/trip_point_{at}_temp", value)
        if cooling is not None:
            self.link(f"{folder}/cdev0", f"sys/class/thermal/cooling_device{cooling}")
        return folder

    def cooling(self, number: int, kind: str, state: int) -> None:
        self.put(f"sys/class/thermal/cooling_device{number}/type", kind)
        self.put(f"sys/class/thermal/cooling_device{number}/cur_state", state)
        self.put(f"sys/class/thermal/cooling_device{number}/max_state", 10)

    def energy(
        self, zone: str, name: str, uj: int, range_uj: int = RANGE_ESU_14_UJ, limits_w: tuple[int, int] | None = None
    ) -> str:
        """A power zone; returns its folder."""
        folder = f"sys/class/powercap/{zone}"
        for file, value in (("name", name), ("energy_uj", uj), ("max_energy_range_uj", range_uj), ("enabled", 1)):
            self.put(f"{folder}/{file}", value)
        for at, (kind, watts, window_us) in enumerate(
            zip(("long_term", "short_term"), limits_w or (), (27983872, 2440), strict=False)
        ):
            self.put(f"{folder}/constraint_{at}_name", kind)
            self.put(f"{folder}/constraint_{at}_power_limit_uw", watts * 1_000_000)
            self.put(f"{folder}/constraint_{at}_time_window_us", window_us)
        return folder


def intel_like(root: Path) -> Tree:
    """Two cores of two threads; the package's energy offered twice; chip sensors, fans, zones."""
    tree = Tree(root)
    tree.cores([3_400_000, 1_200_000, 800_000, 2_000_000], driver="intel_pstate", threads=2)
    tree.ticks((100, 900), (100, 900), (100, 900), (100, 900))
    for cpu in range(4):
        tree.put(f"sys/devices/system/cpu/cpu{cpu}/cpufreq/base_frequency", 3_000_000)
        tree.put(f"sys/devices/system/cpu/cpu{cpu}/thermal_throttle/core_throttle_count", (5, 5, 2, 2)[cpu])
        tree.put(f"sys/devices/system/cpu/cpu{cpu}/thermal_throttle/package_throttle_count", 9)
    tree.put("sys/devices/system/cpu/intel_pstate/no_turbo", 0)
    tree.energy("intel-rapl:0", "package-0", 1_000_000, limits_w=(65, 117))
    tree.energy("intel-rapl:0:0", "core", 500_000)
    tree.energy("intel-rapl:0:1", "uncore", 100_000)
    tree.energy("intel-rapl:0:2", "dram", 50_000)
    tree.energy("intel-rapl:1", "psys", 3_000_000)
    tree.energy("intel-rapl-mmio:0", "package-0", 1_000_000, limits_w=(35, 117))
    tree.chip(0, "acpitz", {"temp1_input": 27800}, "thermal_zone0")
    core = {"temp1_input": 62000, "temp1_label": "Package id 0", "temp1_max": 80000, "temp1_crit": 100000}
    core |= {"temp2_input": 60000, "temp2_label": "Core 0", "temp3_input": 62000, "temp3_label": "Core 1"}
    tree.chip(1, "coretemp", core, "coretemp.0")
    board = {"temp1_input": 41000, "fan1_input": 1180, "fan2_input": 0, "fan1_label": "CPU Fan"}
    tree.chip(2, "nct6775", board | {"temp2_input": -64000}, "nct6775.656")
    tree.cooling(0, "Processor", 0)
    tree.cooling(1, "Processor", 3)
    tree.cooling(2, "Fan", 7)
    tree.zone(0, "acpitz", 27800, {"critical": 119000, "active0": 71000})
    tree.zone(1, "x86_pkg_temp", 62000, {"passive": 0})
    return tree


def amd_like(root: Path) -> Tree:
    tree = Tree(root)
    tree.cores([3_600_000, 2_200_000])
    tree.ticks((100, 900), (100, 900))
    tree.put("sys/devices/system/cpu/cpufreq/boost", 1)
    tree.put("sys/devices/system/cpu/cpu0/acpi_cppc/nominal_freq", 3200)
    tree.energy("intel-rapl:0", "package-0", 1_000_000, RANGE_ESU_16_UJ)
    tree.energy("intel-rapl:0:0", "core", 100_000, RANGE_ESU_16_UJ)
    tree.chip(0, "nvme", {"temp1_input": 35850, "temp1_label": "Composite", "temp1_crit": 84850}, "nvme0")
    chip = {"temp1_input": 75125, "temp1_label": "Tctl", "temp2_input": 65125, "temp2_label": "Tdie"}
    tree.chip(1, "k10temp", chip | {"temp3_input": 55000, "temp3_label": "Tccd1"}, "0000:00:18.3")
    tree.chip(2, "amdgpu", {"power1_average": 11_000_000, "temp1_input": 50000, "temp1_label": "edge"}, "0000:05:00.0")
    return tree


def arm_board(root: Path) -> Tree:
    """Only zones; all cores share one clock policy."""
    tree = Tree(root)
    tree.cores([1_500_000] * 4, driver="cpufreq-dt", policy_of=dict.fromkeys(range(4), 0))
    tree.ticks(*[(100, 900)] * 4)
    tree.cooling(0, "cpufreq-cpu0", 1)
    tree.zone(0, "gpu-thermal", 51000, {"critical": 110000})
    tree.zone(1, "cpu-thermal", 58426, {"passive": 80000, "critical": 110000}, cooling=0)
    return tree


def acpi_only(root: Path) -> Tree:
    """Two ACPI zones, a power meter whose files lie below ``device/``, a platform that limits the clock."""
    tree = Tree(root)
    tree.cores([3_600_000, 3_600_000])
    tree.ticks((100, 900), (100, 900))
    for cpu in range(2):
        tree.put(f"sys/devices/system/cpu/cpu{cpu}/cpufreq/bios_limit", (3_600_000, 2_800_000)[cpu])
    tree.chip(0, "acpitz", {"temp1_input": 45000}, "thermal_zone0")
    tree.chip(1, "power_meter", {"power1_average": 43_210_000}, "ACPI000D:00", below_device=True)
    tree.cooling(0, "Processor", 0)
    tree.zone(0, "acpitz", 45000, {"critical": 105000})
    tree.zone(1, "acpitz", 71000, {"critical": 110000, "passive": 90000}, cooling=0)
    return tree


def two_packages(root: Path) -> Tree:
    tree = Tree(root)
    tree.cores([2_000_000] * 4, packages=2)
    tree.ticks(*[(100, 900)] * 4)
    for cpu in range(4):
        tree.put(f"sys/devices/system/cpu/cpu{cpu}/thermal_throttle/core_throttle_count", cpu + 1)
        tree.put(f"sys/devices/system/cpu/cpu{cpu}/thermal_throttle/package_throttle_count", (4, 4, 6, 6)[cpu])
    for package in range(2):
        tree.energy(f"intel-rapl:{package}", f"package-{package}", 1_000_000, limits_w=(95, 120))
        tree.energy(f"intel-rapl:{package}:0", "dram", 1_000_000)
        files = {"temp1_input": 60000 + 5000 * package, "temp1_label": f"Package id {package}", "temp1_crit": 98000}
        tree.chip(package, "coretemp", files | {"temp2_input": 59000, "temp2_label": "Core 0"}, f"coretemp.{package}")
    return tree


def nothing(root: Path) -> Tree:
    return Tree(root)


KINDS: Mapping[str, Callable[[Path], Tree]] = {
    "intel_like": intel_like,
    "amd_like": amd_like,
    "arm_board": arm_board,
    "acpi_only": acpi_only,
    "two_packages": two_packages,
    "nothing": nothing,
}
