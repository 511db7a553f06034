"""The plans that ship, and how a plan is found by name or file."""

from __future__ import annotations

from pathlib import Path

from benchmon.errors import UsageError
from benchmon.model.plan import Plan
from benchmon.plans.reading import SUFFIX, read_plan

_FOLDER = Path(__file__).parent / "shipped"


def shipped_names() -> tuple[str, ...]:
    """Names of the plans that ship."""
    return tuple(sorted(path.name.removesuffix(SUFFIX) for path in _FOLDER.glob(f"*{SUFFIX}")))


def shipped_plan(name: str, cores: int | None = None) -> Plan:
    """A plan that ships, by its name."""
    return read_plan(_FOLDER / f"{name}{SUFFIX}", cores)


def find_plan(text: str, cores: int | None = None) -> Plan:
    """The plan that a text means: the name of one that ships, or a file.

    Args:
        text: what was typed. With a slash or the suffix it is a file.
        cores: of this machine, for stairs.

    Raises:
        UsageError: if there is none, or it has a mistake.
    """
    if text in shipped_names():
        return shipped_plan(text, cores)
    path = Path(text)
    if "/" in text or text.endswith(SUFFIX):
        return read_plan(path, cores)
    raise UsageError(
        f"there is no plan called {text[:60]!r}",
        f"Those that ship: {', '.join(shipped_names())}. A file of yours ends with {SUFFIX}.",
    )
