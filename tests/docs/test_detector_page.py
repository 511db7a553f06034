"""``docs/detector.md`` shows the table of evidence as it is; what it names exists."""

import re
from pathlib import Path

from benchmon.analysis.throttle.detector import VERSION
from tests.support.weights_page import PAGE, ROW, expected

TEXT = PAGE.read_text(encoding="utf-8")
PACKAGE = Path(__file__).resolve().parents[2] / "benchmon" / "analysis" / "throttle"


def test_each_kind_of_evidence_stands_there_with_its_reason_and_weights():
    shown = {found[1]: found.groups()[2:] for found in ROW.finditer(TEXT)}
    assert shown == expected(), "write them anew: python -m tests.support.weights_page"
    assert all(len(found[2]) > 15 for found in ROW.finditer(TEXT))


def test_the_page_speaks_of_this_version_and_of_these_modules():
    assert f"version {VERSION}" in TEXT
    section = TEXT.split("\n## The parts")[1].split("\n## ")[0]
    named = set(re.findall(r"^\| `(\w+)` \|", section, re.MULTILINE))
    assert named == {path.stem for path in PACKAGE.glob("*.py")} - {"__init__"}
