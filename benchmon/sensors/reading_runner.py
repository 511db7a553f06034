"""Runs one command again and again and prints what it said: ``value NUMBER`` or ``none WHY``, a line each time.

A program of its own (``PERIOD_S LONGEST_S BRAND HOLDS COMMAND ...``; standard library only, run by its path). Its
standard input is a pipe from the recorder: when that closes, because the recorder has ended or was killed, it ends the
command and all that came from it (it is a subreaper, so nothing can slip away), and itself. If both are killed at once,
the last watcher knows the command by its brand (``loads/last_watch.py``).
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import resource
import select
import signal
import subprocess
import sys
import time

_MOST_BYTES = 4096
_PR_SET_PDEATHSIG, _PR_SET_CHILD_SUBREAPER = 1, 36
_LOOK_AGAIN_S = 0.02
_libc = ctypes.CDLL(None)


def main(arguments: list[str]) -> None:
    """Run until standard input is closed."""
    period_s, longest_s, argv = float(arguments[0]), float(arguments[1]), arguments[4:]
    _wear(int(arguments[2]), int(arguments[3]))
    _libc.prctl(_PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0)
    for number in (signal.SIGINT, signal.SIGTSTP, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)
    due_s = time.monotonic()
    while True:
        said = _answer_of(argv, longest_s)
        end_all()
        if said is None or not _say(said):
            return
        due_s = max(due_s + period_s, time.monotonic())
        if _waits(due_s - time.monotonic(), ()) is None:
            return


def _wear(brand: int, holds: int) -> None:
    if brand:
        os.set_inheritable(holds, False)
        resource.setrlimit(resource.RLIMIT_RSS, (brand, resource.getrlimit(resource.RLIMIT_RSS)[1]))


def _answer_of(argv: list[str], longest_s: float) -> str | None:
    """One run of the command; None if the recorder is gone."""
    try:
        run = subprocess.Popen(
            argv,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            process_group=0,
            preexec_fn=lambda: _libc.prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0),  # noqa: PLW1509  # one thread
        )
    except OSError as error:
        return f"none {argv[0]}: {error.strerror or error}"
    output, ends_s = b"", time.monotonic() + longest_s
    while run.stdout is not None and (left_s := ends_s - time.monotonic()) > 0:
        ready = _waits(min(left_s, 0.25), (run.stdout.fileno(),))
        if ready is None:
            return None
        piece = os.read(run.stdout.fileno(), _MOST_BYTES) if ready else b""
        output = (output + piece)[:_MOST_BYTES]
        if (ready and not piece) or (not ready and run.poll() is not None):
            break
    status = _status_of(run, ends_s)
    if status is None:
        return f"none {argv[0]} took longer than {longest_s:g} s"
    words = output.decode("utf-8", "replace").split()
    if status != 0:
        return f"none {argv[0]} ended with status {status}"
    return f"value {words[0]}" if words and _is_number(words[0]) else f"none {argv[0]} printed no number"


def _status_of(run: subprocess.Popen[bytes], ends_s: float) -> int | None:
    try:
        return run.wait(max(ends_s - time.monotonic(), 0.01))
    except subprocess.TimeoutExpired:
        return None


def _is_number(word: str) -> bool:
    with contextlib.suppress(ValueError):
        float(word)
        return len(word) <= 40
    return False


def _waits(longest_s: float, others: tuple[int, ...]) -> list[int] | None:
    """Wait for one of the others to be readable; None if the recorder has closed our input."""
    ready, _, _ = select.select((0, *others), (), (), max(longest_s, 0.0))
    if 0 in ready and not os.read(0, 64):
        return None
    return [one for one in ready if one != 0]


def _say(text: str) -> bool:
    try:
        os.write(1, " ".join(text.split()).encode("utf-8", "replace")[:500] + b"\n")
    except OSError:
        return False
    return True


def end_all() -> None:
    """Kill whatever came from the command and is still there."""
    gives_up_s = time.monotonic() + 2.0
    while (left := _descendants()) and time.monotonic() < gives_up_s:
        for pid in left:
            with contextlib.suppress(OSError):
                os.kill(pid, signal.SIGKILL)
        time.sleep(_LOOK_AGAIN_S)
        with contextlib.suppress(ChildProcessError):
            while os.waitpid(-1, os.WNOHANG)[0]:
                pass


def _descendants() -> list[int]:
    parents = {}
    for name in filter(str.isdigit, os.listdir("/proc")):  # noqa: PTH208  # names only
        with contextlib.suppress(OSError, ValueError), open(f"/proc/{name}/stat", "rb") as file:  # noqa: PTH123
            state, parent = file.read().rpartition(b")")[2].split()[:2]
            if state not in (b"Z", b"X"):
                parents[int(name)] = int(parent)
    found = [os.getpid()]
    for pid in found:
        found += [child for child, parent in parents.items() if parent == pid]
    return found[1:]


if __name__ == "__main__":
    try:
        main(sys.argv[1:])
    finally:
        end_all()
