"""Text to standard output, whatever its encoding can show."""

from __future__ import annotations

import contextlib
import errno
import io
import os
import shutil
import sys
from pathlib import Path

from benchmon.errors import OutputError
from benchmon.plain_text import one_line
from benchmon.views.doors import terminal
from benchmon.views.numbers import plain_ascii


def never_fail_on_a_letter() -> None:
    """From now on a sign that an output cannot show (in a file's name, say) becomes ``?`` instead of an error."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def finish_output() -> None:
    """Have everything that was printed leave the program while an error can still be told.

    Raises:
        OutputError: if it cannot be written, to a full disk for example.
        BrokenPipeError: if its reader is gone.
    """
    write_text("")


def drop_output() -> None:
    """What is still to be printed goes nowhere, so that the interpreter does not try once more at its end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def shows_utf8() -> bool:
    """Whether standard output can show °, ± and →."""
    try:
        "°±→–".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def write_text(text: str) -> None:
    """Print; in plain ASCII where the output can show no more.

    Raises:
        OutputError: if it cannot be written, to a full disk for example.
        BrokenPipeError: if its reader is gone.
    """
    text = terminal(text)
    try:
        sys.stdout.write(text if shows_utf8() else plain_ascii(text))
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        drop_output()
        raise cannot_write(error) from None


def cannot_write(error: OSError) -> OutputError:
    """The error for an output that takes no more."""
    why = "the disk is full" if error.errno == errno.ENOSPC else error.strerror
    return OutputError(f"The output cannot be written: {why}.")


def say(message: str, hint: str = "") -> None:
    """A sentence on standard error, and what to do about it; no matter if nobody can hear it."""
    text = f"benchmon: {one_line(message)}\n" + (f"  {terminal(hint)}\n" if hint else "")
    encoding = sys.stderr.encoding or "ascii"
    with contextlib.suppress(OSError):
        sys.stderr.write(text.encode(encoding, "replace").decode(encoding))
        sys.stderr.flush()


def terminal_width() -> int | None:
    """Columns of the terminal that standard output is; None if it is none."""
    return shutil.get_terminal_size().columns if sys.stdout.isatty() else None


def errors_are_seen() -> bool:
    """Whether standard error is a terminal."""
    return sys.stderr.isatty()


def show_beside(text: str) -> None:
    """Something passing on standard error, ASCII of our own; no matter if nobody can see it."""
    with contextlib.suppress(OSError):
        sys.stderr.write(text)
        sys.stderr.flush()


def have_streams() -> None:
    """See to it that 0, 1 and 2 are open: a session file that got one of these numbers would be written into."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # the lowest free number, which is this one
    for name in ("stdin", "stdout", "stderr"):
        if getattr(sys, name) is None:
            mode = "r" if name == "stdin" else "w"
            setattr(sys, name, Path(os.devnull).open(mode, encoding="utf-8"))  # noqa: SIM115  # as long as the process
