"""The way in: finds the command, and turns what goes wrong into a sentence and an exit code."""

from __future__ import annotations

import argparse
import importlib
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from benchmon import __version__
from benchmon.cli.console import drop_output, finish_output, have_streams, never_fail_on_a_letter, say
from benchmon.errors import BenchmonError, ExitCode, MachineError, OutputError
from benchmon.plain_text import one_line

_COMMANDS = {
    "demo": ("demo", "a scripted run on a small PC that does not exist; no sensors needed"),
    "channels": ("channels", "what can be read here, and what would open the rest"),
    "watch": ("watch", "record this machine and show it; mark phases and enter readings with keys"),
    "record": ("record", "the same without a screen: one readable line a second, events as they happen"),
    "plans": ("plans", "the written procedures that can be carried out; check one of your own"),
    "join": ("join", "open a screen on a session that is being recorded"),
    "replay": ("replay", "the same screen over a stored session"),
    "sheet": ("sheet", "the sheet of a session: machine, phases, throttle events, thermal verdict"),
    "compare": ("compare", "did it help: runs compared phase by phase, with a verdict"),
    "figure": ("figure", "pictures of a session, to be published; captions and frames for a video"),
    "sessions": (
        "sessions",
        "all sessions, a line each: machine, tags, what throttled it, what its cooler sustains",
    ),
    "add": ("add", "enter a reading, score, note or tag that became known after the recording"),
    "verdict": ("verdict", "how many watts this cooler can sustain, and whether it can cool another part"),
    "export": ("export", "sessions as tables (Parquet, CSV) for SQL engines and data frames"),
    "pack": ("pack", "write a packed copy of a session: a fifth of the size, opened by every command"),
    "import": ("import_table", "make a session of a table (CSV), so that it can be judged and replayed"),
}
"""Command → its module and what it does. Only the module that is asked for is loaded: the recorder must be small."""

_DESCRIPTION = """\
Find out, and show others, what the cooling in a small desktop machine can sustain.

A run on the bench, from start to end:
  benchmon channels                     what can be read here, and what would open the rest
  benchmon watch --load all --room 19   load all cores, watch, mark phases with keys
  benchmon sheet                        the sheet of the newest session
  benchmon verdict --part-watts 52      can this cooler carry a 52 W part?
"""

_CAUTION = """\
Take care: heatsinks and supplies stay hot after a run, fans bite, and a wall meter carries mains voltage.
Keep the covers of supplies closed; leave mains wiring to those licensed for it, by your local code.
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; return its exit code."""
    have_streams()
    never_fail_on_a_letter()
    arguments = list(sys.argv[1:] if argv is None else argv)
    arguments, command = _split_command(arguments)
    parser = _parser(arguments)
    try:
        args = parser.parse_args(arguments)
    except SystemExit:
        try:
            finish_output()
        except (BrokenPipeError, OutputError):  # nobody reads the help any more
            drop_output()
        raise
    except BenchmonError as error:  # of an argument that says what is wrong with it in two sentences
        say(error.message, error.hint)
        return int(error.exit_code)
    args.command_line = command
    if command is not None and not getattr(args, "takes_command", False):
        parser.error("a command after -- goes with watch and record only")
    if command == ():
        parser.error("there is no command after --")
    return _guarded(args)


def _split_command(arguments: list[str]) -> tuple[list[str], tuple[str, ...] | None]:
    """Everything after the first ``--`` is the user's own command."""
    if "--" not in arguments:
        return arguments, None
    at = arguments.index("--")
    return arguments[:at], tuple(arguments[at + 1 :])


class _Parser(argparse.ArgumentParser):
    """Its complaints repeat what was typed: that becomes plain first."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the command line, and end."""
        super().error(one_line(message))


def _parser(arguments: Sequence[str]) -> argparse.ArgumentParser:
    parser = _Parser(
        prog="benchmon",
        description=_DESCRIPTION,
        epilog=_CAUTION,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"benchmon {__version__}")
    subparsers = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    wanted = arguments[0] if arguments else ""
    for name, (module_name, summary) in _COMMANDS.items():
        subparser = subparsers.add_parser(
            name, help=summary, formatter_class=argparse.RawDescriptionHelpFormatter, allow_abbrev=False
        )
        if name == wanted:
            module = importlib.import_module(f"benchmon.cli.{module_name}")
            subparser.description = module.DESCRIPTION
            module.add_arguments(subparser)
            subparser.set_defaults(run=module.run)
    return parser


def _guarded(args: argparse.Namespace) -> int:
    try:
        _refuse_elsewhere()
        code = int(args.run(args))
        finish_output()
    except BenchmonError as error:
        say(error.message, error.hint)
        return int(error.exit_code)
    except KeyboardInterrupt:
        return 128 + 2
    except BrokenPipeError:
        # The reader of our output is gone (``| head``): nothing to say, and nobody to say it to.
        drop_output()
        return int(ExitCode.OK)
    except Exception as error:  # noqa: BLE001  # a fault of ours must still end in a sentence
        kept = _keep_details(error)
        say(f"a fault in benchmon itself: {type(error).__name__}: {error}", f"Details were kept in {kept}.")
        return int(ExitCode.INTERNAL)
    return code


def _refuse_elsewhere() -> None:
    """Sensors, clocks, processes and terminals are Linux's throughout."""
    if sys.platform != "linux":
        import platform

        raise MachineError(
            f"benchmon runs on Linux; this is {platform.system() or 'another system'}",
            "Record and read sessions on a machine with Linux; one started from a stick will do.",
        )


def _keep_details(error: BaseException) -> Path:
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile("w", prefix="benchmon-fault-", suffix=".txt", delete=False) as file:
        traceback.print_exception(error, file=file)
    return Path(file.name)
