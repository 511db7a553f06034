"""The description of a box that a person wrote: read from TOML, and kept for the machine that it belongs to.

Nothing in it is ever run. A file is read if it is an ordinary one and small, and no link leads to it.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import hmac
import json
import os
import stat
from collections.abc import Mapping
from pathlib import Path

from benchmon.errors import InputError
from benchmon.model.box_parts import ENTERED, KEPT, MOST_LETTERS, PARTS
from benchmon.plain_text import one_line
from benchmon.sensors.box_parts import told_parts
from benchmon.sensors.file_tree import text_of

MOST_BYTES = 16_384
_MOST_ITEMS = 16
_EXAMPLE = 'Write lines like: cooler = "92 mm tower"; the parts are ' + ", ".join(PARTS) + "."


def read_box(path: Path) -> dict[str, str]:
    """The parts that a file describes.

    Raises:
        InputError: if it cannot be read, or is no such description.
    """
    import tomllib  # noqa: PLC0415  (most recordings are begun without a description)

    try:
        text = _small_file(path).decode("utf-8")
        found = tomllib.loads(text)
    except OSError as error:
        why = "it is a link" if error.errno == errno.ELOOP else error.strerror or str(error)
        raise InputError(f"the box description {path} cannot be read: {why}") from None
    except UnicodeDecodeError:
        raise InputError(f"the box description {path} is no text in UTF-8", _EXAMPLE) from None
    except (ValueError, RecursionError) as error:  # a number of thousands of digits is no fault of the grammar
        raise InputError(f"the box description {path} is no TOML: {error}", _EXAMPLE) from None
    return {part: _description(path, part, value) for part, value in found.items()}


def _description(path: Path, part: str, value: object) -> str:
    if part not in PARTS:
        raise InputError(f"the box description {path} has {part[:40]!r}, which is no part", _EXAMPLE)
    given = value if isinstance(value, list) else [value]
    items = [item for item in given if isinstance(item, str) and item.strip()]
    if not items or len(items) < len(given) or len(given) > _MOST_ITEMS:
        raise InputError(f"the box description {path} must have words for {part}, or a list of words", _EXAMPLE)
    text = one_line("; ".join(items), 4 * MOST_LETTERS)
    if len(text) > MOST_LETTERS:
        raise InputError(f"the box description {path} has more than {MOST_LETTERS} letters for {part}", "Shorten it.")
    return text


def _small_file(path: Path) -> bytes:
    descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        found = os.fstat(descriptor)
        if not stat.S_ISREG(found.st_mode):
            raise OSError(errno.EINVAL, "it is no ordinary file")
        if found.st_size > MOST_BYTES:
            raise OSError(errno.EFBIG, f"it is larger than {MOST_BYTES >> 10} KiB")
        return os.read(descriptor, MOST_BYTES + 1)
    finally:
        os.close(descriptor)


class KeptBox:
    """The description that is kept for one machine.

    Its name is made from the machine's own number, which stays here: a keyed hash, as machine-id(5) asks for. Board and
    product are in it, so that a drive that moves to another box does not bring the old one's description.

    Args:
        folder: where descriptions are kept; made if need be.
        root: folder in which ``etc/`` and ``sys/`` lie.
    """

    def __init__(self, folder: Path, root: Path = Path("/")) -> None:
        number = (text_of(root / "etc/machine-id") or "").strip()
        board = [text_of(root / "sys/class/dmi/id" / name) or "" for name in ("board_name", "product_name")]
        digest = hmac.new(number.encode(), "\0".join(["benchmon box", *board]).encode(), hashlib.sha256).hexdigest()
        self._folder = folder
        self.path = folder / f"{digest[:24]}.toml" if number else None
        """Its file; None where the machine has no number of its own."""

    def read(self) -> dict[str, str]:
        """The parts; none if nothing is kept.

        Raises:
            InputError: if the file is not one that can be used.
        """
        if self.path is None or not os.path.lexists(self.path) or not self._is_private():
            return {}
        return read_box(self.path)

    def keep(self, parts: Mapping[str, str]) -> None:
        """Keep these parts, beside those that are kept already.

        Raises:
            OSError: if it cannot be written.
            InputError: if the file that is there cannot be used.
        """
        if self.path is None:
            raise OSError(errno.ENOENT, "this machine has no /etc/machine-id")
        self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not self._is_private():
            raise OSError(errno.EPERM, f"{self._folder} is not a folder of yours alone")
        lines = [
            f"{part} = {json.dumps(text, ensure_ascii=False)}\n" for part, text in {**self.read(), **parts}.items()
        ]
        made = self._folder / f".{os.urandom(8).hex()}"
        descriptor = os.open(made, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)
        try:
            with os.fdopen(descriptor, "w", encoding="utf-8") as file:
                file.write("".join(lines))
            os.replace(made, self.path)  # noqa: PTH105  # never through a link: the name itself is replaced
        except OSError:
            with contextlib.suppress(OSError):
                made.unlink()
            raise

    def _is_private(self) -> bool:
        """Whether the folder is one of this user's that nobody else can write to, and no link."""
        try:
            found = self._folder.lstat()
        except OSError:
            return False
        return stat.S_ISDIR(found.st_mode) and found.st_uid == os.geteuid() and not found.st_mode & 0o022


def parts_of_box(root: Path, folder: Path | None, entered: Mapping[str, str]) -> tuple[dict[str, tuple[str, str]], str]:
    """Everything known of the box: entered now, else kept for this machine, else told by the system.

    Args:
        root: folder in which ``etc/`` and ``sys/`` lie.
        folder: where descriptions are kept; None = nowhere.
        entered: what a person wrote for this recording; it is kept.

    Returns:
        Name of a part → description and source; and what went wrong in keeping it, empty if nothing did.
    """
    parts, problem = told_parts(root), ""
    kept: dict[str, str] = {}
    if folder is not None:
        store = KeptBox(folder, root)
        try:
            kept = store.read()
            if entered:
                store.keep(entered)
        except OSError as error:
            problem = f"the box description is not kept: {error.strerror or error}"
        except InputError as error:
            problem = error.message
    parts.update({part: (text, KEPT) for part, text in kept.items()})
    parts.update({part: (text, ENTERED) for part, text in entered.items() if part in PARTS})
    return parts, problem
