"""What the picture of package and wall power by phase shows."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.model import keys
from benchmon.model.findings import Summary
from benchmon.model.recorded import Recorded
from benchmon.views.figures.run_picture import footing, machine_words
from benchmon.views.sheets.content import title
from benchmon.views.words.events import AT_FIRST, SUSTAINED


@dataclass(frozen=True, slots=True)
class PowerPicture:
    """Rows of phases."""

    title: str
    machine: str
    rows: tuple[tuple[str, float | None, float | None], ...]
    """Name, mean package power [W], power read at the wall [W]."""
    footing: tuple[str, ...]
    why_not: str


def power_picture(session: Recorded, summary: Summary) -> PowerPicture:
    """Gather the picture; phases without any power are left out, throttled ones fall in two."""
    rows: list[tuple[str, float | None, float | None]] = []
    for phase in summary.phases:
        if phase.sustained is not None:
            levels = ((phase.before, AT_FIRST), (phase.sustained, SUSTAINED))
            rows += [(f"{phase.name}, {words}", one.power_w, one.wall_w) for one, words in levels if one is not None]
        else:
            spread = phase.means.get(keys.PACKAGE_POWER)
            rows.append((phase.name, None if spread is None else spread.mean, phase.wall_w))
    rows = [row for row in rows if row[1] is not None or row[2] is not None]
    return PowerPicture(
        title=title(summary, "Power"),
        machine=machine_words(summary),
        rows=tuple(rows),
        footing=footing(session, summary),
        why_not="" if rows else "No phase has a package power or a wall reading, so there is nothing to draw.",
    )
