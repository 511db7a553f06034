"""``benchmon record``: record this machine without a screen, one readable line a second."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from benchmon.cli.cautions import caution_once
from benchmon.cli.command_options import chosen_command, named_later
from benchmon.cli.console import cannot_write, shows_utf8, write_text
from benchmon.cli.planned_run import chosen_plan, judge_for
from benchmon.cli.ready import before_recording
from benchmon.cli.recording_options import EXAMPLES, add_recording_arguments
from benchmon.cli.values import duration_between
from benchmon.errors import ExitCode, UsageError
from benchmon.loads.tether import adopt_orphans
from benchmon.model.events import ThrottleEvent
from benchmon.plain_text import one_line
from benchmon.sensors.box_file import read_box
from benchmon.stream.echo import Echo, Voice, echo_of
from benchmon.stream.load_words import parse_load
from benchmon.stream.options import BuiltinChoice, PlanStep, RecordOptions, VirtualMachine
from benchmon.stream.plan import steps_of
from benchmon.stream.recorder import record
from benchmon.stream.trouble import RecordOutcome
from benchmon.views.doors import json_text
from benchmon.views.numbers import plain_ascii

if TYPE_CHECKING:
    from benchmon.analysis.live import LiveAnalysis
    from benchmon.views.tui.aside import Aside

DESCRIPTION = f"""\
Record this machine without a screen: one readable line a second, and a sentence for everything that
happens. It says all that the screen says, for screen readers, logs and very small machines.

  benchmon record --load all --for 10m --room 19
  benchmon record --steps idle:10m,one:10m,all:15m,idle:12m --tag duct=fitted
  benchmon record -- ./my-own-benchmark
{EXAMPLES}"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.set_defaults(takes_command=True)
    add_recording_arguments(parser)
    lines = parser.add_argument_group("output")
    lines.add_argument(
        "--lines-every", type=duration_between(0.01, 86_400), default=1.0, metavar="TIME", help="default 1s"
    )
    lines.add_argument("--behind", metavar="SESSION", help="an earlier session: warmer or cooler than then, in words")
    lines.add_argument("--quiet", action="store_true", help="print nothing but the name of the session")
    lines.add_argument("--json", action="store_true", help="at the end, one JSON object: session, how it ended, events")


def run(args: argparse.Namespace) -> int:
    """Record until it ends, then say where the session is."""
    adopt_orphans()  # whatever a killed keeper leaves behind becomes ours, and is ended
    if not args.quiet:
        caution_once(args)
    return int(record_here(args)[1])


def record_here(args: argparse.Namespace) -> tuple[Path, ExitCode]:
    """Record in this process.

    Returns:
        The session file and how the recording ended.
    """
    with _folder(args) as folder:
        options = _options(args, folder)
        if args.quiet:
            outcome = record(options, ())
            _last_words(echo_of(sys.stdout), one_line(str(outcome.path)))
            return outcome.path, outcome.exit_code
        return _with_lines(args, options)


def _folder(args: argparse.Namespace) -> contextlib.AbstractContextManager[Path]:
    """For the files of a virtual machine; a real one needs none."""
    if args.virtual is None:
        return contextlib.nullcontext(Path())
    from benchmon.cli.virtual_folder import virtual_folder

    return virtual_folder()


def _with_lines(args: argparse.Namespace, options: RecordOptions) -> tuple[Path, ExitCode]:
    from benchmon.analysis.live import LiveAnalysis
    from benchmon.views.line_output import LineOutput

    analysis = LiveAnalysis()
    aside = _aside(args, analysis)
    voice = echo_of(sys.stdout)
    with Path(os.devnull).open("w", encoding="utf-8") as nowhere:
        out = nowhere if args.json else voice
        lines = LineOutput(out, analysis, every_s=args.lines_every, ascii_only=not shows_utf8(), aside=aside)
        outcome = record(options, (lines,))
    _last_words(voice, _as_json(outcome, analysis.events) if args.json else _where(outcome))
    return outcome.path, outcome.exit_code


def _aside(args: argparse.Namespace, analysis: LiveAnalysis) -> Aside | None:
    """The earlier session that this one is held against; None if none was named."""
    from benchmon.cli.screen import comparison

    earlier = comparison(args)
    if earlier is None:
        return None
    from benchmon.analysis.live import LiveAnalysis
    from benchmon.views.tui.aside import Aside

    return Aside(earlier, analysis, lambda: LiveAnalysis(look_every_s=float("inf")))


def _where(outcome: RecordOutcome) -> str:
    path = one_line(str(outcome.path))
    text = f"Session: {path}\n  its sheet:  benchmon sheet {path}"
    return text if outcome.output is None else f"{text}\n  what the command printed:  {one_line(str(outcome.output))}"


def _last_words(voice: Voice, text: str) -> None:
    """Say where the session is; an output that stands still is given up after a moment.

    Raises:
        OutputError: if the output is full or gone.
    """
    if not isinstance(voice, Echo):
        write_text(f"{text}\n")
        return
    try:
        voice.write(f"{text if shows_utf8() else plain_ascii(text)}\n")
        voice.finish()
    except BrokenPipeError:
        raise
    except OSError as error:
        raise cannot_write(error) from None


def _as_json(outcome: RecordOutcome, events: tuple[ThrottleEvent, ...]) -> str:
    from benchmon.views.sheets.document_json import event_object

    return json_text(
        {
            "session": str(outcome.path),
            "exit_code": int(outcome.exit_code),
            "reason": outcome.reason,
            "events": [event_object(event) for event in events],
        }
    )


def _options(args: argparse.Namespace, folder: Path) -> RecordOptions:
    command = chosen_command(args)
    virtual = None if args.virtual is None else _virtual_machine(args, folder)
    chosen = chosen_plan(args, command, virtual)
    steps = () if chosen is None else steps_of(chosen.plan, args.work, command)
    if command is not None and not (args.load or "command").startswith("command"):
        raise UsageError("there is both another load and a command after --", "Leave one out, or use both in --steps.")
    word = args.load or ("command" if command is not None and not steps else None)
    if virtual is not None:
        steps = steps or _demo_steps()
    return RecordOptions(
        destination=args.to,
        period_s=args.every,
        duration_s=args.for_s,
        named_later=named_later(args),
        load=None if word is None else parse_load(word, args.work, command),
        steps=steps,
        noted=tuple(f"{one.what}: {one.effect}" for one in before_recording(args)),
        plan=None if chosen is None else chosen.plan,
        first=1 if chosen is None else chosen.first,
        resumes="" if chosen is None else chosen.resumes,
        judge=None if chosen is None else judge_for(chosen.plan.conditions),
        tags=dict(args.tag),
        box={} if args.box is None else read_box(args.box),
        room_c=args.room if virtual is None or args.room is not None else virtual.box.spec.room_c,
        stop_at_c=args.stop_at,
        readings=tuple(args.reading),
        root=args.root if virtual is None else folder,
        virtual=virtual,
        quiet=args.quiet,
    )


def _virtual_machine(args: argparse.Namespace, folder: Path) -> VirtualMachine:
    from benchmon.virtual_bench.demo import BOUGHT, CHAPTERS, demo_box
    from benchmon.virtual_bench.tree import SysTree

    chapter = args.chapter or BOUGHT
    if chapter not in CHAPTERS:
        raise UsageError(f"the demo has no chapter {chapter!r}", f"Choose one of {', '.join(CHAPTERS)}.")
    box = demo_box(args.virtual, chapter, args.room)  # the bench stands in the room that is told
    return VirtualMachine(box.spec.name, box, SysTree(folder, box), folder, args.speed)


def _demo_steps() -> tuple[PlanStep, ...]:
    from benchmon.virtual_bench.demo import DEMO_STEPS

    return tuple(
        PlanStep(name, seconds, BuiltinChoice(cores) if cores else None) for name, seconds, cores in DEMO_STEPS
    )
