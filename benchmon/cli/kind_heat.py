"""``benchmon channels --loads``: how hot each kind of built-in work is on this machine, measured."""

from __future__ import annotations

import argparse
import contextlib
import tempfile
from collections.abc import Iterator
from pathlib import Path

from benchmon.analysis.kind_heat import KIND_S, KindHeats
from benchmon.cli.cautions import caution_once
from benchmon.cli.console import errors_are_seen, say, show_beside, write_text
from benchmon.cli.virtual_folder import virtual_folder
from benchmon.errors import ExitCode
from benchmon.loads.tether import adopt_orphans
from benchmon.model.records import Mark, MarkKind, Record, Sample
from benchmon.model.work_kinds import KIND_WORDS, MEMORY, MIXTURE, SCALAR, WHOLE, WIDEST
from benchmon.stream.options import BuiltinChoice, PlanStep, RecordOptions, VirtualMachine
from benchmon.stream.privilege import as_caller
from benchmon.stream.recorder import record
from benchmon.views.kind_heat_list import as_json, as_text

ORDER = (MEMORY, WHOLE, SCALAR, WIDEST, MIXTURE)
"""From what is expected to be the mildest to the hottest."""
IDLE_S = 20.0
REST_S = 20.0
"""Between two kinds, so that one does not start as hot as the one before ended."""
IDLE, REST = "idle", "cool-down"


def run_kind_heats(args: argparse.Namespace) -> int:
    """Run every kind for half a minute under the guard, say what it drew."""
    adopt_orphans()
    steps = _steps()
    all_s = sum(step.duration_s for step in steps)
    if args.virtual is None:
        caution_once(args)
        say(
            f"All cores are loaded for {KIND_S:g} s with each of {len(ORDER)} kinds of work, the hottest last,"
            f" {all_s / 60:.0f} min in all.",
            "Stay with the machine; Ctrl-C ends it. The guard stops the load if it gets too hot.",
        )
    heats, progress = KindHeats(), Progress(all_s)
    with as_caller():  # the recorder goes on as that user, and writes there
        folder = tempfile.TemporaryDirectory(prefix="benchmon-loads-")
    with folder as kept, _machine(args) as virtual:
        options = RecordOptions(
            destination=Path(kept) / "loads.session.jsonl",
            period_s=0.5 if virtual is None else 1.0,
            steps=steps,
            stop_at_c=args.stop_at,
            root=args.root if virtual is None else virtual.folder,
            virtual=virtual,
            quiet=True,
        )
        outcome = record(options, (heats, progress))
    progress.finish()
    ended = "" if len(heats.kinds) == len(ORDER) and outcome.exit_code is ExitCode.OK else outcome.reason
    write_text(as_json(heats, ended) if args.json else as_text(heats, ended))
    return int(outcome.exit_code)


def _steps() -> tuple[PlanStep, ...]:
    steps = [PlanStep(IDLE, IDLE_S, None)]
    for kind in ORDER:
        steps += [PlanStep(KIND_WORDS[kind], KIND_S, BuiltinChoice(None, kind)), PlanStep(REST, REST_S, None)]
    return tuple(steps[:-1])


@contextlib.contextmanager
def _machine(args: argparse.Namespace) -> Iterator[VirtualMachine | None]:
    if args.virtual is None:
        yield None
        return
    from benchmon.virtual_bench.demo import BOUGHT, demo_box
    from benchmon.virtual_bench.tree import SysTree

    with virtual_folder() as folder:
        box = demo_box(args.virtual, BOUGHT)
        yield VirtualMachine(box.spec.name, box, SysTree(folder, box), folder, args.speed)


class Progress:
    """A line on standard error that says how far it is; on a terminal it is written over, else once for each step.

    Args:
        all_s: how long everything takes [s].
    """

    def __init__(self, all_s: float) -> None:
        self._all_s = all_s
        self._step = ""
        self._is_seen = errors_are_seen()

    def accept(self, record: Record) -> None:
        """Take the next record."""
        if isinstance(record, Mark) and record.kind is MarkKind.PHASE:
            self._step = record.text
            if not self._is_seen:
                say(f"{self._step}, {self._left(record.t_s)}")
        elif isinstance(record, Sample) and self._is_seen and self._step:
            self._write(f"\r{self._step}, {self._left(record.t_s)}".ljust(60))

    def finish(self) -> None:
        """Leave the line."""
        if self._is_seen:
            self._write("\r" + " " * 60 + "\r")

    def _left(self, t_s: float) -> str:
        left_s = max(0, round(self._all_s - t_s))
        return f"{left_s // 60}:{left_s % 60:02d} left in all"

    def _write(self, text: str) -> None:
        show_beside(text)
