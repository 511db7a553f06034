"""Checked access to the fields of one decoded line: what is missing or of the wrong kind is said in words."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from math import isfinite
from typing import Any, TypeVar

Fields = Mapping[str, Any]
Choice = TypeVar("Choice", bound=Enum)


class LineError(ValueError):
    """One line of a session file makes no sense; the message says why. Never leaves this package."""


def text(fields: Fields, name: str, default: str | None = None) -> str:
    """The text in a field; ``default`` where the field is absent.

    Raises:
        LineError: if it is absent and has no default, or is no text.
    """
    value = fields.get(name, default)
    if not isinstance(value, str):
        raise LineError(f"“{name}” is missing or not a text")
    return value


def number(fields: Fields, name: str, default: float | None = None) -> float:
    """The finite number in a field; ``default`` where the field is absent.

    Raises:
        LineError: if it is absent and has no default, or is no finite number.
    """
    return checked_number(fields.get(name, default), name)


def number_or_none(fields: Fields, name: str) -> float | None:
    """The finite number in a field; None where it is absent or null.

    Raises:
        LineError: if it is anything else.
    """
    value = fields.get(name)
    return None if value is None else checked_number(value, name)


def checked_number(value: Any, name: str) -> float:
    """The value as a float.

    Raises:
        LineError: if it is no finite number.
    """
    if type(value) not in (int, float) or not isfinite(value):
        raise LineError(f"“{name}” is missing or not a number")
    return float(value)


def whole(fields: Fields, name: str) -> int:
    """The whole number in a field.

    Raises:
        LineError: if it is absent or no whole number.
    """
    value = whole_or_none(fields, name)
    if value is None:
        raise LineError(f"“{name}” is missing")
    return value


def whole_or_none(fields: Fields, name: str) -> int | None:
    """The whole number in a field; None where it is absent or null.

    Raises:
        LineError: if it is anything else.
    """
    value = fields.get(name)
    if value is not None and type(value) is not int:
        raise LineError(f"“{name}” is not a whole number")
    return value


def truth(fields: Fields, name: str, default: bool | None = None) -> bool:
    """The truth value in a field; ``default`` where the field is absent.

    Raises:
        LineError: if it is absent and has no default, or is neither true nor false.
    """
    value = fields.get(name, default)
    if not isinstance(value, bool):
        raise LineError(f"“{name}” is missing or neither true nor false")
    return value


def choice(fields: Fields, name: str, choices: type[Choice]) -> Choice:
    """The member of an enumeration whose code is in a field.

    Raises:
        LineError: if it is absent or an unknown code.
    """
    code = text(fields, name)
    try:
        return choices(code)
    except ValueError:
        raise LineError(f"“{name}” has the unknown value “{code[:40]}”") from None


def texts(fields: Fields, name: str) -> dict[str, str]:
    """The texts by name in a field; empty where it is absent.

    Raises:
        LineError: if it is no object of texts.
    """
    value = fields.get(name, {})
    if not isinstance(value, dict) or not all(isinstance(each, str) for each in value.values()):
        raise LineError(f"“{name}” is not a list of texts by name")
    return value
