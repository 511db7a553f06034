"""Damaged sessions through reader, analysis, every sheet format, the verdict, the list of entries and the screen.

    python -m tests.benchmarks.campaigns.damaged [COUNT] [SEED] [--processes N]    seeded damage of many kinds
    python -m tests.benchmarks.campaigns.damaged --every [--processes N]           every cut and every flipped byte

Each session goes through every command and format, by ``benchmon.cli.main.main`` in one process for many sessions, and
onto several pages of the screen. What differs between two formats of one session is only what is printed: the analysis of
a session is made once for each set of options. Counted: exit 1, exceptions, more than 1 s of processor time for one
command, more than 200 MB. What fails is kept in the present folder. Needs numpy; Textual is not loaded.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import itertools
import json
import multiprocessing
import os
import pickle
import random
import resource
import shutil
import signal
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path

from benchmon.analysis.compare import bench_run
from benchmon.analysis.thermal import machine
from benchmon.cli import figure as figure_command
from benchmon.cli import main as cli
from benchmon.cli import sheet as sheet_command
from benchmon.errors import BenchmonError
from tests.benchmarks.campaigns.workshop import ROOT

SMALL = ROOT / "recordings" / "v1.session.jsonl"
COMPARED = str(ROOT / "recordings" / "box-as-bought.session.jsonl")
NEW = "{new}"
"""Stands for a file that is not there yet."""
ODD = (
    1e300, -1e300, 1e308, 1e15, 10**400, 1e9, 1e7, 3.2e7, -1e6, 0, -0.0, 1e-300, None, "", "x" * 5000, [], {}, True, "\ud800", "\x1b[2J", "a\nb",
)  # fmt: skip
HOW = (["sheet"], ["sheet", "--format", "markdown"], ["sheet", "--format", "csv"], ["sheet", "--json"],
       ["sheet", "--format", "html"], ["verdict"], ["verdict", "--part-watts", "35", "--json"], ["add"],
       ["compare", COMPARED], ["compare", str(SMALL), "--format", "html"], ["figure", "--terminal"],
       ["figure", "--kind", "captions", "--output", NEW + ".srt"], ["export", "--to", "csv", NEW], ["pack"])  # fmt: skip
"""Commands, without the session's file, which stands before any of their words."""
LONGEST_S = 1.0
HANGS_AFTER_S = 10.0
MOST_MB = 200
MOST_MEMORY_BYTES = 2 << 30
BATCH = 50
SHARES = (0.03, 0.15)
"""So much of the damage is done to a whole session, and to one with as few samples as a fit needs, which takes most of
the time; the rest to one with fewer."""


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
        cli.main([*words, "--quiet", "--to", str(path)])
    return path.read_text().splitlines()


def damage(lines: list[str], chance: random.Random) -> bytes:
    """One of many kinds of damage, sometimes several."""
    lines = list(lines)
    for _ in range(chance.choice((1, 1, 1, 3, 10))):
        at = chance.randrange(len(lines))
        kind = chance.randrange(9)
        if kind == 0:
            raw = bytearray("\n".join(lines).encode() or b"\n")
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


def extract_of(lines: list[str], count: int) -> list[str]:
    """The same session with so many samples, and an entry of every kind: most damage hits something else."""
    samples = [line for line in lines if line.startswith('["s"')]
    others = [line for line in lines[1:-1] if not line.startswith('["s"')]
    late_s = json.loads(samples[-1])[1]
    entries = [
        {
            "record": "mark",
            "number": 90 + at,
            "t_s": late_s,
            "entered_s": late_s,
            "kind": kind,
            "text": "a=b",
            "value": 21.5,
        }
        for at, kind in enumerate(("wall_power", "score", "note", "tag", "room", "withdraw", "phase"))
    ]
    gap = {"record": "gap", "start_s": late_s, "end_s": late_s + 3, "reason": "stopped"}
    return [lines[0], *others, *samples[:: len(samples) // count], *map(json.dumps, [*entries, gap]), lines[-1]]


class _Hang(BaseException):
    """A command took far too long."""


class _Shared:
    """What the commands of one session have in common is done once: parsing arguments, and each analysis and fit."""

    def __init__(self) -> None:
        self._parser, self._conclude, self._fit = cli._parser, sheet_command.session_and_summary, machine.fit
        self._run = bench_run.bench_run
        self._parsers: dict[str, argparse.ArgumentParser] = {}
        self._runs: dict[str, object] = {}
        self.forget()

    def forget(self) -> None:
        """Another session follows."""
        self._concluded: dict[object, object] = {}
        self._fits: dict[bytes, object] = {}
        self._runs = {name: run for name, run in self._runs.items() if name in COMPARED}  # the same each time

    def install(self) -> None:
        """Put this in the place of what the commands call."""
        cli._parser = self.parser  # type: ignore[assignment]
        for command in (sheet_command, figure_command):
            command.session_and_summary = self.conclude  # type: ignore[assignment]
        machine.fit = self.fit  # type: ignore[assignment]
        bench_run.bench_run = self.run  # type: ignore[assignment]

    def parser(self, arguments):  # noqa: ANN001, ANN201, D102
        if arguments[0] not in self._parsers:
            self._parsers[arguments[0]] = self._parser(arguments)
        return self._parsers[arguments[0]]

    def conclude(self, args, path, part_watts=None, **more):  # noqa: ANN001, ANN003, ANN201, D102
        key = (args.limit, args.ambient, args.criterion, part_watts, *more.items())
        if key not in self._concluded:
            self._concluded[key] = self._conclude(args, path, part_watts, **more)
        return self._concluded[key]

    def run(self, session, name):  # noqa: ANN001, ANN201, D102
        if name not in self._runs:
            self._runs[name] = self._run(session, name)
        return self._runs[name]

    def fit(self, readings):  # noqa: ANN001, ANN201, D102
        key = pickle.dumps(readings)
        if key not in self._fits:
            self._fits[key] = self._fit(readings)
        return self._fits[key]


def _hangs(*_: object) -> None:
    raise _Hang


def in_process(path: Path, words: list[str]) -> tuple[int, str]:
    """Exit code of one command, and what was printed."""
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="replace", write_through=True)
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        try:
            new = str(path.parent / "new")
            code = cli.main([words[0], str(path), *(word.replace(NEW, new) for word in words[1:])])
        except SystemExit as ended:
            code = int(ended.code or 0)
    return code, out.buffer.getvalue().decode("utf-8", "replace")  # type: ignore[attr-defined]


def draw(path: Path) -> tuple[int, str]:
    """Draw several pages of the screen; 0 if each is as large as the terminal."""
    from benchmon.analysis.live import LiveAnalysis
    from benchmon.session.reader import read_session
    from benchmon.views.traces import PLAIN
    from benchmon.views.tui.behind import Behind
    from benchmon.views.tui.drawing import Surroundings
    from benchmon.views.tui.look import Look, row_text, width_of
    from benchmon.views.tui.page import draw_page
    from benchmon.views.tui.state import ViewState
    from benchmon.views.tui.view import Mode, Panel, View

    try:
        session = read_session(path)
    except BenchmonError as refused:
        return 3, str(refused)
    state = ViewState(LiveAnalysis)
    for record in (session.header, *session.records):
        state.apply(record)
    around = Surroundings(live=False, behind=Behind(session, LiveAnalysis), playing="replay")
    for view, size, look in (
        (View(), (80, 24), Look()),
        (View(mode=Mode.TRACES, cursor_s=state.now_s / 2, whole=True), (200, 60), Look()),
        (View(mode=Mode.SHEET, panel=Panel.ENTRIES), (80, 24), Look(PLAIN, ascii_only=True)),
        (View(panel=Panel.EVENT, event=1), (120, 40), Look()),
    ):
        rows = [row_text(row) for row in draw_page(state, view, around, size, look)]
        if any(width_of(row) != size[0] or not row.isprintable() for row in rows) or len(rows) != size[1]:
            return 1, "a row is not as wide as the terminal"
    return 0, ""


def try_all(path: Path, raw: bytes, shared: _Shared) -> Iterator[tuple[str, str]]:
    """Each command, and what was wrong with it; nothing if it ended as it should."""
    path.write_bytes(raw)
    shared.forget()
    for words in (*HOW, ["draw"]):
        before_mb = _most_mb()
        begun_s = time.process_time()
        signal.setitimer(signal.ITIMER_PROF, HANGS_AFTER_S)
        try:
            code, said = draw(path) if words == ["draw"] else in_process(path, words)
            wrong = said.strip()[-400:] if code == 1 else ""
        except _Hang:
            wrong = "hangs"
        except Exception:  # whatever it is, it is what is looked for
            wrong = traceback.format_exc()[-1500:]
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
            _tidy(path)
        took_s = time.process_time() - begun_s
        if not wrong and took_s > LONGEST_S:
            wrong = f"took {took_s:.1f} s"
        if not wrong and _most_mb() > before_mb + 20 and _most_mb() > MOST_MB:
            wrong = f"took {_most_mb()} MB"
        yield " ".join(words), wrong


def _tidy(path: Path) -> None:
    """Remove what a command made."""
    for made in path.parent.iterdir():
        if made.is_dir():
            shutil.rmtree(made)
        elif made != path:
            made.unlink()


def _most_mb() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def batch(raws: list[bytes]) -> tuple[Counter[str], list[tuple[str, str, bytes]]]:
    """Counts, and what failed: command, why, session. Fits a process that is forked for it."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
    signal.signal(signal.SIGPROF, _hangs)
    shared = _Shared()
    shared.install()
    seen: Counter[str] = Counter()
    failed = []
    with tempfile.TemporaryDirectory(prefix="damaged-") as folder, tempfile.TemporaryDirectory() as cached:
        os.environ["XDG_CACHE_HOME"] = cached
        path = Path(folder) / "bad.session.jsonl"
        for raw in raws:
            seen["sessions"] += 1
            for name, wrong in try_all(path, raw, shared):
                seen["drawings" if name == "draw" else "commands"] += 1
                if wrong:
                    failed.append((name, wrong, raw))
    seen["MB at most"] = _most_mb()
    return seen, failed


def campaign(raws: Iterable[bytes], processes: int = 1) -> tuple[Counter[str], list[tuple[str, str, bytes]]]:
    """Every session through everything, in processes of their own."""
    total: Counter[str] = Counter()
    failed = []
    with multiprocessing.get_context("fork").Pool(processes, maxtasksperchild=20) as pool:
        for seen, wrong in pool.imap_unordered(batch, _batches(raws)):
            most_mb = max(total["MB at most"], seen["MB at most"])
            total += seen
            total["MB at most"] = most_mb
            failed += wrong
    return total, failed


def _batches(raws: Iterable[bytes]) -> Iterator[list[bytes]]:
    raws = iter(raws)
    while found := list(itertools.islice(raws, BATCH)):
        yield found


def every_cut_and_flip(lines: list[str]) -> Iterator[bytes]:
    """The session cut at each byte, and with each byte changed."""
    raw = ("\n".join(lines) + "\n").encode()
    for at in range(len(raw)):
        yield raw[:at]
    for at in range(len(raw)):
        yield raw[:at] + bytes([raw[at] ^ (1 << at % 8)]) + raw[at + 1 :]


def damaged_sessions(lines: list[str], count: int, seed: int) -> Iterator[bytes]:
    """So many, each of its own seed."""
    sessions = (lines, extract_of(lines, 10), extract_of(lines, 6))
    weights = (*SHARES, 1 - sum(SHARES))
    for number in range(count):
        chance = random.Random(f"{seed}.{number}")
        yield damage(chance.choices(sessions, weights)[0], chance)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("count", nargs="?", type=int, default=1000)
    parser.add_argument("seed", nargs="?", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--every", action="store_true")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="damaged-") as text:
        lines = small_session(Path(text))
    raws = (
        every_cut_and_flip(SMALL.read_text().splitlines())
        if args.every
        else damaged_sessions(lines, args.count, args.seed)
    )
    begun_s = time.monotonic()
    seen, failed = campaign(raws, args.processes)
    for number, (name, wrong, raw) in enumerate(failed[:200]):
        Path(f"damaged-{number}.session.jsonl").write_bytes(raw)
        print(f"damaged-{number}.session.jsonl: {name}: {wrong.strip().splitlines()[-1]}")
    for name, value in seen.items():
        print(f"{name:20} {value}")
    print(f"{'failed':20} {len(failed)}\n{'seconds':20} {time.monotonic() - begun_s:.0f}")


if __name__ == "__main__":
    main()
