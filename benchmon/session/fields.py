"""Checked access to the fields of one decoded line: what is missing or of the wrong kind is said in words."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Any, TypeVar

from benchmon.model.usable import MOST_TIME_S, MOST_VALUE, usable_number, usable_whole

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


def number(fields: Fields, name: str, default: float | None = None, most: float = MOST_VALUE) -> float:
    """The usable number in a field; ``default`` where the field is absent.

    Raises:
        LineError: if it is absent and has no default, or is no usable number.
    """
    return checked_number(fields.get(name, default), name, most)


def time_s(fields: Fields, name: str) -> float:
    """The session time in a field [s].

    Raises:
        LineError: if it is absent or no time that a session can have.
    """
    return checked_number(fields.get(name), name, MOST_TIME_S)


def number_or_none(fields: Fields, name: str) -> float | None:
    """The finite number in a field; None where it is absent or null.

    Raises:
        LineError: if it is anything else.
    """
    value = fields.get(name)
    return None if value is None else checked_number(value, name)


def checked_number(value: Any, name: str, most: float = MOST_VALUE) -> float:
    """The value as a float.

    Raises:
        LineError: if it is no usable number.
    """
    found = usable_number(value, most)
    if found is None:
        raise LineError(f"“{name}” is missing or not a number that can be used")
    return found


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
    if value is not None and usable_whole(value) is None:
        raise LineError(f"“{name}” is not a whole number")
    return None if value is None else int(value)


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
