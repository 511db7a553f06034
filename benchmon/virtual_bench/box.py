"""One virtual machine: load in, heat through the cooler, firmware's answer, and what the sensors show of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from benchmon.model.events import Cause
from benchmon.virtual_bench.chip import WORK_ACTIVITY
from benchmon.virtual_bench.cooler import Cooler
from benchmon.virtual_bench.firmware import FREE, Cap, Limit, Moment, PowerLimit
from benchmon.virtual_bench.heat_limits import HeatLimit, KernelSteps
from benchmon.virtual_bench.meters import BoxReadings, EnergyCounter, Thermometer
from benchmon.virtual_bench.seeded import seeded
from benchmon.virtual_bench.spec import HEATSINK, BoxSpec
from benchmon.virtual_bench.truth import LIMITED_BELOW, TruthInterval, TruthLog

SUB_STEP_S = 0.1
FAN_EVERY_S = 0.5
WORK_PER_GHZ_S = 40.0
"""Units of work one core finishes in a second at 1 GHz."""


class VirtualBox:
    """A running virtual machine.

    Args:
        spec: what it is.
        seed: of all its noise; the same seed and the same calls give the same readings.
        limits: its firmware's limits, with their state.
    """

    def __init__(self, spec: BoxSpec, seed: int, limits: Sequence[Limit] = ()) -> None:
        self.spec, self.limits = spec, tuple(limits)
        self.t_s = 0.0
        self.rng = seeded(seed)
        self.cooler = Cooler(spec.stages, spec.room_c)
        self.energy = EnergyCounter(spec.meters, self.rng)
        self.fan_rpm = spec.fan.low_rpm
        self.clock_mhz = spec.chip.lowest_mhz
        self.work_units = 0.0
        self.busy_s = [0.0] * spec.cores
        self._thermometer = Thermometer(spec.meters, self.rng)
        self._log = TruthLog()
        self._busy, self._share, self._activity, self._kind = 0, 1.0, 1.0, ""
        self._load_now = 0.0
        self._spread_k = 0.0
        self._noise = 1.0
        self._throttled_s = 0.0
        self._next_fan_s = 0.0
        self._now = Moment(lowest_mhz=spec.chip.lowest_mhz, power_at=self._power_at)
        self._settle()

    def _settle(self) -> None:
        """Start as if it had been on for a long time."""
        spec = self.spec
        self.cooler.stretch(HEATSINK, spec.fan.factor(self.fan_rpm))
        power_w = spec.warm_start_w
        if power_w is None:
            power_w = spec.chip.power_w(spec.chip.lowest_mhz, 0, 1.0, spec.room_c + 10.0)
        self.cooler.settle(power_w, spec.room_c)
        self._now.hot_c, self._now.case_c = self.cooler.temps_c[0], self.cooler.temps_c[-1]
        self._now.power_w = power_w
        self._thermometer.look(0.0, self.hot_c)

    @property
    def hot_c(self) -> float:
        """Temperature of the hottest core, exact [°C]."""
        return self.cooler.temps_c[0] + self._spread_k

    @property
    def power_w(self) -> float:
        """Package power of the last step, exact [W]."""
        return self._now.power_w

    @property
    def room_now_c(self) -> float:
        """Room temperature now [°C]."""
        return self.spec.room_c + self.spec.room_drift_k_per_h * self.t_s / 3600.0

    @property
    def truth(self) -> list[TruthInterval]:
        """What really limited it so far, by the rule in ``truth.py``."""
        return self._log.intervals()

    def set_load(self, busy_cores: float, activity: float = 1.0, kind: str = "", share: float = 1.0) -> None:
        """Keep cores busy from now on.

        Args:
            busy_cores: how many; a fraction is spread over the next whole number of cores.
            activity: how much the code keeps a core switching; 1 = like the widest arithmetic.
            kind: built-in kind of work; empty for other code.
            share: share of its time each of them is asked to work, at full clock.
        """
        self._busy = min(self.spec.cores, math.ceil(busy_cores))
        self._share = share * busy_cores / math.ceil(busy_cores) if busy_cores > 0 else 1.0
        self._activity = activity * WORK_ACTIVITY.get(kind, 1.0)
        self._kind = kind

    def step(self, dt_s: float) -> None:
        """Move on by ``dt_s`` [s], in steps of a tenth of a second at most."""
        count = max(1, math.ceil(dt_s / SUB_STEP_S - 1e-9))
        part_s = round(dt_s / count, 9)  # equal steps to the last bit: the cooler need not prepare anew
        for _ in range(count):
            self._sub_step(part_s)

    def leap(self, dt_s: float) -> None:
        """Move on by ``dt_s`` [s] in one step; coarse, for a look ahead only."""
        self._sub_step(dt_s)

    def _power_at(self, mhz: float) -> float:
        """Package power of the present load at a clock, were it let through [W]."""
        activity = self._activity * self._noise * self._load_now
        return self.spec.chip.power_w(mhz, self._busy, activity, self._now.hot_c)

    def _sub_step(self, dt_s: float) -> None:
        spec, now, chip = self.spec, self._now, self.spec.chip
        now.t_s, now.dt_s, now.busy = self.t_s, dt_s, self._busy
        if spec.meters.power_noise:
            self._noise = 1.0 + self.rng.gauss(0.0, spec.meters.power_noise)
        now.wish_mhz = self._wish_mhz()
        ceiling, duty, cause = self._held(now)
        self.clock_mhz = max(chip.lowest_mhz, min(now.wish_mhz, ceiling))
        self._load_now = self._load_at(self.clock_mhz * duty)
        activity = self._activity * self._noise * self._load_now
        power_w = chip.power_w(self.clock_mhz, self._busy, activity * duty, now.hot_c)
        self.cooler.step(power_w, self.room_now_c, dt_s)
        target_k = spec.spread_k_per_w * chip.own_w(self.clock_mhz, self._busy, activity * duty, now.hot_c)
        self._spread_k += (target_k - self._spread_k) * min(1.0, dt_s / spec.spread_lag_s)
        self.t_s += dt_s
        self._count(dt_s, power_w, duty)
        now.power_w, now.hot_c, now.case_c = power_w, self.hot_c, self.cooler.temps_c[-1]
        self._thermometer.look(self.t_s, now.hot_c)
        self._log.note(cause, now, self.t_s)
        if self.t_s >= self._next_fan_s:
            self._blow()

    def _held(self, now: Moment) -> tuple[float, float, Cause | None]:
        """Ceiling, duty, and the cause if they hold the load down."""
        ceiling, duty, lowest, cause = FREE, 1.0, now.wish_mhz * LIMITED_BELOW, None
        for limit in self.limits:
            limit.update(now)
            ceiling = min(ceiling, limit.ceiling_mhz)
            duty = min(duty, limit.duty)
            effective = min(limit.ceiling_mhz, now.wish_mhz) * limit.duty
            if effective < lowest:
                lowest, cause = effective, limit.cause
        return ceiling, duty, cause if now.busy else None

    def _wish_mhz(self) -> float:
        chip, free = self.spec.chip, self.spec.chip.free_mhz(self._busy, self._activity, self._kind)
        if not self._busy or self._share >= 0.97 or self.spec.governor == "performance":
            return free
        if self.spec.governor == "schedutil":
            return max(chip.lowest_mhz, min(free, 1.25 * self._share * free))
        return free if self.rng.random() < self._share else chip.lowest_mhz

    def _load_at(self, effective_mhz: float) -> float:
        """Share of time a busy core needs at this effective clock for what it is asked to do."""
        if not self._busy:
            return 0.0
        if self.spec.governor == "ondemand" and self._share < 0.97:
            return self._share
        return min(1.0, self._share * self.spec.chip.free_mhz(self._busy, self._activity, self._kind) / effective_mhz)

    def _count(self, dt_s: float, power_w: float, duty: float) -> None:
        self.energy.joules += power_w * dt_s
        if not self._busy:
            return
        busy_s = self._load_now * dt_s
        for core in range(self._busy):
            self.busy_s[core] += busy_s
        self.work_units += self._busy * busy_s * self.clock_mhz * duty / 1000.0 * WORK_PER_GHZ_S
        for limit in self.limits:
            if limit.cause is Cause.THERMAL and (limit.ceiling_mhz < FREE or limit.duty < 1.0):
                self._throttled_s += dt_s
                break

    def _blow(self) -> None:
        fan = self.spec.fan
        self._next_fan_s = self.t_s + FAN_EVERY_S
        follow = min(1.0, FAN_EVERY_S / fan.lag_s)
        self.fan_rpm += (fan.wanted_rpm(self.hot_c, self.t_s) - self.fan_rpm) * follow
        self.cooler.stretch(HEATSINK, fan.factor(self.fan_rpm))

    def readings(self) -> BoxReadings:
        """What the sensors show now."""
        meters, chip = self.spec.meters, self.spec.chip
        gauss, jitter = self.rng.gauss, meters.clock_noise
        busy_mhz, idle_mhz = self.clock_mhz, chip.lowest_mhz
        clocks = [
            (busy_mhz if core < self._busy else idle_mhz) * (1.0 + gauss(0.0, jitter)) for core in range(chip.cores)
        ]
        temp_c = self._thermometer.shown_c(self.hot_c)
        caps = [limit for limit in self.limits if isinstance(limit, Cap)]
        kernel = self.kernel_limit
        user_mhz = min((cap.ceiling_mhz for cap in caps if not cap.by_platform), default=FREE)
        kernel_mhz = kernel.ceiling_mhz if kernel else FREE
        load = 100.0 * self._load_now
        return BoxReadings(
            t_s=self.t_s,
            clock_mhz=tuple(clocks),
            temp_c=temp_c,
            core_temp_c=tuple(temp_c if core < self._busy else temp_c - 2.0 for core in range(chip.cores)),
            energy_uj=self.energy.shown_uj(self._now.power_w),
            energy_range_uj=meters.energy_range_uj,
            busy_s=tuple(self.busy_s),
            load_pct=tuple(load if core < self._busy else 0.0 for core in range(chip.cores)),
            work_units=self.work_units,
            clock_cap_mhz=min(chip.highest_mhz, user_mhz, kernel_mhz),
            platform_cap_mhz=min([chip.highest_mhz, *(cap.ceiling_mhz for cap in caps if cap.by_platform)]),
            throttle_count=sum(limit.crossings for limit in self.limits if isinstance(limit, HeatLimit)),
            throttle_ms=int(self._throttled_s * 1000.0),
            cooling_step=kernel.steps if kernel else 0,
            most_cooling_steps=kernel.most_steps if kernel else 10,
            fan_rpm=self.fan_rpm,
            board_temp_c=self.cooler.temps_c[-1],
        )

    @property
    def temp_limit_c(self) -> float:
        """Temperature limit the machine tells [°C]."""
        if self.spec.announced_limit_c is not None:
            return self.spec.announced_limit_c
        return next((limit.trip_c for limit in self.limits if isinstance(limit, HeatLimit)), 100.0)

    @property
    def critical_c(self) -> float:
        """Temperature at which it would switch itself off, as told; nothing here ever does [°C]."""
        return self.temp_limit_c + 10.0

    @property
    def power_limit(self) -> PowerLimit | None:
        """Its package power limit, if it has one."""
        return next((limit for limit in self.limits if isinstance(limit, PowerLimit)), None)

    @property
    def kernel_limit(self) -> KernelSteps | None:
        """The kernel's own defence, if it has one."""
        return next((limit for limit in self.limits if isinstance(limit, KernelSteps)), None)
