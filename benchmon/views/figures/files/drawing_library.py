"""Loads matplotlib so that nothing but benchmon decides what it draws.

matplotlib looks for a file ``matplotlibrc`` in the present folder first, and would run LaTeX on strangers' words if
that says so. So it is loaded from elsewhere, and its own settings are put back for the time of drawing.
"""

from __future__ import annotations

import contextlib
import logging
import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchmon.errors import UsageError

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def load() -> type[Figure]:
    """What pictures are drawn with.

    Raises:
        UsageError: if it is not installed.
    """
    try:
        logging.getLogger("matplotlib").setLevel(logging.CRITICAL)  # what it has to say of caches helps nobody here
        with _elsewhere():
            from matplotlib.figure import Figure  # noqa: PLC0415  # an extra, and slow to load
    except ImportError:
        raise UsageError(
            "pictures as files need matplotlib, which is not installed",
            "Install it with: pip install 'benchmon[figures]'; or draw here with: benchmon figure --terminal",
        ) from None
    return Figure


@contextlib.contextmanager
def settings(own: dict[Any, Any]) -> Iterator[None]:
    """For a while nothing is set but the library's own settings, and these over them."""
    from matplotlib import rc_context, rcdefaults, rcParams  # noqa: PLC0415

    with rc_context():
        rcdefaults()
        rcParams.update(own)
        yield


@contextlib.contextmanager
def _elsewhere() -> Iterator[None]:
    """For a while the present folder is one in which nothing lies but this package."""
    try:
        here = os.open(".", os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    except OSError:  # a folder that is gone, or may not be read, gives nothing to load either
        yield
        return
    try:
        os.chdir(Path(__file__).parent)
        yield
    finally:
        os.fchdir(here)
        os.close(here)
