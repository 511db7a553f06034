"""benchmon in a process of its own, forked from one that has loaded it: a tenth of the time that a fresh start takes.

Streams, environment, present folder, exit code and what it starts itself are as in a fresh process; only the start of the
interpreter and its imports are left out. Tests of those start ``python -m benchmon``.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import os
import pkgutil
import signal
import sys
import time
import traceback
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import NoReturn

import benchmon
from benchmon.cli import main as cli

CAUGHT_NOWHERE = 99
"""Exit code where the program let an exception out, or ended with something that is no code."""


def fork_program(
    words: Sequence[str],
    folder: Path,
    output: tuple[int, int],
    environment: Mapping[str, str] | None = None,
    first: Callable[[], None] = lambda: None,
) -> int:
    """Start it in the folder, in a session of its own, with nothing to read; ``output``: where its two outputs go.

    ``first`` is called in the new process before anything else. Returns the process's number.
    """
    _load_all_of_it()
    sys.stdout.flush()
    sys.stderr.flush()
    pid = os.fork()
    if pid == 0:
        _become(words, folder, output, environment, first)
    return pid


@cache
def _load_all_of_it() -> None:
    for module in pkgutil.walk_packages(benchmon.__path__, "benchmon."):
        importlib.import_module(module.name)


def code_of(pid: int, longest_s: float) -> int | None:
    """Exit code once it has ended, minus the signal if one ended it; None if it hung and was killed."""
    ends_s = time.monotonic() + longest_s
    while (done := os.waitpid(pid, os.WNOHANG))[0] == 0:
        if time.monotonic() > ends_s:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(pid, signal.SIGKILL)
            os.waitpid(pid, 0)
            return None
        time.sleep(0.005)
    return os.waitstatus_to_exitcode(done[1])


def _become(
    words: Sequence[str],
    folder: Path,
    output: tuple[int, int],
    environment: Mapping[str, str] | None,
    first: Callable[[], None],
) -> NoReturn:
    code = CAUGHT_NOWHERE
    try:
        gc.freeze()  # what the parent holds is not gone through again
        os.setsid()
        signal.signal(signal.SIGINT, signal.default_int_handler)
        first()
        os.chdir(folder)
        if environment is not None:
            os.environ.clear()
            os.environ.update(environment)
        for descriptor, target in ((os.open(os.devnull, os.O_RDONLY), 0), (output[0], 1), (output[1], 2)):
            os.dup2(descriptor, target)
        sys.stdin, sys.stdout, sys.stderr = open(0), open(1, "w"), open(2, "w")  # noqa: SIM115
        code = cli.main(words)
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else CAUGHT_NOWHERE
    except BaseException:  # whatever it is, it is what is looked for
        traceback.print_exc()
    finally:
        with contextlib.suppress(Exception):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)
