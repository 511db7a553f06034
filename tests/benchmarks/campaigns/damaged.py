"""Damaged sessions through reader, analysis, every sheet format, the verdict, the list of entries and the drawing.

    python -m tests.benchmarks.campaigns.damaged [COUNT] [SEED]     seeded damage of many kinds
    python -m tests.benchmarks.campaigns.damaged --every            every cut and every flipped byte of a small session

All in one process, through ``benchmon.cli.main.main``. Counted: exit 1, more than 1 s of processor time, memory growth.
"""

from __future__ import annotations

import contextlib
import io
import json
import random
import resource
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from benchmon.cli.main import main as benchmon

ODD = (
    1e300, -1e300, 1e308, 1e15, 10**400, 1e9, 1e7, 3.2e7, -1e6, 0, -0.0, 1e-300, None, "", "x" * 5000, [], {}, True, "\ud800", "\x1b[2J", "a\nb",
)  # fmt: skip
HOW = (["sheet"], ["sheet", "--format", "markdown"], ["sheet", "--format", "csv"], ["sheet", "--json"],
       ["verdict", "--part-watts", "35"], ["verdict", "--json"], ["add"])  # fmt: skip
LONGEST_S = 1.0


def small_session(folder: Path) -> list[str]:
    """A minute on the virtual bench, with a load, marks and an end."""
    path = folder / "small.session.jsonl"
    words = [
        "record",
        "--virtual",
        "1",
        "--speed",
        "400",
        "--steps",
        "idle:20s,all:40s,idle:20s",
        "--every",
        "2s",
        "--room",
        "23",
    ]
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        benchmon([*words, "--quiet", "--to", str(path)])
    return path.read_text().splitlines()


def damage(lines: list[str], chance: random.Random) -> bytes:
    """One of many kinds of damage, sometimes several."""
    lines = list(lines)
    for _ in range(chance.choice((1, 1, 1, 3, 10))):
        at = chance.randrange(len(lines))
        kind = chance.randrange(9)
        if kind == 0:
            raw = bytearray("\n".join(lines).encode())
            raw[chance.randrange(len(raw))] = chance.randrange(256)
            lines = raw.decode("latin-1").split("\n")
        elif kind == 1:
            lines = lines[: at + 1]
        elif kind == 2:
            lines.insert(chance.randrange(len(lines) + 1), lines[at])
        elif kind == 3:
            del lines[at]
            lines = lines or ["{"]
        elif kind == 4:
            lines[at] = lines[at][: chance.randrange(len(lines[at]) + 1)]
        elif kind == 5:
            lines.insert(at, chance.choice(("[" * 3000, "{}", '["s"]', "null", '{"record":"mark"}', "9" * 5000)))
        else:
            lines[at] = _other_value(lines[at], chance)
    return "\n".join(lines).encode("utf-8", "surrogatepass") + b"\n" * chance.randrange(2)


def _other_value(line: str, chance: random.Random) -> str:
    try:
        value = json.loads(line)
    except (ValueError, RecursionError):
        return line
    inner = value
    for _ in range(6):
        keys = list(inner) if isinstance(inner, dict) else list(range(len(inner))) if isinstance(inner, list) else []
        if not keys:
            break
        key = chance.choice(keys)
        if isinstance(inner[key], dict | list) and inner[key] and chance.random() < 0.8:
            inner = inner[key]
            continue
        inner[key] = chance.choice(ODD)
        break
    return json.dumps(value)


def try_one(path: Path, raw: bytes, words: list[str]) -> tuple[int, float]:
    """Exit code and processor time [s] of one command."""
    path.write_bytes(raw)
    begun_s = time.process_time()
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="replace")
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        try:
            code = benchmon([words[0], str(path), *words[1:]])
        except SystemExit as ended:
            code = int(ended.code or 0)
    return code, time.process_time() - begun_s


def draw_one(path: Path) -> bool:
    """Whether the drawing of its traces fails."""
    from benchmon.analysis.live import LiveAnalysis
    from benchmon.errors import BenchmonError
    from benchmon.session.reader import read_session
    from benchmon.views.traces import spans
    from benchmon.views.tui.behind import Behind
    from benchmon.views.tui.scale import ruled_scale
    from benchmon.views.tui.window import automatic_step, following_window

    try:
        state = Behind(read_session(path), LiveAnalysis).state
        for track in state.tracks.values():
            if track.was_read:
                scale = ruled_scale(track.least, track.greatest, 6, 4).scale
                step_s = automatic_step(state.now_s, 200)
                spans(track.columns(step_s), following_window(state.now_s, 200, step_s).first, 200, scale, 24)
    except BenchmonError:
        return False
    except Exception:
        return True
    return False


def campaign(raws, folder: Path, *, words_of=None) -> Counter:  # noqa: ANN001
    """Runs each through a command (in turn) and, every fourth, the drawing."""
    found: Counter = Counter()
    path = folder / "bad.session.jsonl"
    for number, raw in enumerate(raws):
        code, took_s = try_one(path, raw, HOW[number % len(HOW)])
        found["commands"] += 1
        found["exit 1"] += code == 1
        found["over 1 s"] += took_s > LONGEST_S
        if code == 1 or took_s > LONGEST_S:
            (folder.parent / f"damaged-{number}-{code}.session.jsonl").write_bytes(raw)
        if number % 4 == 0:
            found["drawings"] += 1
            found["drawings that fail"] += draw_one(path)
    found["MB at most"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    return found


def every_cut_and_flip(lines: list[str]):  # noqa: ANN201
    """The session cut at each byte, and with each byte changed."""
    raw = ("\n".join(lines) + "\n").encode()
    for at in range(len(raw)):
        yield raw[:at]
    for at in range(len(raw)):
        yield raw[:at] + bytes([raw[at] ^ (1 << at % 8)]) + raw[at + 1 :]


def main() -> None:
    """Print the table."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    with tempfile.TemporaryDirectory(prefix="damaged-") as text:
        folder = Path(text)
        lines = small_session(folder)
        if "--every" in sys.argv:
            short = [
                lines[0],
                *[line for line in lines[1:] if not line.startswith('["s"')][:12],
                *[line for line in lines if line.startswith('["s"')][:6],
            ]
            raws = every_cut_and_flip(short)
        else:
            chance = random.Random(numbers[1] if len(numbers) > 1 else 1)
            raws = (damage(lines, chance) for _ in range(numbers[0] if numbers else 2000))
        for name, value in campaign(raws, folder).items():
            print(f"{name:20} {value}")


if __name__ == "__main__":
    main()
