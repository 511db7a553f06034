"""Links from one page to another lead somewhere."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGES = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    *sorted((ROOT / "docs").rglob("*.md")),
    *sorted((ROOT / "recordings").glob("*.md")),
]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_links_lead_somewhere(page):
    links = re.findall(r"\]\((?!https?://|mailto:|#)([^)#\s]+)", page.read_text())
    missing = [link for link in links if not (page.parent / link).exists()]
    assert missing == []
