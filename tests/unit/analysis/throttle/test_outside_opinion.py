"""The detector's change test against opinions from outside: ruptures on clean steps, the Nile series."""

from __future__ import annotations

import numpy as np
import pytest
import ruptures
from statsmodels.datasets import nile

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.detector import Detector
from benchmon.analysis.throttle.readings import Reading
from benchmon.analysis.throttle.seeker import Seeker
from tests.support import signals


@pytest.mark.parametrize(
    ("at_s", "low_mhz", "seed"), [(100, 3600.0, 1), (137, 3000.0, 2), (151, 2200.0, 3), (90, 3900.0, 4)]
)
def test_onsets_of_clean_steps_are_where_ruptures_puts_them(at_s, low_mhz, seed):
    """ruptures 1.1.10, one break by dynamic programming with the l2 model and jump=1 (its default jump of 5 would only look at every fifth sample)."""
    seen = list(signals.run(signals.clamp_between(at_s, 1e9, low_mhz), duration_s=220.0, noise=0.004, seed=seed))
    clocks = np.array([one.clock_mhz for one in seen if one.t_s > 22.0])
    (change, _) = ruptures.Dynp(model="l2", min_size=2, jump=1).fit(clocks).predict(n_bkps=1)
    detector = Detector()
    for one in seen:
        detector.push(one)
    detector.finish()
    (event,) = detector.events
    assert event.start_s == pytest.approx(22.0 + 0.5 + change, abs=1.0)
    assert event.start_s == pytest.approx(at_s, abs=1.0)


def test_the_flow_of_the_nile_fell_in_1898():
    """The series' one accepted break: last high year 1898, 95 % interval of observations 25 to 32 (strucchange)."""
    flow = nile.load_pandas().data["volume"].to_numpy()
    seeker = Seeker()
    seeker.begin_stretch(1870.0, 100.0, None)
    found = None
    for year, volume in zip(range(1871, 1971), flow, strict=True):
        reading = Reading(float(year), float(volume), None, None, 100.0, None)
        found = seeker.seek(reading, float(volume), 1.0, Observation(float(year)), is_clock=True)
        if found is not None:
            break
    assert found is not None
    assert 1895.0 <= found.onset_s <= 1902.0
    assert year < 1925
