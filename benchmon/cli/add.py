"""``benchmon add``: enter what became known when the recording was over."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from benchmon.cli.console import say, write_text
from benchmon.cli.later import enter_mark, length_s
from benchmon.cli.sessions import add_choice, chosen_by_facts
from benchmon.cli.tag_changes import renaming, tag_key, tag_requests
from benchmon.cli.values import whole_between
from benchmon.errors import BenchmonError, ExitCode, UsageError
from benchmon.model.box_parts import TAG_PREFIX
from benchmon.model.records import Mark, MarkKind, Session
from benchmon.model.valid_marks import ValidMarks
from benchmon.plain_text import one_line
from benchmon.session.naming import bare_name
from benchmon.views.numbers import duration
from benchmon.views.tui.prompts import ASKS, NotUnderstoodError, Prompt, Request, mark_request, session_time
from benchmon.views.words.records import mark_sentence

DESCRIPTION = """\
Enter into a session what became known when the recording was over: a wall reading on a slip of paper,
the score that the benchmark showed at its end, a note, a tag. The file only grows: what is corrected
or withdrawn stays in it. A session that is still being recorded takes entries in the same way.

  benchmon add --wall 53.8 --in "all cores"           into the newest session
  benchmon add run --score "1842 render" --in "all cores"
  benchmon add run --tag duct=fitted
  benchmon add run                                    lists the entries with their numbers
  benchmon add run --withdraw 3
  benchmon add run1 run2 --tag paste=fresh            into many: tags and notes
  benchmon add --tag paste=fresh --with-tag paste=frehs --since 2026-11-20
  benchmon add --rename-tag psate=paste --with-tag psate      a mistyped key; its values stay
  benchmon add run --drop-tag psate
"""
_PLACED = {MarkKind.WALL, MarkKind.SCORE, MarkKind.PHASE}
"""Kinds that mean nothing without the moment they speak of."""
_BEFORE_THE_END_S = 1.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.usage = "%(prog)s [-h] [ENTRY] [--in PHASE | --at TIME] [--instead-of N] [WHICH SESSIONS] [SESSION ...]"
    parser.add_argument(
        "sessions", nargs="*", metavar="SESSION", help="file, or part of a session's name (default: the newest)"
    )
    what = parser.add_argument_group(
        "what is entered (one of these; none lists the entries)"
    ).add_mutually_exclusive_group()
    what.add_argument("--wall", metavar="W", help="reading of the wall meter [W]")
    what.add_argument("--room", metavar="C", help="room temperature [°C]")
    what.add_argument("--score", metavar="TEXT", help='a benchmark\'s score, with its name or unit: "1842 render"')
    what.add_argument("--note", metavar="TEXT", help="any words")
    what.add_argument("--tag", metavar="KEY=VALUE", help="what is special about the run: duct=fitted")
    what.add_argument(
        "--rename-tag", type=renaming, metavar="OLD=NEW", help="another key for a tag, with its value: psate=paste"
    )
    what.add_argument("--drop-tag", type=tag_key, metavar="KEY", help="the tag with this key no longer counts")
    what.add_argument("--box", type=Path, metavar="FILE", help="what the box is made of, as for watch and record")
    what.add_argument("--phase", metavar="NAME", help="a phase of this name began --at")
    what.add_argument("--withdraw", type=whole_between(1, 2**31), metavar="N", help="entry N no longer counts")
    when = parser.add_argument_group("what it speaks of").add_mutually_exclusive_group()
    when.add_argument("--in", dest="in_phase", metavar="PHASE", help="the last moment of the phase of this name")
    when.add_argument("--at", metavar="TIME", help="a time of the session: 3:05 after its start")
    parser.add_argument(
        "--instead-of", type=whole_between(1, 2**31), metavar="N", help="corrects entry N, which no longer counts"
    )
    add_choice(parser)


def run(args: argparse.Namespace) -> int:
    """Enter it, or list what was entered."""
    from benchmon.cli.chosen import chosen_session
    from benchmon.session.reader import read_session
    from benchmon.stream.store import find_session

    chosen = chosen_by_facts(args)
    if chosen is not None or len(args.sessions) > 1:
        return _enter_into_many(args, chosen if chosen is not None else [find_session(name) for name in args.sessions])
    path = chosen_session(args.sessions[0] if args.sessions else None)
    if args.rename_tag is not None or args.drop_tag is not None:
        return _enter_into_many(args, [path])
    session = read_session(path)
    if args.box is not None:
        _enter_box(path, session, args.box)
        return int(ExitCode.OK)
    requests = _requests(args, session)
    if not requests:
        _list(session)
        return int(ExitCode.OK)
    for request in requests:
        write_text(f"{_entered(path, session, request)}\n")
    write_text(f"  its sheet:  benchmon sheet {path}\n")
    return int(ExitCode.OK)


def _enter_box(path: Path, session: Session, description: Path) -> None:
    """Each part that the file describes becomes an entry."""
    from benchmon.sensors.box_file import read_box

    for part, text in read_box(description).items():
        request: Request = {"do": "mark", "kind": MarkKind.TAG.value, "text": f"{TAG_PREFIX}{part}={text}"}
        write_text(f"{_entered(path, session, request)}\n")


def _enter_into_many(args: argparse.Namespace, paths: Sequence[Path]) -> int:
    """The same tag or note into each; one that cannot be written costs a sentence, and the others have theirs."""
    from benchmon.session.reader import read_session

    if all(given is None for given in (args.tag, args.note, args.rename_tag, args.drop_tag)):
        raise UsageError("only tags and notes can be entered into many sessions at once", "Name one session.")
    code, changed = ExitCode.OK, 0
    for path in paths:
        name = one_line(bare_name(path.name))
        try:
            session = read_session(path)
            for request in _requests(args, session):
                write_text(f"{name}: {_entered(path, session, request)}\n")
            changed += 1
        except BenchmonError as error:
            say(f"{name}: {error.message}", error.hint)
            code = error.exit_code
    if len(paths) > 1:
        write_text(f"Entered into {changed} of {len(paths)} sessions.\n")
    return int(code)


def _entered(path: Path, session: Session, request: Request) -> str:
    """Have it entered by the recorder if there is one, else into the file; what was done, in a sentence."""
    from benchmon.stream.control import ControlClient
    from benchmon.stream.running import is_being_recorded

    if is_being_recorded(path):
        answer = ControlClient(session.header.session_id).send(request)
        if answer.get("ok") is not True:
            raise UsageError(f"not entered: {answer.get('why', 'no reason given')}")
        return f"Entered as number {answer.get('number')} of the session that is being recorded."
    mark = enter_mark(path, session, request)
    return f"Entered as number {mark.number}: {mark_sentence(mark)}"


def _requests(args: argparse.Namespace, session: Session) -> list[Request]:
    """What the recorder would be asked; empty if nothing is to be entered."""
    if args.rename_tag is not None or args.drop_tag is not None:
        if args.at or args.in_phase or args.instead_of is not None:
            raise UsageError("a tag is of the whole session", "Leave --at, --in and --instead-of out.")
        return tag_requests(session, args.rename_tag, args.drop_tag)
    request = _request(args, session)
    return [] if request is None else [request]


def _request(args: argparse.Namespace, session: Session) -> Request | None:
    """The same for a single entry; None if nothing is to be entered."""
    replaces = args.instead_of
    if args.withdraw is not None:
        return {"do": "mark", "kind": MarkKind.WITHDRAW.value, "replaces": args.withdraw}
    given = [(kind, getattr(args, kind.value)) for kind in ASKS if getattr(args, kind.value) is not None]
    if not given:
        if args.at or args.in_phase or replaces is not None:
            raise UsageError(
                "nothing to enter was given", "Add one of --wall, --room, --score, --note, --tag, --phase."
            )
        return None
    kind, text = given[0]
    try:
        t_s = _time_s(args, session, kind, replaces)
        return mark_request(Prompt(ASKS[kind], text, replaces, t_s))
    except NotUnderstoodError as error:
        raise UsageError(f"not understood: {error}") from None


def _time_s(args: argparse.Namespace, session: Session, kind: MarkKind, replaces: int | None) -> float | None:
    """The time it speaks of [s]; None for the end of the recording."""
    if args.at is not None:
        return session_time(args.at)
    if args.in_phase is not None:
        return _last_moment_s(session, args.in_phase)
    if replaces is not None:
        marks = [record for record in session.records if isinstance(record, Mark) and record.number == replaces]
        return marks[-1].t_s if marks else None
    if kind in _PLACED and (kind is MarkKind.PHASE or len(_phases(session)) > 1):
        names = ", ".join(dict.fromkeys(name for name, _, _ in _phases(session)))
        raise UsageError(
            f"a {kind.value} entry needs the moment it speaks of",
            f"Add --at 3:05, or --in with one of the phases: {names}."
            if kind is not MarkKind.PHASE
            else "Add --at 3:05.",
        )
    return None


def _last_moment_s(session: Session, name: str) -> float:
    """Just before the end of the last phase of that name, where it is most settled [s]."""
    phases = _phases(session)
    found = [(start_s, end_s) for phase, start_s, end_s in phases if phase == name]
    if not found:
        names = ", ".join(dict.fromkeys(phase for phase, _, _ in phases))
        raise UsageError(f"there is no phase called “{name}”", f"The phases are: {names}.")
    start_s, end_s = found[-1]
    return max(start_s, end_s - _BEFORE_THE_END_S)


def _phases(session: Session) -> list[tuple[str, float, float]]:
    """Name, start and end [s] of each phase as the sheet has them."""
    from benchmon.analysis.summary import NO_LOOKS_S, summarise

    recorded_s = length_s(session)
    return [
        (phase.name, phase.start_s, recorded_s if phase.end_s is None else phase.end_s)
        for phase in summarise(session, look_every_s=NO_LOOKS_S).phases
    ]


def _list(session: Session) -> None:
    marks = [record for record in session.records if isinstance(record, Mark)]
    valid = ValidMarks()
    for mark in marks:
        valid.feed(mark)
    holding = valid.all()
    for mark in marks:
        note = "" if mark in holding or mark.kind is MarkKind.WITHDRAW else "  (no longer counts)"
        write_text(f"{mark.number:>3}  {duration(mark.t_s):>7}  {mark_sentence(mark, listed=True)}{note}\n")
    if not marks:
        write_text("Nothing was entered.\n")
