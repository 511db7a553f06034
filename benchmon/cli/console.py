"""Text to standard output, whatever its encoding can show."""

from __future__ import annotations

import errno
import io
import os
import sys

from benchmon.errors import OutputError
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
    try:
        sys.stdout.write(text if shows_utf8() else plain_ascii(text))
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        drop_output()
        why = "the disk is full" if error.errno == errno.ENOSPC else error.strerror
        raise OutputError(f"The output cannot be written: {why}.") from None
