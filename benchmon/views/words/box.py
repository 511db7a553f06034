"""What the box is made of, in sentences, and what is asked for where it is not known."""

from __future__ import annotations

from benchmon.model.box_parts import ENTERED, KEPT, PARTS
from benchmon.model.findings import Summary


def box_sentences(summary: Summary) -> tuple[str, ...]:
    """``Cooler: 92 mm tower (entered).``; what the system told has no such ending."""
    entered = {ENTERED: " (entered)", KEPT: " (entered once)"}
    return tuple(
        f"{_begin(PARTS[part])}: {one.text}{entered.get(one.source, '')}." for part, one in summary.box.items()
    )


def missing_parts(summary: Summary) -> tuple[str, ...]:
    """What is not known of the box, and how to enter it; nothing for a machine that does not exist."""
    missing = [part for part in PARTS if part not in summary.box]
    if not missing or summary.header.virtual:
        return ()
    names = ", ".join(PARTS[part] for part in missing)
    lines = " and ".join(f'{part} = "…"' for part in missing[:2])
    ask = (
        f"Not known of this box: {names}. Write it once into a file, lines like {lines}, and give it with --box FILE:"
        " to watch or record, which keep it for this machine, or to benchmon add for this session."
    )
    return (ask,)


def _begin(text: str) -> str:
    return text[:1].upper() + text[1:]
