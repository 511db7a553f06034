"""Work for a share of the time."""

import pytest

from benchmon.loads.pacing import PERIOD_S, Pace


class Worker:
    """Does units of a given length on a clock of its own."""

    def __init__(self, duty, offset=0.0, unit_s=0.003):
        self.t_s, self.unit_s, self.worked_s = 5.0, unit_s, 0.0
        self.begun = []
        self.resting_s = []
        self.pace = Pace(duty, offset, lambda: self.t_s, self.sleep)

    def sleep(self, rest_s):
        assert rest_s >= 0
        self.resting_s.append(rest_s)
        self.t_s += rest_s

    def run(self, until_s, taken_s=0.0):
        while self.t_s < until_s:
            self.begun.append(self.t_s)
            self.t_s += self.unit_s + taken_s
            self.worked_s += self.unit_s
            self.pace.rest(self.unit_s)
        return self.worked_s / (self.t_s - 5.0)


@pytest.mark.parametrize("duty", [0.01, 0.05, 0.25, 0.5, 0.75, 0.9, 0.99])
@pytest.mark.parametrize("unit_s", [0.0003, 0.003, 0.017, 0.05])
def test_the_share_holds_whatever_the_length_of_a_unit(duty, unit_s):
    assert Worker(duty, unit_s=unit_s).run(65.0) == pytest.approx(duty, abs=0.002 + unit_s / 60.0 + 0.02 / 60)


def test_rests_are_short():
    worker = Worker(0.5)
    worker.run(15.0)
    assert max(worker.resting_s) < PERIOD_S


def test_workers_take_turns():
    """Four at a quarter: at any time one of them works, give or take a unit."""
    busy = []
    for number in range(4):
        worker = Worker(0.25, number / 4, unit_s=0.0005)
        worker.run(7.0)
        busy.append([any(t <= at < t + 0.0005 for t in worker.begun) for at in (6.0 + k * 0.00025 for k in range(400))])
    together = [sum(states) for states in zip(*busy, strict=True)]
    assert max(together) <= 2
    assert sum(together) / len(together) == pytest.approx(1.0, abs=0.05)


def test_what_others_take_is_not_saved_up():
    """Held up for a second, it does not work through the next one to make up for it."""
    worker = Worker(0.25, unit_s=0.001)
    worker.run(6.0)
    worker.t_s += 1.0
    worked_s = worker.worked_s
    worker.run(8.0)
    assert worker.worked_s - worked_s == pytest.approx(0.25, abs=0.02)


def test_within_a_period_it_makes_up_for_what_others_took():
    """Others take half of its core: it works through its rests, and has its share all the same."""
    assert Worker(0.3, unit_s=0.001).run(65.0) == pytest.approx(0.3, abs=0.01)
    assert Worker(0.3, unit_s=0.001).run(65.0, taken_s=0.001) == pytest.approx(0.3, abs=0.02)
