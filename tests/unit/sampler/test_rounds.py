"""A sensor that does not answer holds up neither the others nor the recorder. Real threads, a second at most."""

import threading
import time

from benchmon.sampler.beside import BesideSettings
from benchmon.sampler.rounds import SLOW_S, TOO_SLOW, RoundsBeside
from tests.support.scripted_sensor import ScriptedSensor


def make(*sensors):
    return RoundsBeside(sensors, lambda: 0.0, 0.5)


def test_quick_sensors_are_read_in_their_order():
    rounds = make(ScriptedSensor([1.0, 2.0]), ScriptedSensor([3.0, 4.0]))
    assert rounds.read() == [(1.0,), (3.0,)]
    assert rounds.read() == [(2.0,), (4.0,)]
    assert rounds.faults == {}


def test_one_that_blocks_costs_its_own_value_only_and_is_said():
    release = threading.Event()
    stuck = ScriptedSensor([7.0], on_read=release.wait)
    rounds = make(ScriptedSensor([1.0, 2.0, 3.0]), stuck, ScriptedSensor([4.0, 5.0, 6.0]))
    begun_s = time.monotonic()
    assert rounds.read() == [(1.0,), (None,), (4.0,)]
    assert time.monotonic() - begun_s < SLOW_S + 0.3
    begun_s = time.monotonic()
    assert rounds.read() == [(2.0,), (None,), (5.0,)]
    assert time.monotonic() - begun_s < 0.1, "the second round does not wait for it any more"
    assert rounds.faults == {1: TOO_SLOW}
    release.set()
    time.sleep(0.1)
    assert rounds.read()[1] == (7.0,), "its answer counts once it comes"
    assert rounds.faults == {}


def test_several_that_block():
    release = threading.Event()
    rounds = make(*(ScriptedSensor([7.0], on_read=release.wait) for _ in range(3)), ScriptedSensor([1.0]))
    assert rounds.read() == [(None,), (None,), (None,), (1.0,)]
    release.set()


def test_one_that_is_quick_again_comes_back():
    slow = [True]
    sensor = ScriptedSensor([7.0], on_read=lambda: time.sleep(SLOW_S + 0.05) if slow[0] else None)
    rounds = make(ScriptedSensor([1.0]), sensor)
    rounds.read()
    slow[0] = False
    for _ in range(40):
        time.sleep(0.02)
        values = rounds.read()
    assert not rounds._slow
    assert values == [(1.0,), (7.0,)]


def test_a_faulty_sensor_is_told_and_the_others_are_read():
    rounds = make(ScriptedSensor([ValueError("broken"), 2.0]), ScriptedSensor([1.0]))
    assert rounds.read() == [(None,), (1.0,)]
    assert "broken" in rounds.faults[0]
    assert rounds.read() == [(2.0,), (1.0,)]


def test_settings_that_do_not_answer_are_not_waited_for():
    release = threading.Event()
    settings = BesideSettings(lambda: release.wait() and ("limit",))
    settings.FIRST_WAIT_S = 0.05
    assert settings() is None
    begun_s = time.monotonic()
    assert settings() is None
    assert time.monotonic() - begun_s < 0.05
    release.set()
    time.sleep(0.05)
    assert settings() == ("limit",)
