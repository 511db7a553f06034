"""Started inside a mount namespace: read /sys and /proc/stat with unmodified psutil and with our sensors; print JSON.

The argument is the tree that was mounted; what is written there is seen in /proc/stat.
"""

import json
import sys
from pathlib import Path

import psutil

from benchmon.sensors.discovery import discover
from benchmon.sensors.hwmon import chips, inputs
from tests.support.sysfs import Tree

tree = Tree(Path(sys.argv[1]))
found = discover()
psutil.cpu_percent(percpu=True)
for sensor in found.sensors:
    sensor.read(0.0)
count = len(psutil.cpu_times(percpu=True))
tree.ticks(*[(100 + 10 * core, 1000) for core in range(1, count + 1)])
loads = psutil.cpu_percent(percpu=True)
ours = {}
for sensor in found.sensors:
    for channel, value in zip(sensor.channels, sensor.read(1.0), strict=True):
        ours[channel.key] = [value, channel.source]
json.dump(
    {
        "ours": ours,
        "temperatures": [
            [chip, entry.label, entry.current]
            for chip, entries in psutil.sensors_temperatures().items()
            for entry in entries
        ],
        "fans": [[chip, fan.label, fan.current] for chip, fans in psutil.sensors_fans().items() for fan in fans],
        "clocks": [core.current for core in psutil.cpu_freq(percpu=True)],
        "loads": loads,
        "psutil": psutil.__version__,
        "names": {
            f"/{one.path.relative_to('/')}": [chip.name, one.label]
            for chip in chips(Path("/"))
            for kind in ("temp", "fan")
            for one in inputs(chip, kind)
        },
    },
    sys.stdout,
)
