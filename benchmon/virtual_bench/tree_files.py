"""Path → text of every file of a virtual machine. Paths and units: Linux Documentation/ABI and its drivers."""

from __future__ import annotations

from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.meters import BoxReadings

Files = dict[str, str]
CPU = "sys/devices/system/cpu"
HWMON = "sys/class/hwmon"
RAPL = "sys/class/powercap"
THERMAL = "sys/class/thermal"
DMI = "sys/class/dmi/id"
TICKS_PER_S = 100
BOOTED_AGO_S = 5_000.0
"""The machine has been on for so long when its story begins."""


def fixed_files(box: VirtualBox) -> Files:
    """Files that never change."""
    return {**_identity(box), **_fixed_clocks(box), **_fixed_temps(box), **_fixed_power(box)}


def moving_files(box: VirtualBox) -> Files:
    """Files whose text depends on the moment."""
    now = box.readings()
    return {**_clocks(now, box), **_temps(now, box), **_counters(now, box), "proc/stat": _proc_stat(now)}


def _line(value: object) -> str:
    return f"{value}\n"


def _is_tctl(box: VirtualBox) -> bool:
    """Whether it has the other family's sensor: finer steps, no core temperatures, no power limits to read."""
    return box.spec.meters.temp_step_c < 1.0


def _identity(box: VirtualBox) -> Files:
    name = box.spec.name
    cpuinfo = "\n".join(
        f"processor\t: {core}\nvendor_id\t: VirtualBench\nmodel name\t: {name} processor ({box.spec.cores} cores)\n"
        f"physical id\t: 0\ncore id\t\t: {core}\ncpu cores\t: {box.spec.cores}\n"
        for core in range(box.spec.cores)
    )
    return {
        "proc/cpuinfo": cpuinfo,
        "proc/meminfo": f"MemTotal:       {8 * 1024 * 1024} kB\n",
        f"{DMI}/sys_vendor": _line("Virtual bench"),
        f"{DMI}/product_name": _line(name),
        f"{DMI}/board_vendor": _line("Virtual bench"),
        f"{DMI}/board_name": _line(f"{name} board"),
    }


def _fixed_clocks(box: VirtualBox) -> Files:
    chip = box.spec.chip
    everyone = f"0-{chip.cores - 1}" if chip.cores > 1 else "0"
    files = {f"{CPU}/{name}": _line(everyone) for name in ("online", "possible", "present")}
    for core in range(chip.cores):
        freq, topology = f"{CPU}/cpu{core}/cpufreq", f"{CPU}/cpu{core}/topology"
        files |= {
            f"{freq}/cpuinfo_min_freq": _khz(chip.lowest_mhz),
            f"{freq}/cpuinfo_max_freq": _khz(chip.highest_mhz),
            f"{freq}/scaling_min_freq": _khz(chip.lowest_mhz),
            f"{freq}/scaling_governor": _line(box.spec.governor),
            f"{freq}/scaling_driver": _line("acpi-cpufreq" if _is_tctl(box) else "intel_cpufreq"),
            f"{freq}/affected_cpus": _line(core),
            f"{topology}/physical_package_id": _line(0),
            f"{topology}/core_id": _line(core),
            f"{topology}/thread_siblings_list": _line(core),
            f"{topology}/package_cpus_list": _line(everyone),
        }
        if not _is_tctl(box):
            files[f"{freq}/base_frequency"] = _khz(chip.rated_mhz)
    turbo = {f"{CPU}/cpufreq/boost": _line(1)} if _is_tctl(box) else {f"{CPU}/intel_pstate/no_turbo": _line(0)}
    return files | turbo


def _fixed_temps(box: VirtualBox) -> Files:
    files = {f"{HWMON}/hwmon1/name": _line("nct6775")}
    if box.spec.fan.full_rpm:
        files[f"{HWMON}/hwmon1/fan1_label"] = _line("processor fan")
    kernel = box.kernel_limit
    if kernel is not None:
        zone = f"{THERMAL}/thermal_zone1"
        files |= {
            f"{zone}/type": _line("acpitz"),
            f"{zone}/mode": _line("enabled"),
            f"{zone}/trip_point_0_type": _line("passive"),
            f"{zone}/trip_point_0_temp": _milli(kernel.trip_c),
        }
    if _is_tctl(box):
        return files | {f"{HWMON}/hwmon0/name": _line("k10temp"), f"{HWMON}/hwmon0/temp1_label": _line("Tctl")}
    files[f"{HWMON}/hwmon0/name"] = _line("coretemp")
    for place in range(box.spec.cores + 1):
        files |= {
            f"{HWMON}/hwmon0/temp{place + 1}_label": _line("Package id 0" if place == 0 else f"Core {place - 1}"),
            # coretemp: crit is where the processor limits itself, max where cooling should be full
            f"{HWMON}/hwmon0/temp{place + 1}_max": _milli(box.temp_limit_c - 10.0),
            f"{HWMON}/hwmon0/temp{place + 1}_crit": _milli(box.temp_limit_c),
        }
    zone = f"{THERMAL}/thermal_zone0"
    return files | {f"{zone}/type": _line("x86_pkg_temp"), f"{zone}/mode": _line("enabled")}


def _fixed_power(box: VirtualBox) -> Files:
    package = f"{RAPL}/intel-rapl:0"
    files = {
        f"{RAPL}/intel-rapl/enabled": _line(1),
        f"{package}/name": _line("package-0"),
        f"{package}/enabled": _line(1),
        f"{package}/max_energy_range_uj": _line(box.spec.meters.energy_range_uj),
    }
    limit = box.power_limit
    if limit is not None and not _is_tctl(box):
        terms = (("long_term", limit.long_w, limit.window_s), ("short_term", limit.short_w, 0.00244))
        for number, (term, watts, window_s) in enumerate(terms):
            files |= {
                f"{package}/constraint_{number}_name": _line(term),
                f"{package}/constraint_{number}_power_limit_uw": _line(round(watts * 1e6)),
                f"{package}/constraint_{number}_time_window_us": _line(round(window_s * 1e6)),
            }
    return files


def _clocks(now: BoxReadings, box: VirtualBox) -> Files:
    files = {}
    for core, mhz in enumerate(now.clock_mhz):
        freq = f"{CPU}/cpu{core}/cpufreq"
        files[f"{freq}/scaling_cur_freq"] = _khz(mhz)
        files[f"{freq}/scaling_max_freq"] = _khz(now.clock_cap_mhz)
        if _is_tctl(box):
            files[f"{freq}/bios_limit"] = _khz(now.platform_cap_mhz)
    return files


def _temps(now: BoxReadings, box: VirtualBox) -> Files:
    files = {
        f"{HWMON}/hwmon0/temp1_input": _milli(now.temp_c),
        f"{HWMON}/hwmon1/temp1_input": _milli(round(2.0 * now.board_temp_c) / 2.0),
    }
    if box.spec.fan.full_rpm:
        files[f"{HWMON}/hwmon1/fan1_input"] = _line(round(now.fan_rpm))
    if box.kernel_limit is not None:
        files[f"{THERMAL}/thermal_zone1/temp"] = _milli(now.temp_c)
    if not _is_tctl(box):
        files[f"{THERMAL}/thermal_zone0/temp"] = _milli(now.temp_c)
        for core, temp_c in enumerate(now.core_temp_c):
            files[f"{HWMON}/hwmon0/temp{core + 2}_input"] = _milli(temp_c)
    return files


def _counters(now: BoxReadings, box: VirtualBox) -> Files:
    files = {f"{RAPL}/intel-rapl:0/energy_uj": _line(now.energy_uj)}
    for core in range(box.spec.cores):
        device = f"{THERMAL}/cooling_device{core}"
        files |= {
            f"{device}/type": _line("Processor"),
            f"{device}/max_state": _line(now.most_cooling_steps),
            f"{device}/cur_state": _line(now.cooling_step),
        }
        if not _is_tctl(box):
            for part in ("core", "package"):
                counter = f"{CPU}/cpu{core}/thermal_throttle/{part}_throttle"
                files[f"{counter}_count"] = _line(now.throttle_count)
                files[f"{counter}_total_time_ms"] = _line(now.throttle_ms)
    return files


def _proc_stat(now: BoxReadings) -> str:
    up_s = BOOTED_AGO_S + now.t_s
    rows = [(round(busy_s * TICKS_PER_S), round((up_s - busy_s) * TICKS_PER_S)) for busy_s in now.busy_s]
    whole = (sum(busy for busy, _ in rows), sum(idle for _, idle in rows))
    names = ["cpu ", *(f"cpu{core}" for core in range(len(rows)))]
    pairs = zip(names, [whole, *rows], strict=True)
    lines = [f"{name} {busy} 0 0 {idle} 0 0 0 0 0 0" for name, (busy, idle) in pairs]
    return "\n".join([*lines, "intr 0", "ctxt 0", "btime 1764000000", "processes 1", ""])


def _khz(mhz: float) -> str:
    return _line(round(mhz * 1000.0))


def _milli(celsius: float) -> str:
    return _line(round(celsius * 1000.0))
