"""A user's meter: read beside the recording, fresh or not at all."""

import time

import pytest

from benchmon.errors import UsageError
from benchmon.model.units import Unit
from benchmon.sensors.reading_command import parse_reading
from tests.support.recorder_process import running_with, wait_for


def read_until(sensor, now_s, wanted, patience_s=3.0):
    """Read at a session time that stands still, until the command has answered."""
    ends = time.monotonic() + patience_s
    while time.monotonic() < ends:
        (value,) = sensor.read(now_s)
        if wanted(value, sensor.why_not()[0]):
            return value
        time.sleep(0.005)
    pytest.fail(f"value {value}, reason {sensor.why_not()}")


def answered(value, _why):
    return value is not None


def refused(value, why):
    return value is None and why != "no answer yet"


@pytest.mark.parametrize(
    ("text", "key", "unit", "argv", "period_s"),
    [
        ("wall_w=/bin/meter@2s", "wall_w", Unit.WATT, ["/bin/meter"], 2.0),
        ("room_c=cat /tmp/t", "room_c", Unit.CELSIUS, ["cat", "/tmp/t"], 2.0),
        ("x_rpm=ssh me@host fan@500ms", "x_rpm", Unit.RPM, ["ssh", "me@host", "fan"], 0.5),
        ("x_rpm=ssh me@host", "x_rpm", Unit.RPM, ["ssh", "me@host"], 2.0),
        ("job_per_s='my meter' --x=1@1m", "job_per_s", Unit.PER_SECOND, ["my meter", "--x=1"], 60.0),
    ],
)
def test_parsing(text, key, unit, argv, period_s):
    sensor = parse_reading(text)
    (channel,) = sensor.channels
    assert (channel.key, channel.unit) == (key, unit)
    assert (sensor._argv, sensor._period_s) == (argv, period_s)


@pytest.mark.parametrize(
    "text",
    ["", "wall_w", "wall=cat x", "Wall_w=cat", "_w=cat", "wall_w=", "wall_w= @2s", "wall_w=cat@0.1s", "wall_w='cat"],
)
def test_nonsense_is_refused(text):
    with pytest.raises(UsageError):
        parse_reading(text)


def test_an_answer_is_given_while_it_is_fresh():
    sensor = parse_reading("wall_w=echo 41.5 W@1s")
    assert sensor.read(0.0) == (None,)
    assert sensor.why_not() == ("no answer yet",)
    assert read_until(sensor, 0.0, answered) == 41.5
    assert sensor.read(0.9) == (41.5,)
    sensor.close()


def test_an_answer_three_periods_old_is_none(tmp_path, monkeypatch):
    meter = tmp_path / "meter"
    meter.write_text("#!/bin/sh\n[ -e answered ] && exec sleep 60\ntouch answered\necho 7\n")
    meter.chmod(0o755)
    monkeypatch.chdir(tmp_path)
    sensor = parse_reading(f"wall_w={meter}@1s")
    assert read_until(sensor, 0.0, answered) == 7
    assert sensor.read(2.9) == (7.0,)
    assert sensor.read(3.1) == (None,)
    assert sensor.why_not() == ("no new answer for 3 s",)
    sensor.close()


@pytest.mark.parametrize(
    ("command", "why"),
    [
        ("echo no number", "printed no number"),
        ("echo nan", "printed no number"),
        ("echo inf", "printed no number"),
        ("true", "printed no number"),
        ("sh -c 'echo 5; exit 3'", "status 3"),
        ("/no/such/meter", "No such file"),
    ],
)
def test_what_is_no_answer(command, why):
    sensor = parse_reading(f"wall_w={command}@1s")
    read_until(sensor, 0.0, refused)
    assert why in sensor.why_not()[0]
    sensor.close()


def test_a_command_that_hangs_is_killed_and_never_waited_for():
    token = f"83.{time.time_ns() % 1000000:06d}"
    sensor = parse_reading(f"wall_w=sh -c 'sleep {token} & wait'@1s")
    sensor._longest_s = 0.5
    sensor.read(0.0)
    wait_for(lambda: len(running_with(f"sleep {token}")) == 3)  # the runner, the shell, the command
    hanging = set(running_with(f"sleep {token}")) - {sensor.pid}
    before_s = time.perf_counter()
    sensor.read(0.1)
    assert time.perf_counter() - before_s < 0.1
    read_until(sensor, 0.2, refused)
    assert sensor.why_not() == ("sh took longer than 0.5 s",)
    wait_for(lambda: not hanging & set(running_with(token)))
    sensor.close()
    assert not running_with(token)


def test_what_ran_away_from_a_command_ends_with_it():
    token = f"84.{time.time_ns() % 1000000:06d}"
    sensor = parse_reading(f"wall_w=sh -c '(setsid sleep {token} &); echo 5'@1s")
    assert read_until(sensor, 0.0, answered) == 5
    wait_for(lambda: set(running_with(token)) <= {sensor.pid})
    sensor.close()


def test_no_shell_is_involved(tmp_path):
    sensor = parse_reading(f"wall_w=echo 1 ; touch {tmp_path}/made@1s")
    read_until(sensor, 0.0, answered)
    assert list(tmp_path.iterdir()) == []
    sensor.close()


def test_it_runs_once_each_period():
    sensor = parse_reading("wall_w=date +%s%3N@2s")
    first = read_until(sensor, 0.0, answered)
    assert sensor.read(1.9) == (first,)
    assert read_until(sensor, 2.0, lambda value, _why: value not in (None, first)) > first
    sensor.close()
