"""Readings through psutil, with psutil played by a scripted module."""

import sys
from types import SimpleNamespace

import pytest

from benchmon.model import keys
from benchmon.sensors import portable
from benchmon.sensors.key_maker import KeyMaker


@pytest.fixture
def psutil(monkeypatch):
    module = SimpleNamespace()
    monkeypatch.setitem(sys.modules, "psutil", module)
    return module


def test_clocks_weighted_by_load(psutil):
    psutil.cpu_freq = lambda percpu: [SimpleNamespace(current=3000.0), SimpleNamespace(current=1000.0)]
    sensor = portable.portable_clock(lambda: {0: 100.0, 1: 0.0})
    assert [channel.key for channel in sensor.channels] == [keys.CLOCK, "clock_cpu0_mhz", "clock_cpu1_mhz"]
    assert sensor.read(0.0) == (3000.0, 3000.0, 1000.0)


@pytest.mark.parametrize("answer", [[], [SimpleNamespace(current=0.0)], None])
def test_a_system_that_tells_no_clock(psutil, answer):
    psutil.cpu_freq = lambda percpu: answer
    assert portable.portable_clock(dict) is None


def test_whatever_psutil_raises_is_a_reason(psutil):
    answers = [[SimpleNamespace(current=3000.0)]]
    psutil.cpu_freq = lambda percpu: answers[-1]
    sensor = portable.portable_clock(dict)
    answers.append(None)
    assert sensor.read(0.0) == (None, None)
    assert all("TypeError" in why for why in sensor.why_not())


def test_temperatures_and_fans_elsewhere(psutil):
    entry = SimpleNamespace(label="", current=51.0, high=None)
    psutil.sensors_temperatures = lambda: {"coretemp": [entry, SimpleNamespace(label="b", current=-64.0, high=None)]}
    psutil.sensors_fans = lambda: {"chip": [SimpleNamespace(label="front", current=900)]}
    temps, fans = portable.portable_sensors(KeyMaker())
    assert temps.read(0.0) == (51.0, None)
    assert fans.read(0.0) == (900.0,)
    assert [c.key for c in (*temps.channels, *fans.channels)] == ["coretemp_1_c", "coretemp_b_c", "chip_front_rpm"]


def test_a_system_without_these_questions(psutil):
    assert portable.portable_sensors(KeyMaker()) == []


def test_discovery_asks_psutil_on_another_system(psutil, monkeypatch):
    from pathlib import Path

    from benchmon.sensors import discovery

    monkeypatch.setattr(discovery.platform, "system", lambda: "Elsewhere")
    monkeypatch.setattr(discovery, "core_clocks", lambda *_: None)
    monkeypatch.setattr(discovery, "cpuinfo_clocks", lambda *_: None)
    monkeypatch.setattr(discovery, "core_loads", lambda *_: "there is no such file")
    psutil.cpu_percent = lambda: 42.0
    psutil.cpu_freq = lambda percpu: [SimpleNamespace(current=3000.0)]
    psutil.sensors_temperatures = dict
    found = discovery.discover(Path("/"))
    values = {c.key: v for s in found.sensors for c, v in zip(s.channels, s.read(0.0), strict=True)}
    assert values[keys.LOAD] == 42.0
    assert values[keys.CLOCK] == 3000.0
    assert any("psutil" in refusal.why for refusal in found.refusals)
