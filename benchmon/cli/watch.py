"""``benchmon watch``: record this machine and show it."""

from __future__ import annotations

import argparse

from benchmon.cli.cautions import caution_once
from benchmon.cli.recording_options import EXAMPLES, add_recording_arguments, recorder_arguments
from benchmon.cli.screen import add_screen_arguments, check_screen, show_live

DESCRIPTION = f"""\
Record this machine and show it live. The recording is a process of its own: it goes on if the screen
or the line is lost, and `benchmon join` opens a screen on it again.

  benchmon watch --room 19                          no load: start it elsewhere, mark phases with keys
  benchmon watch --load all --for 10m --room 19     the built-in work on all cores
  benchmon watch --steps idle:10m,one:10m,all:15m,idle:12m --tag duct=fitted
  benchmon watch -- ./my-own-benchmark --threads 4  your own load
{EXAMPLES}"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.set_defaults(takes_command=True)
    add_recording_arguments(parser)
    add_screen_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Start the recorder, follow its file."""
    check_screen(args)
    from benchmon.stream.live import start_recorder
    from benchmon.stream.privilege import drop_to_caller

    caution_once(args, before_screen=True)
    recorder = start_recorder(recorder_arguments(args))  # as root where we are: it opens the sensors, then drops it too
    drop_to_caller()
    return show_live(args, recorder.path)
