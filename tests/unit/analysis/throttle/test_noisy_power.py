"""Power that jitters at its limit while the clock stands still is no limitation, however noisy the meter."""

import random

import pytest

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.detector import Detector


def steady_at_its_limit(seed: int, noise_w: float):
    rng, temp_c = random.Random(seed), 60.0
    for step in range(1200):
        t_s, is_busy = step * 0.5, step > 40
        temp_c += ((85.0 if is_busy else 40.0) - temp_c) * 0.01
        yield Observation(
            t_s,
            clock_mhz=3600.0 if is_busy else 1200.0,
            power_w=(95.0 if is_busy else 8.0) + rng.gauss(0.0, noise_w),
            temp_c=float(round(temp_c)),
            load_pct=100.0 if is_busy else 1.0,
            power_limit_w=95.0,
            power_window_s=28.0,
            temp_limit_c=100.0,
            highest_clock_mhz=3600.0,
            lowest_clock_mhz=1200.0,
        )


CASES = [(seed, noise_w) for noise_w in (0.5, 1.0, 2.0, 4.0, 6.0) for seed in (1, 2, 3, 4)]


@pytest.mark.parametrize(("seed", "noise_w"), CASES)
def test_jitter_is_no_event(seed, noise_w):
    detector = Detector()
    for observation in steady_at_its_limit(seed, noise_w):
        detector.push(observation)
    detector.finish()
    assert detector.events == ()


def test_a_real_fall_of_power_alone_is_still_seen():
    """A quarter less power and work at the same clock reading: the clock is modulated."""
    detector = Detector()
    for observation in steady_at_its_limit(1, 1.0):
        fell = observation.t_s > 300.0
        power_w = observation.power_w
        assert power_w is not None
        changed = {name: getattr(observation, name) for name in ("t_s", "clock_mhz", "load_pct", "highest_clock_mhz")}
        detector.push(
            Observation(
                **changed,
                power_w=power_w * 0.75 if fell else power_w,
                temp_c=84.0,
                temp_limit_c=85.0,
                work_rate=75.0 if fell else 100.0,
            )
        )
    detector.finish()
    assert len(detector.events) == 1
    assert detector.events[0].start_s == pytest.approx(300.5, abs=3.0)
