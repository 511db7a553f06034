"""A chip by three fitted curves: the clock it is given, what its work draws, what it leaks."""

from __future__ import annotations

from dataclasses import dataclass

from tests.benchmarks.third_bench.luck import Luck


@dataclass(frozen=True)
class Silicon:
    """What a chip does with nothing in the way. A board's chip is one "core" that is always given its clock."""

    cores: int
    bins_mhz: tuple[float, ...]
    """Clock with 1, 2, 3 … busy cores [MHz]."""
    rest_mhz: float
    """Clock of a chip with nothing to do [MHz]."""
    lowest_mhz: float
    rated_mhz: float
    """What the maker promises, at or below the clock with all cores [MHz]."""
    state_mhz: float
    """Clocks are whole multiples of this [MHz]."""
    work_w: float
    """All cores at their clock, usual code, without what follows [W]."""
    bend: float
    """That power goes with the clock to this power: 2 at a nearly fixed voltage, 3 where voltage follows."""
    awake_w: float
    """What is drawn besides as soon as anything works [W]."""
    asleep_w: float
    leak_w: float
    """Leakage at 60 °C [W] ..."""
    leak_per_k: float
    """... and how it grows, relative to that [1/K] ..."""
    leak_per_k2: float
    """... and bends upwards [1/K²]."""

    def given_mhz(self, busy: int) -> float:
        """Clock with so many busy cores [MHz]."""
        return self.bins_mhz[min(max(busy, 1), self.cores) - 1] if busy else self.rest_mhz

    def leaks_w(self, die_c: float) -> float:
        """Leakage [W]; straight with a bend, as data sheets draw it."""
        over_k = max(-40.0, min(die_c, 130.0) - 60.0)
        return max(0.2, 1.0 + self.leak_per_k * over_k + self.leak_per_k2 * over_k * abs(over_k)) * self.leak_w

    def draws_w(self, mhz: float, working: float, weight: float, die_c: float) -> float:
        """Power at a clock [W].

        Args:
            mhz: clock while it runs.
            working: busy cores × the share of time in which they run.
            weight: how heavy the code is, 1 = usual.
            die_c: die temperature.
        """
        share = mhz / self.bins_mhz[-1]
        awake_w = self.awake_w if working > 0.05 else 0.0
        return self._work_w(working, weight) * share**self.bend + awake_w + self.asleep_w + self.leaks_w(die_c)

    def clock_within(self, power_w: float, working: float, weight: float, die_c: float) -> float:
        """Clock at which it would draw just so much [MHz]."""
        left_w = power_w - self.awake_w - self.asleep_w - self.leaks_w(die_c)
        full_w = self._work_w(working, weight)
        if full_w <= 0.0 or left_w <= 0.0:
            return self.lowest_mhz
        return float((left_w / full_w) ** (1.0 / self.bend) * self.bins_mhz[-1])

    def _work_w(self, working: float, weight: float) -> float:
        return self.work_w * weight * working / self.cores

    def state_below(self, mhz: float) -> float:
        """The highest clock there is that is not above ``mhz`` [MHz]."""
        return max(self.lowest_mhz, self.state_mhz * int(mhz / self.state_mhz + 1e-6))


def draw_silicon(luck: Luck, *, cores: int | None = None) -> Silicon:
    """A desktop chip from the fanless to the stout."""
    cores = cores or luck.pick(2, 4, 4, 6, 8, 8, 12)
    state_mhz = luck.pick(25.0, 50.0, 100.0 / 3.0, 100.0)
    all_mhz = state_mhz * round(luck.even(1700, 4300) / state_mhz)
    most_mhz = all_mhz * luck.pick(1.0, 1.05, 1.12, 1.2, 1.3)
    # Bins come in groups: the lower half of the counts shares the drop, the upper half runs at the all-core clock.
    half = max(1, cores // 2)
    drop = (most_mhz - all_mhz) / half
    bins = tuple(max(all_mhz, most_mhz - drop * (busy // 2 * 2)) for busy in range(cores))
    bins = (*bins[:-1], all_mhz)
    work_w = luck.decade(7, 110)
    lowest_mhz = state_mhz * round(luck.even(0.15, 0.35) * all_mhz / state_mhz)
    return Silicon(
        cores=cores,
        bins_mhz=bins,
        rest_mhz=lowest_mhz if luck.chance(0.7) else bins[0],
        lowest_mhz=lowest_mhz,
        rated_mhz=state_mhz * round(all_mhz * luck.even(0.7, 1.0) / state_mhz),
        state_mhz=state_mhz,
        work_w=work_w,
        bend=luck.even(1.7, 3.0),
        awake_w=work_w * luck.even(0.04, 0.15),
        asleep_w=work_w * luck.even(0.02, 0.1),
        leak_w=work_w * luck.even(0.05, 0.2),
        leak_per_k=luck.even(0.006, 0.02),
        leak_per_k2=luck.even(0.0, 0.00015),
    )


def draw_board(luck: Luck) -> Silicon:
    """An accelerator board: a stout chip that keeps its clock while it waits."""
    state_mhz = luck.pick(7.5, 15.0, 25.0)
    all_mhz = state_mhz * round(luck.even(1100, 2500) / state_mhz)
    work_w = luck.decade(60, 620)
    return Silicon(
        cores=1,
        bins_mhz=(all_mhz,),
        rest_mhz=all_mhz,
        lowest_mhz=state_mhz * round(0.17 * all_mhz / state_mhz),
        rated_mhz=state_mhz * round(0.6 * all_mhz / state_mhz),
        state_mhz=state_mhz,
        work_w=work_w,
        bend=luck.even(1.6, 2.6),
        awake_w=work_w * luck.even(0.02, 0.08),
        asleep_w=work_w * luck.even(0.05, 0.12),
        leak_w=work_w * luck.even(0.03, 0.1),
        leak_per_k=luck.even(0.006, 0.015),
        leak_per_k2=luck.even(0.0, 0.0001),
    )
