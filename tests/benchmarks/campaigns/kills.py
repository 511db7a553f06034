"""Random kills of recorder, keeper, worker, reading runner, command and all of them: is anything left after 3 s?

    python -m tests.benchmarks.campaigns.kills [COUNT] [SEED] [--processes N]

Each trial starts a recording with a load (built-in, or a command that ignores SIGTERM and starts children, double forks
and sessions of their own, one with an emptied environment) and a reading command with a grandchild, and kills somebody
after 0 to 1.5 s. ``ours`` are recorder, keepers and runner at once, with what the command has put aside left alive.
``stopped`` are the same, after the recorder was stopped. Whatever carries the trial's folder in its environment, or its
number in its command line, counts as left.
"""

from __future__ import annotations

import argparse
import multiprocessing
import random
import signal
import time
from collections import Counter

from benchmon.model.records import Sample
from benchmon.session.reader import read_session
from tests.benchmarks.campaigns.workshop import (
    bench,
    everybody,
    is_alive,
    kill,
    start,
    wait_until,
    with_environment,
)
from tests.support.recorder_process import running_with

WHOM = ("recorder", "keeper", "worker", "runner", "other", "ours", "stopped", "all")
OURS = ("recorder", "keeper", "runner", "listener")
WITH_RECORDER = ("recorder", "ours", "stopped", "all")
LONGEST_S = 3.0

Trial = tuple[str, float | None, float, int]
"""Whom it hit, seconds until all was gone (None: something was left), samples lost [s], how many were hit."""


def trial(seed: int) -> Trial:
    """One recording and its violent end."""
    chance = random.Random(seed)
    with bench() as (folder, tree, environment):
        token = f"7{seed % 1000}.{chance.randrange(10**9)}"
        aside = f"(setsid sleep {token} &) ; (env -i setsid sh -c 'sleep {token} & sleep {token}' &)"
        script = f"trap '' TERM HUP; sleep {token} & {aside} ; while :; do sleep 0.0{token}; (sleep {token} &); done"
        path = folder / "x.session.jsonl"
        words = ["record", "--quiet", f"--root={tree.root}", f"--to={path}", "--every=0.1s", "--for=60s"]
        words += [f"--reading=wall_w=sh -c '(setsid sleep {token} &); echo 5'@0.5s"]
        words += ["--load=all"] if chance.random() < 0.4 else ["--", "sh", "-c", script]
        process = start(environment, *words)
        early = chance.random() < 0.2
        if not early:
            wait_until(lambda: path.exists() and '["s"' in path.read_text(), 10.0)
        time.sleep(chance.uniform(0.0, 0.1 if early else 1.5))
        whom = chance.choice(WHOM)
        there = everybody(process)
        kinds = {"ours": OURS, "stopped": OURS, "all": tuple(there.values())}.get(whom, (whom,))
        hit = [pid for pid, kind in there.items() if kind in kinds]
        chance.shuffle(hit)
        if whom == "stopped":
            process.send_signal(signal.SIGSTOP)
            hit.remove(process.pid)
        killed_s = time.time()
        kill(hit)
        if whom not in WITH_RECORDER:  # the others must not take the recorder with them: it is ended afterwards
            time.sleep(0.3)
            process.kill()
        gone = wait_until(lambda: not _left(process, folder, token, whom) and not any(map(is_alive, hit)), LONGEST_S)
        process.kill()
        process.wait()
        if gone is not None and whom == "stopped":
            later = wait_until(lambda: not _left(process, folder, token, ""), LONGEST_S)
            gone = None if later is None else max(gone, later)
        kill(_left(process, folder, token, ""))
        return whom, gone, _lost_s(path, killed_s) if whom in ("recorder", "ours", "all") else 0.0, len(hit)


def _left(process, folder, token: str, whom: str) -> list[int]:  # noqa: ANN001
    """Who is left; a recorder that only stands still may be, with those who wait for it and load nothing."""
    found = {*running_with(token), *with_environment(str(folder))} - {process.pid}
    return [] if whom == "stopped" and _only_waiting(found) else list(found)


def _only_waiting(pids: set[int]) -> bool:
    for pid in filter(is_alive, pids):
        try:
            name, line = (open(f"/proc/{pid}/{file}").read() for file in ("comm", "cmdline"))  # noqa: SIM115
        except OSError:
            continue
        if not any(text in name + line for text in ("benchmon-last", "loads.listener", "sensors.machine")):
            return False
    return True


def _lost_s(path, killed_s: float) -> float:  # noqa: ANN001
    try:
        session = read_session(path)
    except Exception:
        return 0.0
    samples = [record.t_s for record in session.records if isinstance(record, Sample)]
    return max(0.0, killed_s - session.header.started_at.timestamp() - samples[-1]) if samples else 0.0


def campaign(count: int, seed: int = 1, processes: int = 1) -> dict[str, list[tuple[float | None, float]]]:
    """So many trials: whom → (seconds until all was gone or None, samples lost [s]) of each."""
    found: dict[str, list[tuple[float | None, float]]] = {whom: [] for whom in WHOM}
    seeds = range(1000 * seed, 1000 * seed + count)
    with multiprocessing.Pool(processes) as pool:
        for whom, gone, lost_s, hit in pool.imap_unordered(trial, seeds):
            if hit:
                found[whom].append((gone, lost_s))
    return found


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("count", nargs="?", type=int, default=60)
    parser.add_argument("seed", nargs="?", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1)
    args = parser.parse_args()
    found = campaign(args.count, args.seed, args.processes)
    print("killed      trials  left after 3 s  longest until gone s  samples lost s (median, most)")
    for whom, trials in found.items():
        gone = [seconds for seconds, _ in trials if seconds is not None]
        lost = sorted(seconds for _, seconds in trials) or [0.0]
        counts = Counter(seconds is None for seconds, _ in trials)
        print(
            f"{whom:10} {len(trials):7} {counts[True]:15} {max(gone, default=0):21.2f} {lost[len(lost) // 2]:16.2f} {lost[-1]:6.2f}"
        )


if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.default_int_handler)
    main()
