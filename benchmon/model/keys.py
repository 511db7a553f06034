"""Canonical keys: the few channels and settings that the analysis knows by name.

A machine offers many more channels (each core's clock, every temperature); those are recorded and shown under keys of
their own. The ones below carry the meaning, and each is present only if it was really read.
"""

from __future__ import annotations

# --- channels: one value in every sample ---------------------------------------------------------------------------

CLOCK = "clock_mhz"
"""Clock of the busy cores: mean of the cores' clocks weighted by their load [MHz]."""
PACKAGE_POWER = "package_power_w"
"""Power of all processor packages together, from energy counters [W]."""
PROCESSOR_TEMP = "processor_temp_c"
"""*The* processor temperature, chosen by the written rule in ``docs/method.md`` [°C]."""
LOAD = "load_pct"
"""Share of all cores' time that was not idle since the last sample [%]."""
WORK_RATE = "work_rate_per_s"
"""Finished units of the built-in work, all workers together, per second [1/s]."""
WORK_SHARE = "work_share_pct"
"""Share of their cores' time that the workers of the built-in work were let run [%]; less where others run too."""
WALL_POWER = "wall_w"
"""Power at the wall from a meter that is read by a user's command [W]."""
ROOM_TEMP = "room_c"
"""Room temperature from a thermometer that is read by a user's command [°C]."""
CLOCK_CAP = "clock_cap_mhz"
"""Highest clock that the kernel's policy allows now: least ``scaling_max_freq`` of the cores [MHz]."""
PLATFORM_CAP = "platform_cap_mhz"
"""Highest clock that the platform (firmware) allows now: least ``bios_limit`` [MHz]."""
COOLING_STEP = "cooling_step"
"""Greatest state of the kernel's Processor cooling devices; 0 = the kernel asks for no cooling."""
CORE_THROTTLE_COUNT = "core_throttle_count"
"""Heat events the kernel counted since boot, summed over the cores' own counters."""
PACKAGE_THROTTLE_COUNT = "package_throttle_count"
"""Heat events of the packages (each package once; the file repeats under every core)."""
RECORDER_COST = "recorder_cost_pct"
"""Processor time of the recorder itself since the last sample, as a share of one core [%]."""

# --- settings: what the machine says about itself; written at the start and again when they change -------------------

RATED_CLOCK = "rated_clock_mhz"
"""Rated (base) clock [MHz]."""
HIGHEST_CLOCK = "highest_clock_mhz"
"""Highest clock the hardware offers, turbo included [MHz]."""
LOWEST_CLOCK = "lowest_clock_mhz"
"""Lowest clock the hardware offers [MHz]."""
TEMP_LIMIT = "temp_limit_c"
"""Temperature at which the firmware or kernel starts to limit the processor [°C]."""
TEMP_CRITICAL = "temp_critical_c"
"""Temperature at which the machine shuts down [°C]."""
POWER_LIMIT_LONG = "power_limit_long_w"
"""Sustained package power limit [W] ..."""
POWER_WINDOW_LONG = "power_window_long_s"
"""... and its averaging window [s]."""
POWER_LIMIT_SHORT = "power_limit_short_w"
"""Short-term package power limit [W] ..."""
POWER_WINDOW_SHORT = "power_window_short_s"
"""... and its window [s]."""
TURBO = "turbo"
"""``on`` or ``off`` (text)."""
GOVERNOR = "governor"
"""Name of the clock governor (text)."""
CLOCK_DRIVER = "clock_driver"
"""Name of the kernel's clock driver (text)."""
CORE_COUNT = "core_count"
"""Logical processors online."""

COMMAND_OUTPUT = "command_output"
"""Name of the file beside the session that has what the user's command printed (text)."""
COMMAND_VERSION = "command_version"
"""The line of that output that tells the command's version (text)."""


def core_clock_key(cpu: int) -> str:
    """Key of one logical processor's clock channel."""
    return f"clock_cpu{cpu}_mhz"


def core_load_key(cpu: int) -> str:
    """Key of one logical processor's load channel."""
    return f"load_cpu{cpu}_pct"
