"""``benchmon channels``: what can be read here."""

from __future__ import annotations

import argparse
from pathlib import Path

from benchmon.cli.console import write_text
from benchmon.cli.values import duration_between, number_between, whole_between
from benchmon.errors import ExitCode, UsageError
from benchmon.loads.guard import MOST_BELIEVED_C

DESCRIPTION = """\
Show what can be read on this machine: from which file, in which unit, how fine, how fresh, at what
cost; what cannot be read, why, and what would open it. Nothing is changed on the machine.

  benchmon channels            what can be read
  benchmon channels --loads    how hot each kind of built-in work is here: four minutes under load

With --loads metal gets hot: stay with the machine, keep covers of supplies closed. docs/safety.md has more.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("--json", action="store_true", help="for programs")
    parser.add_argument(
        "--try-for",
        type=duration_between(0.1, 60.0),
        default=1.5,
        metavar="TIME",
        help="how long to watch the values for changes (default 1.5s)",
    )
    parser.add_argument(
        "--loads",
        action="store_true",
        help="load all cores for half a minute with each kind of built-in work, and say what it draws",
    )
    parser.add_argument(
        "--ready",
        action="store_true",
        help="say what would be in the way of a good recording: other programs, settings, battery, warmth, a guest",
    )
    parser.add_argument(
        "--stop-at",
        type=number_between(30, MOST_BELIEVED_C, "C"),
        metavar="C",
        help="with --loads: stop the load above this temperature [°C]",
    )
    parser.add_argument("--virtual", type=whole_between(0, 2**31), metavar="SEED", help=argparse.SUPPRESS)
    parser.add_argument("--speed", type=number_between(0.01, 1e6, "x"), default=1.0, help=argparse.SUPPRESS)
    parser.add_argument("--root", type=Path, default=Path("/"), help=argparse.SUPPRESS)


def run(args: argparse.Namespace) -> int:
    """Find the sensors, try them out, say what was found; or run the kinds of work."""
    if args.ready:
        from benchmon.cli.ready import run_ready

        return run_ready(args)
    if args.loads:
        from benchmon.cli.kind_heat import run_kind_heats

        return run_kind_heats(args)
    if args.stop_at is not None or args.virtual is not None:
        raise UsageError("a temperature to stop at belongs to a load", "Add --loads, or leave it out.")
    from benchmon.model.survey import Survey
    from benchmon.sampler.clock import SystemClock
    from benchmon.sampler.survey import survey_channels
    from benchmon.sensors.discovery import discover
    from benchmon.sensors.settings import SettingsReader
    from benchmon.views import channel_list

    found = discover(args.root)
    rows, round_cost_us = survey_channels(found.sensors, SystemClock(), args.try_for)
    settings = {
        setting.key: (_words(setting.value, setting.unit.symbol if setting.unit else ""), setting.source)
        for setting in SettingsReader(args.root).read()
    }
    survey = Survey(
        channels=rows,
        closed=found.refusals,
        settings=settings,
        chosen_temp=found.chosen_temp,
        round_cost_us=round_cost_us,
        tried_s=args.try_for,
    )
    for sensor in found.sensors:
        sensor.close()
    write_text(channel_list.as_json(survey) if args.json else channel_list.as_text(survey))
    return int(ExitCode.OK)


def _words(value: float | str | None, symbol: str) -> str:
    if value is None:
        return "not read"
    return value if isinstance(value, str) else f"{value:g} {symbol}".rstrip()
