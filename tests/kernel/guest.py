"""Run a scenario in the guest rig and bring back what benchmon wrote and what was true."""

from __future__ import annotations

import csv
import json
import os
import shutil
import subprocess
import sys
from bisect import bisect_left
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from statistics import fmean

from benchmon.model.records import Sample, Session
from benchmon.session.reader import read_session

HERE = Path(__file__).resolve().parent
RIG = HERE / "rig"
REPOSITORY = HERE.parents[1]
REST_S = 120
"""Boot, start and reports; a shared machine may take its time."""
GUEST_DID_NOT_FINISH = 125


def set_up_rig() -> None:
    """Packages, kernel, shim; all kept in ``~/.cache/benchmon-rig``."""
    done = subprocess.run(
        [RIG / "setup.sh"], env={**os.environ, "RIG_SHIM": "1"}, capture_output=True, text=True, timeout=600
    )
    assert done.returncode == 0, done.stdout + done.stderr


def run_in_guest(
    folder: Path, *loop_arguments: str, record_s: int = 60, every: str = "0.5s", shim: bool = False, look: bool = False
) -> GuestRun:
    """Boot, record for ``record_s`` seconds beside the closed loop, bring the results back. Once more if the guest hung.

    With ``look`` the channels are listed too, by the shell and by benchmon.
    """
    options = ["yes" if wanted else "no" for wanted in (shim, look)]
    job = [HERE / "guest_job.sh", REPOSITORY, sys.executable, record_s, every, *options, *loop_arguments]
    command = [RIG / "rig.sh", "-o", folder, "-t", record_s + REST_S, *job]
    for _ in range(2):
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        done = subprocess.run([str(word) for word in command], capture_output=True, text=True, stdin=subprocess.DEVNULL)
        if done.returncode != GUEST_DID_NOT_FINISH:
            break
    assert done.returncode == 0, done.stdout + done.stderr
    run = GuestRun(folder)
    for part in ("record", "channels") if look else ("record",):
        assert run.text(f"{part}.rc") == "0", run.text(f"{part}.err")
    make_sheet(folder)
    return run


def make_sheet(folder: Path) -> None:
    """The sheet of what the guest recorded, made here: fits take minutes under emulation, and need no driver."""
    command = [sys.executable, "-m", "benchmon", "sheet", folder / "run.session.jsonl", "--format", "json"]
    made = subprocess.run(command, capture_output=True, text=True, cwd=REPOSITORY)
    assert made.returncode == 0, made.stderr
    (folder / "sheet.json").write_text(made.stdout)


@dataclass(frozen=True)
class GuestRun:
    """What lies in the folder after a run. Times are the session's unless said otherwise."""

    folder: Path

    def text(self, name: str) -> str:
        return (self.folder / name).read_text().strip()

    @cached_property
    def session(self) -> Session:
        return read_session(self.folder / "run.session.jsonl")

    @cached_property
    def samples(self) -> list[Sample]:
        return [record for record in self.session.records if isinstance(record, Sample)]

    @cached_property
    def channels(self) -> dict:
        return json.loads(self.text("channels.json"))

    @cached_property
    def sheet(self) -> dict:
        return json.loads(self.text("sheet.json"))

    @cached_property
    def events(self) -> list[dict]:
        return self.sheet["events"]

    @cached_property
    def truth(self) -> Truth:
        """The loop's log, moved to the session's time axis."""
        starts_mono_s = self.session.header.started_at.timestamp() - float(self.text("clock_offset.txt"))
        return Truth.read(self.folder / "truth.csv", starts_mono_s)

    @cached_property
    def listing(self) -> list[tuple[str, str, str]]:
        """(file, value, name of its chip, zone or domain) of what the kernel offers; value empty where reading failed."""
        rows = [line.split(" ") for line in self.text("listing.txt").splitlines()]
        return [(row[0], row[1], " ".join(row[2:])) for row in rows]

    def keys(self) -> list[str]:
        return [channel.key for channel in self.session.header.channels]

    def channel(self, key: str) -> list[tuple[float, float]]:
        """(time, value) of every sample in which the channel was read."""
        at = self.keys().index(key)
        return [(s.t_s, s.values[at]) for s in self.samples if s.values[at] is not None]

    def key_of_source(self, *parts: str) -> str:
        """Key of the one recorded channel whose source names all the parts."""
        found = [c.key for c in self.session.header.channels if all(part in c.source for part in parts)]
        assert len(found) == 1, (parts, found)
        return found[0]


@dataclass(frozen=True)
class Truth:
    """What the loop's model used, and the kernel's own states at that moment; some ten rows a second."""

    rows: list[dict[str, float]]
    times: list[float]

    @classmethod
    def read(cls, path: Path, zero_mono_s: float) -> Truth:
        with path.open() as file:
            rows = [{name: float(text) for name, text in row.items()} for row in csv.DictReader(file)]
        return cls(rows, [row["t_mono"] - zero_mono_s for row in rows])

    def at(self, t_s: float, name: str) -> float:
        """Linear between two rows."""
        i = min(max(bisect_left(self.times, t_s), 1), len(self.times) - 1)
        before_s, after_s = self.times[i - 1], self.times[i]
        a, b = self.rows[i - 1][name], self.rows[i][name]
        return a + (b - a) * (t_s - before_s) / (after_s - before_s)

    def around(self, t_s: float, name: str, margin_s: float) -> set[float]:
        """All values that a state had within the margin: a reader may see an edge a little early or late."""
        return {row[name] for time, row in zip(self.times, self.rows, strict=True) if abs(time - t_s) <= margin_s}

    def mean_power_w(self, start_s: float, end_s: float) -> float:
        return (self.at(end_s, "energy_j") - self.at(start_s, "energy_j")) / (end_s - start_s)

    def mean(self, name: str, start_s: float, end_s: float) -> float:
        return fmean(row[name] for time, row in zip(self.times, self.rows, strict=True) if start_s <= time <= end_s)

    def limited(self, name: str, full: float, *, apart_s: float) -> list[tuple[float, float]]:
        """Stretches under load in which ``name`` differs from ``full``; those less than ``apart_s`` apart are one."""
        stretches: list[tuple[float, float]] = []
        for time, row in zip(self.times, self.rows, strict=True):
            if row["load_pct"] > 0 and row[name] != full:
                if stretches and time - stretches[-1][1] <= apart_s:
                    stretches[-1] = (stretches[-1][0], time)
                else:
                    stretches.append((time, time))
        return stretches


def overlap_s(event: dict, stretch: tuple[float, float], last_s: float) -> float:
    """Seconds that an event of a sheet shares with a stretch."""
    end_s = last_s if event["end_s"] is None else event["end_s"]
    return max(0.0, min(end_s, stretch[1]) - max(event["start_s"], stretch[0]))


def share_within(run: GuestRun, key: str, name: str, tolerance: float) -> float:
    """Share of the channel's readings that lie within the tolerance of the truth."""
    pairs = [(value, run.truth.at(t_s, name)) for t_s, value in run.channel(key)]
    assert len(pairs) >= 0.9 * len(run.samples), f"{key} was hardly read"
    return sum(abs(value - true) <= tolerance for value, true in pairs) / len(pairs)


def mean_power_errors(run: GuestRun, key: str, window_s: float = 5.0) -> list[float]:
    """Relative errors of the mean over stretches of at least ``window_s``: each reading covers the time since the last."""
    readings = run.channel(key)
    errors, start_s, energy_j = [], readings[0][0], 0.0
    for (before_s, _), (t_s, power_w) in zip(readings, readings[1:], strict=False):
        energy_j += power_w * (t_s - before_s)
        if t_s - start_s >= window_s:
            errors.append(energy_j / (t_s - start_s) / run.truth.mean_power_w(start_s, t_s) - 1)
            start_s, energy_j = t_s, 0.0
    return errors
