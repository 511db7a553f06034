"""``docs/nomenclature.md`` and the public names of the vocabulary are the same list, units included."""

import enum
import importlib
import inspect
import re
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest

from benchmon.model import keys

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "nomenclature.md").read_text()
MODULES = ("units", "channel", "records", "events", "findings", "plan_findings", "comparison", "running")

ENDINGS = {
    "k_per_w": "K/W",
    "per_s": "1/s",
    "pct": "%",
    "mhz": "MHz",
    "rpm": "rpm",
    "gib": "GiB",
    "c": "°C",
    "k": "K",
    "w": "W",
    "s": "s",
    "j": "J",
}


def public_classes() -> dict[str, type]:
    found = {}
    for name in MODULES:
        module = importlib.import_module(f"benchmon.model.{name}")
        found |= {
            n: c
            for n, c in vars(module).items()
            if inspect.isclass(c) and c.__module__ == module.__name__ and n[0] != "_"
        }
    return found


def public_names(cls: type) -> set[str]:
    properties = {name for name, value in vars(cls).items() if isinstance(value, property) and name[0] != "_"}
    if issubclass(cls, enum.Enum):
        return properties | set(cls.__members__)
    assert is_dataclass(cls)
    return properties | {field.name for field in fields(cls)}


def rows(section: str) -> dict[str, tuple[str, str]]:
    """First column → the two others, from the section's table."""
    found = re.findall(r"^\| `([^`]+)` \| (.+?) \| (.+?) \|$", section, re.MULTILINE)
    return {name: (second, meaning) for name, second, meaning in found}


def sections() -> dict[str, str]:
    parts = re.split(r"^### (\w+)\n", PAGE, flags=re.MULTILINE)
    return {name: text.split("\n## ")[0] for name, text in zip(parts[1::2], parts[2::2], strict=True)}


def test_each_public_class_has_its_section():
    assert set(sections()) == set(public_classes())


@pytest.mark.parametrize("name", sorted(public_classes()))
def test_documented_names_are_the_public_names(name):
    assert set(rows(sections()[name])) == public_names(public_classes()[name])


@pytest.mark.parametrize("name", sorted(public_classes()))
def test_documented_units_are_those_of_the_names(name):
    cls = public_classes()[name]
    for field, (second, _) in rows(sections()[name]).items():
        if issubclass(cls, enum.Enum):
            member = cls.__members__.get(field)
            assert second == ("–" if member is None else f"`{member.value}`"), field
        elif not field.endswith("_count"):
            ending = next((ending for ending in ENDINGS if field.endswith("_" + ending)), None)
            assert second == (ENDINGS[ending] if ending else "–"), field


def test_documented_keys_are_the_canonical_keys():
    section = PAGE.split("\n## Canonical keys")[1].split("\n## ")[0]
    documented = dict(re.findall(r"^\| `([A-Z_]+)` \| `(\w+)` \|", section, re.MULTILINE))
    assert documented == {name: value for name, value in vars(keys).items() if name.isupper()}
    functions = re.findall(r"^\| `(\w+)\(cpu\)` \| `(\w+)` \|", section, re.MULTILINE)
    assert {name: getattr(keys, name)(7) for name, _ in functions} == {
        name: key.replace("N", "7") for name, key in functions
    }
