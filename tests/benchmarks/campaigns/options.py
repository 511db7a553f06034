"""Bad values for every option and every argument of every command, as the program itself declares them.

    python -m tests.benchmarks.campaigns.options [COMMAND] [--processes N]

Each run is a process of its own, forked from one that has loaded the program, in a folder of its own. Counted: exit 1,
exceptions that nobody caught, hangs.
"""

from __future__ import annotations

import argparse
import ctypes
import multiprocessing
import os
import shutil
import tempfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import NamedTuple

from benchmon.cli import main as cli
from benchmon.errors import ExitCode
from tests.benchmarks.campaigns.workshop import ROOT, bench
from tests.support.forked_program import code_of, fork_program

LONGEST_S = 60.0
ODD = (
    "", " ", "0", "-1", "nan", "inf", "1e400", "9" * 5000, "x", "=", "a=", "\n", "\x1b[2J", "../../x", "/dev/null", "°", "1e-400", "@",
    ":", ",", "٣", "1e3", "all", "/dev", "/proc/self/mem", "(", "(?P<", "\udcff", "a" * 300, "~nobody-here/x", "2026-02-30", "a=b\tc",
)  # fmt: skip
CLOSED = (
    "closed",
    "closed/x",
    "closed/x.session.jsonl",
    "fixed",
    "fixed/x",
    "fixed/x.session.jsonl",
    "fixed/x/y",
    "pipe",
    "gone",
)
"""A folder that may not be looked into, one that may not be written, a pipe and a link to nowhere; see ``_lay_out``."""
PLAN = '[[phase]]\nload = "idle"\nlasts = "1s"\n'
START = {
    "demo": ("--no-screen", "--plan", "{plan}"), "channels": ("--try-for", "0.1s"), "watch": ("--for", "0.1s"),
    "record": ("--for", "0.1s", "--to", "{new}"), "plans": (), "join": (), "replay": ("{session}",), "sheet": ("{session}",),
    "compare": ("{session}", "{session}"), "figure": ("{session}", "--terminal"), "sessions": ("{folder}",), "add": ("{session}",),
    "verdict": ("{session}",), "export": ("{session}", "--to", "csv", "{new}"), "pack": ("{session}",),
    "import": ("{table}", "-o", "{new}.session.jsonl"),
}  # fmt: skip
"""What else each command needs."""
VIRTUAL = ("--virtual", "1", "--speed", "1000000")
BESIDE = {
    ("channels", "--loads"): VIRTUAL, ("channels", "--stop-at"): ("--loads", *VIRTUAL),
    ("channels", "--virtual"): ("--loads", "--speed", "1000000"), ("record", "--load"): VIRTUAL, ("record", "--steps"): VIRTUAL,
    ("record", "--work"): ("--load", "one", *VIRTUAL), ("record", "--plan"): VIRTUAL, ("record", "--chapter"): VIRTUAL,
    ("record", "--speed"): ("--virtual", "1"), ("figure", "--format"): ("--output", "{new}"), ("demo", "--speed"): ("--to", "{new}"),
    ("figure", "--speed"): ("--kind", "captions", "--output", "{new}"), ("figure", "--frames-per-second"): ("--kind", "captions"),
    ("record", "--score-from"): ("--", "true"), ("record", "--phase-from"): ("--", "true"), ("record", "--version-from"): ("--", "true"),
    ("record", "--command-cores"): ("--", "true"), ("add", "--in"): ("--note", "n"), ("add", "--at"): ("--note", "n"),
    ("add", "--instead-of"): ("--note", "n"), ("add", "--with-tag"): ("--note", "n"),
}  # fmt: skip
"""What an option needs beside it to have a meaning."""
COMMAND_TOO = ("record", "watch")
"""Commands that take a command after ``--``."""


class Declared(NamedTuple):
    """One option or argument of a command."""

    command: str
    name: str
    """``--room``; of an argument without a name, what it is called in the help."""
    is_option: bool
    takes: int
    """Values; 0: none."""


def declared() -> list[Declared]:
    """All that the program offers, hidden options included."""
    found = []
    for command in cli._COMMANDS:
        choices = next(action.choices for action in cli._parser([command])._actions if isinstance(action.choices, dict))
        for action in choices[command]._actions:
            if action.dest != "help":
                name = action.option_strings[-1] if action.option_strings else action.dest
                takes = action.nargs if isinstance(action.nargs, int) else 1
                found.append(Declared(command, name, bool(action.option_strings), takes))
    return found


def inputs(odd: tuple[str, ...] = (*ODD, *CLOSED), part: str | None = None) -> Iterator[list[str]]:
    """A command for each option or argument, and odd value."""
    for one in declared():
        if part not in (None, one.command):
            continue
        start = [one.command, *START[one.command], *BESIDE.get((one.command, one.name), ())]
        split = start.index("--") if "--" in start else len(start)
        for value in odd if one.takes else ("",):
            if not one.is_option:
                words = [value, value] if one.name == "words" else [value]
            else:
                words = [f"{one.name}={value}"] if one.takes == 1 else [one.name, *[value] * one.takes]
            yield [*start[:split], *words, *start[split:]]
        if one.takes:
            yield [*start[:split], one.name, *start[split:]] if one.is_option else [one.command]
    for command in COMMAND_TOO:
        if part in (None, command):
            yield from ([command, *START[command], "--", value] for value in (*odd, "true", "false"))


def run(words: list[str], folder: Path) -> tuple[int | None, str]:
    """Exit code (None: it hung) and output of one command, in a forked process and below this folder."""
    inner = folder / "a" / "b"  # what climbs out of the present folder stays with us
    inner.mkdir(parents=True)
    session = shutil.copy(ROOT / "recordings" / "minimal.session.jsonl", inner / "s.session.jsonl")
    (inner / "plan.toml").write_text(PLAN)
    (inner / "table.csv").write_text("t_s,temp_c\n0,40\n1,41\n2,42\n")
    names = {
        "session": session,
        "plan": inner / "plan.toml",
        "table": inner / "table.csv",
        "new": inner / "new",
        "folder": inner,
    }
    _lay_out(inner)
    words = filled(words, names)
    said = inner / "said"
    with open(said, "ab") as file:
        pid = fork_program(words, inner, (file.fileno(), file.fileno()), first=_as_ordinary_user)
    code = code_of(pid, LONGEST_S)
    return code, "hangs" if code is None else said.read_text(errors="replace")


def filled(words: list[str], names: dict[str, object]) -> list[str]:
    """The words with the names of files in them; odd values stay as they are."""
    return [word.format(**names) if word in _FILLED else word for word in words]


_FILLED = {word for words in (*START.values(), *BESIDE.values()) for word in words if "{" in word}


def _lay_out(folder: Path) -> None:
    for name, mode in (("closed", 0), ("fixed", 0o500)):
        (folder / name).mkdir()
        (folder / name).chmod(mode)
    os.mkfifo(folder / "pipe")
    (folder / "gone").symlink_to(folder / "nowhere")


def _as_ordinary_user() -> None:
    """Root may read and write whatever the mode of a file says (capabilities(7)); not so from now on."""
    libc, head, sets = ctypes.CDLL(None), (ctypes.c_uint32 * 2)(0x20080522, 0), (ctypes.c_uint32 * 6)()
    libc.capget(head, sets)
    for at in range(3):
        sets[at] &= ~0b1110  # CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH, CAP_FOWNER
    libc.capset(head, sets)
    for capability in (1, 2, 3):
        libc.prctl(24, capability, 0, 0, 0)  # PR_CAPBSET_DROP: nor for what it starts


def judged(words: list[str]) -> str:
    """What was wrong with one command; empty if nothing."""
    with tempfile.TemporaryDirectory(prefix="option-", ignore_cleanup_errors=True) as text:
        code, said = run(words, Path(text))
    shown = repr(" ".join(words))[:110]
    if code is None:
        return f"{shown}: hangs"
    if "Traceback" in said or code not in KNOWN_CODES:
        return f"{shown}: exit {code}: {said.strip()[-300:]}"
    return ""


KNOWN_CODES = {int(code) for code in ExitCode} - {int(ExitCode.INTERNAL)}


def campaign(
    odd: tuple[str, ...] = (*ODD, *CLOSED), part: str | None = None, processes: int = 1, nth: int = 1
) -> tuple[int, list[str]]:
    """Runs done, and a line for each that was wrong; of one command's options, if it is named; of each nth case."""
    cases = list(inputs(odd, part))[::nth]
    with bench() as (_, _, environment), multiprocessing.get_context("fork").Pool(
        processes, initializer=partial(os.environ.update, environment), maxtasksperchild=200
    ) as pool:  # fmt: skip
        bad = [wrong for wrong in pool.imap_unordered(judged, cases, chunksize=4) if wrong]
    return len(cases), bad


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("command", nargs="?", choices=tuple(cli._COMMANDS))
    parser.add_argument("--processes", type=int, default=1)
    args = parser.parse_args()
    seen, bad = campaign(part=args.command, processes=args.processes)
    print("\n".join(bad))
    print(f"{seen} runs, {len(bad)} wrong")


if __name__ == "__main__":
    main()
