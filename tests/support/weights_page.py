"""Writes the weights of the table of evidence into ``docs/detector.md``; a test holds the page against the table.

python -m tests.support.weights_page
"""

from __future__ import annotations

import re
from pathlib import Path

from benchmon.analysis.throttle.evidence import START, TABLE, Weights
from benchmon.model.events import EvidenceKind

PAGE = Path(__file__).resolve().parents[2] / "docs" / "detector.md"
ROW = re.compile(r"^\| `(\w+)` \| (.+?) \| (\S+) \| (\S+) \| (\S+) \|$", re.MULTILINE)
"""Kind, reason, weights for heat, a power limit, outside."""


def cells(weights: Weights) -> tuple[str, str, str]:
    """As they stand on the page; a weight of 0 is a dash."""
    heat, power, outside = (f"{weight:+.2f}".replace("-", "−") if weight else "–" for weight in weights)
    return heat, power, outside


def expected() -> dict[str, tuple[str, str, str]]:
    """Name of a row → its weights."""
    return {"start": cells(START)} | {kind.value: cells(weights) for kind, weights in TABLE.items()}


def written_anew(page: str) -> str:
    """The page with the weights of now; rows that are missing or too many are left to the writer."""
    now = expected()

    def row(found: re.Match[str]) -> str:
        name, reason = found[1], found[2]
        return f"| `{name}` | {reason} | {' | '.join(now[name])} |" if name in now else found[0]

    return ROW.sub(row, page)


def main() -> None:
    PAGE.write_text(written_anew(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    missing = set(expected()) - {found[1] for found in ROW.finditer(PAGE.read_text(encoding="utf-8"))}
    print(f"{len(list(EvidenceKind)) - len(missing)} rows; without a row: {', '.join(sorted(missing)) or 'none'}")


if __name__ == "__main__":
    main()
