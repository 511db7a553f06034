"""The verdict while it is still being found out, in one sentence."""

from __future__ import annotations

from benchmon.model.findings import Sustains
from benchmon.views.numbers import figure_text, plain


def sustains_sentence(found: Sustains) -> str:
    """``This cooler sustains 31 ± 2 W at 81 °C in this room``."""
    return f"This cooler sustains {figure_text(found.power_w, 'W')} at {plain(found.limit_c, 0)} °C in this room."
