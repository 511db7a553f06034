"""``benchmon figure``: pictures of a session, as files or in the terminal."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from benchmon.cli.chosen import chosen_session
from benchmon.cli.console import errors_are_seen, show_beside, shows_utf8, write_text
from benchmon.cli.sheet import add_analysis_arguments, session_and_summary
from benchmon.errors import ExitCode, UsageError
from benchmon.model.findings import Summary
from benchmon.model.recorded import Recorded

if TYPE_CHECKING:
    from benchmon.model.comparison import Comparison
    from benchmon.views.figures.files.saving import Style

DESCRIPTION = """\
Draw a picture of a session into a new file, ready to be published: light or dark, readable as a
thumbnail, with room, load and sources on it.

  benchmon figure                                    the newest session's run, as PNG, here
  benchmon figure duct --kind rise --format svg      temperature rise over power, with the cooler's line
  benchmon figure duct --kind card --size 1080x1080  the few figures a reader wants, square
  benchmon figure before after --kind change         what a change did, phase by phase
  benchmon figure duct --terminal                    rise over power, drawn here; needs nothing installed
  benchmon figure before after --kind change --terminal
  benchmon figure duct --kind captions --speed 60    captions for a video, the run sixty times as fast

Kinds: run (traces), rise (rise over power), power (package and wall by phase), card (summary),
change (two sessions laid over one another, with what differs),
captions (an SRT file), frames (a folder of transparent PNG pictures, to lay over a video).
Files are drawn by matplotlib: pip install 'benchmon[figures]'.
"""
_KINDS = ("run", "rise", "power", "card", "change", "captions", "frames")
_SIZES = ("1920x1080", "3840x2160", "1080x1080")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    from benchmon.cli.values import number_between, whole_between

    parser.add_argument(
        "sessions",
        nargs="*",
        metavar="SESSION",
        help="file, or part of a session's name (default: the newest); two for --kind change: before and after",
    )
    parser.add_argument("--kind", choices=_KINDS, default="run", help="what to draw (default run)")
    parser.add_argument("--size", choices=_SIZES, default=_SIZES[0], help="pixels (default 1920x1080)")
    parser.add_argument("--format", choices=("png", "svg"), default="png", help="kind of file (default png)")
    parser.add_argument("--dark", action="store_true", help="light lines on a dark ground")
    parser.add_argument("--transparent", action="store_true", help="no ground, to lay over something")
    parser.add_argument("--terminal", action="store_true", help="draw rise over power, or a change, here in characters")
    parser.add_argument(
        "--speed",
        type=number_between(1, 100_000, "x"),
        default=60.0,
        metavar="X",
        help="captions and frames: how many times as fast as the run (default 60)",
    )
    parser.add_argument(
        "--frames-per-second",
        type=whole_between(1, 60),
        default=10,
        metavar="N",
        help="frames: pictures for each second of video (default 10)",
    )
    parser.add_argument(
        "--output", type=Path, metavar="FILE", help="the new file (default: here, named by day and kind)"
    )
    add_analysis_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Read, conclude, draw."""
    wanted = 2 if args.kind == "change" else 1
    if len(args.sessions) != wanted and (wanted == 2 or args.sessions):
        raise UsageError(f"--kind {args.kind} shows {wanted} session{'s' * (wanted > 1)}, not {len(args.sessions)}")
    session, summary = session_and_summary(args, chosen_session(args.sessions[-1] if args.sessions else None))
    if args.terminal:
        write_text(_in_terminal(args, session, summary))
        return int(ExitCode.OK)
    target = args.output or Path(f"{_name_of(session)}-{args.kind}{_ending(args)}")
    _check_ending(target, args.kind)
    write_text(f"{_make(args, session, summary, target)}.\n")
    return int(ExitCode.OK)


def _in_terminal(args: argparse.Namespace, session: Recorded, summary: Summary) -> str:
    from benchmon.views.figures.change_in_terminal import draw_change_in_terminal
    from benchmon.views.figures.change_picture import change_picture
    from benchmon.views.figures.in_terminal import draw_in_terminal

    if args.kind != "change":
        return draw_in_terminal(session, summary, can_show_signs=shows_utf8())
    comparison, before = _before(args)
    picture = change_picture(comparison, before, (session, summary))
    return draw_change_in_terminal(picture, can_show_signs=shows_utf8())


def _before(args: argparse.Namespace) -> tuple[Comparison, tuple[Recorded, Summary]]:
    """The comparison of the two sessions, and the first of them."""
    from benchmon.cli.compare import comparison_of

    comparison, _ = comparison_of(args.sessions, None)
    return comparison, session_and_summary(args, chosen_session(args.sessions[0]))


def _make(args: argparse.Namespace, session: Recorded, summary: Summary, target: Path) -> str:
    from benchmon.views.figures.files.saving import Style
    from benchmon.views.figures.frames import Pace
    from benchmon.views.figures.making import save_captions, save_picture, save_sequence

    style = Style(args.size, is_dark=args.dark, is_transparent=args.transparent)
    if args.kind == "change":
        return _make_change(args, (session, summary), target, style)
    if args.kind == "captions":
        return save_captions(session, summary, target, args.speed)
    if args.kind == "frames":
        return save_sequence(session, summary, target, Pace(style, args.speed, args.frames_per_second), _tell)
    return save_picture(args.kind, session, summary, target, style)


def _make_change(args: argparse.Namespace, after: tuple[Recorded, Summary], target: Path, style: Style) -> str:
    from benchmon.views.figures.making import save_change

    comparison, before = _before(args)
    return save_change(comparison, before, after, target, style)


def _tell(done: int, count: int) -> None:
    """Progress on a terminal; nothing into a pipe."""
    if errors_are_seen():
        show_beside(f"\r{done} of {count} pictures" + ("\n" if done == count else ""))


def _name_of(session: Recorded) -> str:
    """A file's name from day and hour: nothing a stranger wrote names a file unasked."""
    return session.header.started_at.strftime("run-%Y-%m-%d-%H%M")


def _ending(args: argparse.Namespace) -> str:
    if args.kind == "frames":
        return ""
    return ".srt" if args.kind == "captions" else f".{args.format}"


def _check_ending(path: Path, kind: str) -> None:
    if kind != "frames" and path.suffix not in ({".srt"} if kind == "captions" else {".png", ".svg"}):
        raise UsageError(f"{path.name} has an ending that no such file has", "Name it .png or .svg; captions .srt.")
