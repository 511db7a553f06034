"""Numbers and their units are never parted at the end of a line."""

from __future__ import annotations

import pytest

from benchmon.views.tui.wrapping import wrapped

TEXT = "Held at 81.5 °C since 3:33: 3.50 → 2.85 GHz, 52.4 → 40.6 W; it sustains 31 ± 2 W, and 1.6 ± 0.2 K/W is what it has."
WHOLE = ("81.5 °C", "3.50 → 2.85 GHz,", "52.4 → 40.6 W;", "31 ± 2 W,", "1.6 ± 0.2 K/W")


@pytest.mark.parametrize("width", range(18, 90))
@pytest.mark.parametrize("plain", [False, True])
def test_numbers_stay_whole(width, plain):
    def shown(text: str) -> str:
        return text.replace("→", "->").replace("±", "+/-").replace("°C", "degC") if plain else text

    lines = wrapped(shown(TEXT), width)
    assert " ".join(lines) == shown(TEXT)
    assert all(len(line) <= width for line in lines)
    for whole in WHOLE:
        assert any(shown(whole) in line for line in lines)


def test_a_word_longer_than_the_line_is_broken():
    assert wrapped("a" * 30, 10) == ["a" * 10] * 3
