"""``docs/exit-codes.md`` and the enum are the same list."""

import re
from pathlib import Path

from benchmon.errors import ExitCode

DOCS = Path(__file__).resolve().parents[2] / "docs"
ROW = re.compile(r"^\| *(\d+) *\| *`([A-Z_]+)` *\| *(.+?) *\|$", re.MULTILINE)


def test_documented_exit_codes_are_the_enum():
    documented = {name: int(number) for number, name, _ in ROW.findall((DOCS / "exit-codes.md").read_text())}
    assert documented == {code.name: code.value for code in ExitCode}


def test_each_exit_code_has_its_own_meaning():
    meanings = [meaning for _, _, meaning in ROW.findall((DOCS / "exit-codes.md").read_text())]
    assert len(set(meanings)) == len(meanings)
