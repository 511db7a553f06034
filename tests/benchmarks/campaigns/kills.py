"""Random kills of recorder, keeper, worker, reading runner, command and all of them: is anything left after 3 s?

    python -m tests.benchmarks.campaigns.kills [COUNT] [SEED]

Each trial starts a recording with a load (built-in, or a command that ignores SIGTERM and starts children, double forks
and sessions of their own) and a reading command with a grandchild, and kills or stops somebody after 0 to 1.5 s.
"""

from __future__ import annotations

import random
import signal
import sys
import time
from collections import Counter

from benchmon.model.records import Sample
from benchmon.session.reader import read_session
from tests.benchmarks.campaigns.workshop import bench, everybody, is_alive, kill, start, wait_until
from tests.support.recorder_process import running_with

WHOM = ("recorder", "keeper", "worker", "runner", "other", "all")
LONGEST_S = 3.0


def trial(chance: random.Random, number: int) -> tuple[str, float | None, float, int]:
    """Whom it hit, seconds until all was gone (None: something was left), samples lost [s], who was hit."""
    with bench() as (folder, tree, environment):
        token = f"7{number}.{chance.randrange(10**9)}"
        script = f"trap '' TERM HUP; sleep {token} & (setsid sleep {token} &) ; while :; do sleep {token}; done"
        path = folder / "x.session.jsonl"
        words = ["record", "--quiet", f"--root={tree.root}", f"--to={path}", "--every=0.1s", "--for=60s"]
        words += [f"--reading=wall_w=sh -c '(setsid sleep {token} &); echo 5'@0.5s"]
        words += ["--load=all"] if chance.random() < 0.5 else ["--", "sh", "-c", script]
        process = start(environment, *words)
        early = chance.random() < 0.2
        if not early:
            wait_until(lambda: path.exists() and '["s"' in path.read_text(), 10.0)
        time.sleep(chance.uniform(0.0, 0.1 if early else 1.5))
        whom = chance.choice(WHOM)
        there = everybody(process)
        hit = [pid for pid, kind in there.items() if whom in (kind, "all")]
        killed_s = time.time()
        kill(hit)
        if whom not in ("recorder", "all"):  # the others must not take the recorder with them: it is ended afterwards
            time.sleep(0.3)
            process.kill()
        process.wait()
        gone = wait_until(lambda: not running_with(token) and not any(map(is_alive, there)), LONGEST_S)
        left = running_with(token)
        kill(left)
        return whom, gone, _lost_s(path, killed_s) if whom in ("recorder", "all") else 0.0, len(hit)


def _lost_s(path, killed_s: float) -> float:  # noqa: ANN001
    try:
        session = read_session(path)
    except Exception:
        return 0.0
    samples = [record.t_s for record in session.records if isinstance(record, Sample)]
    return max(0.0, killed_s - session.header.started_at.timestamp() - samples[-1]) if samples else 0.0


def campaign(count: int, seed: int = 1) -> dict[str, list[tuple[float | None, float]]]:
    """So many trials: whom → (seconds until all was gone or None, samples lost [s]) of each."""
    chance = random.Random(seed)
    found: dict[str, list[tuple[float | None, float]]] = {whom: [] for whom in WHOM}
    for number in range(count):
        whom, gone, lost_s, hit = trial(chance, number)
        if hit:
            found[whom].append((gone, lost_s))
    return found


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    found = campaign(count, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
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
