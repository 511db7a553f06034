"""Load for a machine of the virtual bench: nothing runs but its model."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchmon.errors import LoadError
from benchmon.loads.builtin import core_words, load_words, started
from benchmon.loads.scale import Scale
from benchmon.model.records import LoadAction, LoadChange
from benchmon.virtual_bench.chip import WORK_SIZE

if TYPE_CHECKING:
    from benchmon.virtual_bench.box import VirtualBox


class VirtualLoad:
    """Keeps cores of a virtual box busy.

    Raises:
        LoadError: if it has not so many cores.
    """

    def __init__(self, box: VirtualBox, core_count: int, cores: int | None, work: str, duty: float = 1.0) -> None:
        wanted = core_count if cores is None else cores
        if not 1 <= wanted <= core_count:
            raise LoadError(f"the virtual machine has {core_count} cores, not {wanted}", "Ask for fewer.")
        self._box = box
        self._work = work
        self.busy_cores: int | None = wanted
        self.duty = duty
        self.words = load_words(work, core_words(wanted, core_count), duty)

    def start(self, t_s: float) -> LoadChange:
        """Busy from now on."""
        self._box.set_load(self.busy_cores or 0, kind=self._work, share=self.duty)
        return started(t_s, self, self._work, Scale(*WORK_SIZE[self._work]))

    def stop(self, t_s: float, reason: str) -> LoadChange:
        """Idle from now on."""
        self._box.set_load(0)
        return LoadChange(t_s, LoadAction.STOPPED, self.words, self.busy_cores, reason)

    def poll(self, t_s: float) -> None:  # the protocol's
        """It never ends by itself."""

    def work_count(self) -> int | None:
        """Units the virtual workers have finished."""
        return int(self._box.readings().work_units)

    def work_time_s(self) -> float | None:
        """All the time there is: nobody else runs on a virtual machine."""
        return self._box.t_s * (self.busy_cores or 0) * self.duty

    def is_over(self) -> bool:
        """Nothing is left of it."""
        return True

    def close(self) -> None:
        """Nothing is left of it."""
