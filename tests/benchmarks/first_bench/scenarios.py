"""Every kind of run the detector is judged by: heat, and what only looks like it. Any seed makes another machine."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from tests.benchmarks.first_bench.heat_kinds import HEAT_KINDS
from tests.benchmarks.first_bench.other_kinds import OTHER_KINDS
from tests.benchmarks.first_bench.run import Run, observe
from tests.benchmarks.first_bench.sketch import Sketch

__all__ = ["KINDS", "Kind", "Run", "observe"]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of run."""

    name: str
    words: str
    """What happens, in a sentence."""
    is_heat: bool
    """Whether a temperature is really defended in it."""
    draw: Callable[[Sketch], None]

    def make(self, seed: int) -> Run:
        """The run of this kind for a seed; the same seed gives the same run."""
        sketch = Sketch(self.name, seed)
        self.draw(sketch)
        return sketch.finish()


def _kind(draw: Callable[[Sketch], None], is_heat: bool) -> Kind:
    name = draw.__name__
    return Kind(name, (draw.__doc__ or "").strip(), is_heat, draw)


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        **{draw.__name__: _kind(draw, is_heat=True) for draw in HEAT_KINDS},
        **{draw.__name__: _kind(draw, is_heat=False) for draw in OTHER_KINDS},
    }
)
"""Name → kind; heat first."""
