"""A plan from a TOML file, with line and reason of every mistake."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

from benchmon.errors import UsageError
from benchmon.model.plan import Plan
from benchmon.plans.faults import PlanFault, PlanFaultsError
from benchmon.plans.fields import from_fields

SUFFIX = ".toml"
MOST_BYTES = 256 * 1024
"""A written procedure is a page; what is larger is something else."""
_PHASE_LINE = re.compile(r"\s*\[\[\s*phase\s*\]\]")
_LINE_IN_MESSAGE = re.compile(r" ?\(at line (\d+), column \d+\)$")
_HINT = "What may stand in a plan: docs/plans.md. All mistakes at once: benchmon plans check FILE"


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake in a file."""

    line: int | None
    """Counted from 1; None = the file as a whole."""
    reason: str


def read_plan(path: Path, cores: int | None = None) -> Plan:
    """The plan in a file; its name is the file's, without the suffix.

    Args:
        path: the file.
        cores: of this machine, for stairs; None leaves a stair one phase.

    Raises:
        UsageError: naming line and reason of the first mistake.
    """
    plan, mistakes = look_at(path, cores)
    if plan is None:
        first = mistakes[0]
        where = "" if first.line is None else f", line {first.line}"
        more = f" (and {len(mistakes) - 1} more)" if len(mistakes) > 1 else ""
        raise UsageError(f"the plan {path}{where}: {first.reason}{more}", _HINT)
    return plan


def look_at(path: Path, cores: int | None = None) -> tuple[Plan | None, list[Mistake]]:
    """The plan in a file, or its mistakes in the order of their lines."""
    try:
        text = _text(path)
        return from_fields(tomllib.loads(text), path.name.removesuffix(SUFFIX), cores), []
    except _FileError as error:
        return None, [Mistake(None, str(error))]
    except tomllib.TOMLDecodeError as error:
        return None, [_no_toml(str(error), text)]
    except RecursionError:
        return None, [Mistake(None, "it is nested too deeply")]
    except PlanFaultsError as error:
        lines = text.splitlines()
        mistakes = [Mistake(_line(lines, fault), _words(fault)) for fault in error.faults]
        return None, sorted(mistakes, key=lambda mistake: mistake.line or 0)
    except ValueError:  # not of the grammar: Python turns no number of thousands of digits into one
        return None, [Mistake(None, "it holds a number that is too long")]


class _FileError(Exception):
    """The file cannot be read as text."""


def _text(path: Path) -> str:
    try:
        if not path.is_file():
            raise _FileError("there is no such file")
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise _FileError(f"it cannot be read: {getattr(error, 'strerror', None) or error}") from None
    if len(data) > MOST_BYTES:
        raise _FileError(f"it is larger than {MOST_BYTES // 1024} KiB")
    try:
        return data.decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise _FileError(f"line {line} is no UTF-8 text") from None


def _no_toml(message: str, text: str) -> Mistake:
    found = _LINE_IN_MESSAGE.search(message)
    line = int(found[1]) if found else len(text.splitlines()) or 1
    reason = _LINE_IN_MESSAGE.sub("", message).removesuffix(" (at end of document)")
    return Mistake(line, f"this is no TOML: {reason[:1].lower()}{reason[1:]}")


def _words(fault: PlanFault) -> str:
    return f"{fault.key}: {fault.reason}" if fault.key else fault.reason


def _line(lines: list[str], fault: PlanFault) -> int | None:
    """The line of a key within its phase; else that of the phase."""
    heads = [at for at, line in enumerate(lines, 1) if _PHASE_LINE.match(line)]
    if fault.phase is None:
        first, last = 1, heads[0] if heads else len(lines) + 1
    elif fault.phase <= len(heads):
        first, last = heads[fault.phase - 1], [*heads, len(lines) + 1][fault.phase]
    else:
        return None  # phases written in another way, as an array of tables in one line
    key = re.compile(rf"\s*[\"']?{re.escape(fault.key)}[\"']?\s*=")
    for at in range(first, last):
        if fault.key and key.match(lines[at - 1]):
            return at
    return first if fault.phase is not None else None
