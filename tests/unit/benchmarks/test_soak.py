"""The truth for the thermal verdict against what the simulation really does."""

import pytest

from benchmon.model import keys
from tests.benchmarks.first_bench.soak import soak_run


def long_enough(soak):
    """Go on with the last load until everything has settled."""
    box = soak.run.box
    assert soak.run.rows
    for _ in range(2000):
        box.leap(10.0)
    box.step(300.0)
    return box


@pytest.mark.parametrize("seed", [1, 2])
def test_a_free_load_settles_where_it_should(seed):
    soak = soak_run(seed, throttles=False)
    last = soak.phases[-1]
    box = long_enough(soak)
    drift_k = box.room_now_c - soak.room_c
    assert not soak.throttles
    assert soak.run.truth == []
    assert box.hot_c - drift_k == pytest.approx(last.settles_at_c, abs=0.4 + 0.2 * abs(drift_k))
    rise_k = box.hot_c - box.room_now_c
    assert rise_k / box.power_w == pytest.approx(last.resistance_k_per_w, rel=0.04)


def test_a_held_load_settles_at_the_limit_and_draws_the_capacity():
    soak = next(s for s in map(lambda n: soak_run(n, throttles=True), range(20)) if s.phases[-1].busy_cores == s.run.box.spec.cores and s.room_drift_k_per_h == 0.0 and type(s.run.box.limits[0]).__name__ == "Glide")  # fmt: skip
    box = long_enough(soak)
    watts = []
    for _ in range(300):
        box.step(1.0)
        watts.append(box.power_w)
    assert soak.phases[-1].is_limited
    assert box.hot_c == pytest.approx(soak.limit_c, abs=1.0)
    assert sum(watts) / len(watts) == pytest.approx(soak.capacity_w, rel=0.02)
    assert soak.capacity_w == pytest.approx(soak.phases[-1].settled_power_w, rel=0.01)
    assert {event.cause for event in soak.run.truth} == {"thermal"}


def test_phases_follow_one_another_and_cover_the_run():
    for seed in range(12):
        soak = soak_run(seed)
        assert soak.phases[0].start_s == 0.0
        assert soak.phases[-1].end_s == soak.run.duration_s
        for phase, following in zip(soak.phases, soak.phases[1:], strict=False):
            assert phase.end_s == following.start_s
            assert phase.name != following.name
        assert soak.throttles == any(phase.is_limited for phase in soak.phases)


def test_seeds_cover_what_the_verdict_must_cope_with():
    soaks = [soak_run(seed) for seed in range(40)]
    assert {soak.throttles for soak in soaks} == {True, False}
    assert {soak.run.box.spec.meters.temp_step_c for soak in soaks} == {1.0, 0.125}
    assert len({tuple(phase.name for phase in soak.phases) for soak in soaks}) >= 4
    assert keys.PACKAGE_POWER in soaks[0].run.reads
