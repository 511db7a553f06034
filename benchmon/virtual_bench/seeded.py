"""Where all chance on the virtual bench comes from."""

from __future__ import annotations

import random


def seeded(seed: int | str) -> random.Random:
    """A generator that gives the same numbers for the same seed, on every machine."""
    return random.Random(seed)  # noqa: S311  # noise of a model, no secret
