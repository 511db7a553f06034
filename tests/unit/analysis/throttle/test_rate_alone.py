"""A rate of work alone, on a guest without clock, power and temperature, is no ground for an alarm."""

import random

import pytest

from benchmon.analysis.live import LiveAnalysis
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import LoadAction, LoadChange, Sample, SessionEnd, SessionHeader
from benchmon.model.units import Unit
from tests.support.summaries import HEADER

CHANNELS = (
    Channel(keys.LOAD, "load", Unit.PERCENT, "stat"),
    Channel(keys.WORK_RATE, "work rate", Unit.PER_SECOND, "workers"),
)


def events_of(rate, seed, seconds=120):
    from dataclasses import replace

    rng, live = random.Random(seed), LiveAnalysis(look_every_s=float("inf"))
    header = replace(HEADER, channels=CHANNELS)
    assert isinstance(header, SessionHeader)
    live.feed(header)
    live.feed(LoadChange(0.0, LoadAction.STARTED, "matrix work on all 2 cores", 2))
    for step in range(2 * seconds):
        t = step / 2.0
        live.feed(Sample(t, (100.0, rate(t) * rng.gauss(1.0, 0.05))))
    live.feed(SessionEnd(float(seconds), "the time asked for is over"))
    return live.events


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(
    "rate",
    [lambda t: 729.0, lambda t: 760.0 if t < 40 else 690.0, lambda t: 760.0 if t < 40 else 560.0],
    ids=["steady", "a tenth less", "a quarter less"],
)
def test_two_equal_runs_both_say_none(rate, seed):
    assert events_of(rate, seed) == ()
