"""When *until settled* ends a phase, against the criterion worked out without benchmon.

    python -m tests.benchmarks.plan_settling [SEEDS]

A load on a box of one or two heat stores with a random time constant, noise and a sensor that shows whole degrees. The
change that counts is that of the least-squares line through the last 300 s (IEC 62368-1 B.1.6: 1 K in 5 min). Twice:
through the readings, by ``numpy.polyfit``; and through the exact course without noise, in closed form.
"""

from __future__ import annotations

import random
import sys
from dataclasses import dataclass
from math import exp

import numpy as np

from benchmon.analysis.plan.judge import PhaseJudge
from benchmon.model.records import LoadAction, LoadChange, MarkKind
from tests.support.bench_sessions import mark, sample, session

WINDOW_S, CHANGE_K = 300.0, 1.0
IDLE_S = 30
LOOK_ON_S = 60.0
"""So long the readings are looked at after the end: it may have been too early."""


@dataclass(frozen=True)
class Settled:
    """One phase that was waited for; times from its start [s]."""

    tau_s: float
    ended_s: float
    readings_s: float
    """When the line through the readings first meets the criterion."""
    true_s: float
    """When the exact course meets it: noise moves the readings away from that."""

    @property
    def late_share(self) -> float:
        """How late it ended after the readings met the criterion, as a share of the time constant."""
        return (self.ended_s - self.readings_s) / self.tau_s

    @property
    def off_share(self) -> float:
        """The same against the exact course."""
        return (self.ended_s - self.true_s) / self.tau_s


def one(seed: int, period_s: float = 1.0) -> Settled:
    """Load a box and wait until the judge says that it has settled."""
    rng = random.Random(seed)
    tau_s, rise_k, noise_k = rng.uniform(60.0, 400.0), rng.uniform(15.0, 55.0), rng.uniform(0.1, 0.6)
    judge = PhaseJudge()
    judge.accept(session([], period_s=period_s).header)
    judge.accept(mark(1, 0.0, MarkKind.PHASE, "idle"))
    loaded = False
    times, temps = [], []
    ended_s = None
    for number in range(int(6000 / period_s)):
        t_s = number * period_s
        since_s = t_s - IDLE_S
        if since_s >= 0 and not loaded:
            loaded = True
            judge.accept(mark(2, t_s, MarkKind.PHASE, "all cores"))
            judge.accept(LoadChange(t_s, LoadAction.STARTED, "work on all cores", 4))
        exact_c = 30.0 + (rise_k * (1.0 - exp(-since_s / tau_s)) if loaded else 0.0)
        shown_c = round(exact_c + rng.gauss(0.0, noise_k))
        if loaded:
            times.append(since_s)
            temps.append(shown_c)
        if ended_s is None:
            judge.accept(sample(t_s, power=40.0 if loaded else 5.0, temp=float(shown_c), load=100.0 if loaded else 0.0))
            if loaded and judge.is_settled:
                ended_s = since_s
        elif since_s > ended_s + LOOK_ON_S:
            break
    assert ended_s is not None, "it never settled"
    return Settled(tau_s, ended_s, met_s(np.array(times), np.array(temps)), true_settled_s(tau_s, rise_k))


def met_s(times: np.ndarray, temps: np.ndarray) -> float:
    """When the least-squares line through the readings of the last window first meets the criterion [s]."""
    for end in range(int(np.searchsorted(times, WINDOW_S)), len(times)):
        last = slice(int(np.searchsorted(times, times[end] - WINDOW_S)), end + 1)
        if abs(np.polyfit(times[last] - times[end], temps[last], 1)[0]) * WINDOW_S <= CHANGE_K:
            return float(times[end])
    return float(times[-1])  # nor soon afterwards: far too early


def true_settled_s(tau_s: float, rise_k: float) -> float:
    """When the least-squares line through the last window of an exact exponential changes by the criterion.

    The slope of the line through e^(-x/tau) over a window W is known in closed form; it falls by e in each tau.
    """
    w = WINDOW_S / tau_s
    # Slope of the continuous least-squares line over [0, W] through exp(-x/tau): 12/W^3 * integral((x - W/2) f).
    integral = tau_s**2 * (1.0 - exp(-w) * (1.0 + w)) - (WINDOW_S / 2.0) * tau_s * (1.0 - exp(-w))
    change = abs(12.0 / WINDOW_S**3 * integral) * WINDOW_S * rise_k
    return WINDOW_S + max(0.0, tau_s * float(np.log(change / CHANGE_K)))


def main() -> None:
    """Print the worst of so many seeds."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    found = [one(seed) for seed in range(seeds)]
    for words, shares in (("the readings' line", [each.late_share for each in found]),
                          ("the exact course", [each.off_share for each in found])):  # fmt: skip
        print(f"{seeds} seeds, against {words}: {min(shares):+.0%} to {max(shares):+.0%} of a time constant late, "
              f"median {sorted(shares)[seeds // 2]:+.0%}")  # fmt: skip


if __name__ == "__main__":
    main()
