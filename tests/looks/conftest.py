"""Snapshots that depend on nothing but the code: no colours from the environment, one size, no clock."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def _plain_environment(monkeypatch):
    for name in ("NO_COLOR", "COLORTERM", "TEXTUAL_THEME", "TEXTUAL_COLOR_SYSTEM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
