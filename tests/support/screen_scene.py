"""One state of the screen, shown by the real app with the real analysis: for pictures and snapshots.

usage: python -m tests.support.screen_scene NAME
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.plan import Asked, Condition, ConditionKind, Plan, PlanPhase, StepAction
from benchmon.model.plan_findings import PlanProgress
from benchmon.model.records import PlannedRun, Record, Session, StepChange
from benchmon.model.units import Unit
from benchmon.stream.replay import Replay
from benchmon.stream.source import ReplaySource
from benchmon.views.tui.app import run_screen
from benchmon.virtual_bench.demo import CHAPTERS, NAME
from tests.support.bench_session import WITH_DUCT_K_PER_W, Bench, ScriptedAnalyst, bench_records, bench_session
from tests.support.scripted_source import NotedControl, ScriptedSource

NO_SENSORS = (
    Channel(keys.LOAD, "load", Unit.PERCENT, "scripted", 1.0),
    Channel(keys.WORK_RATE, "work rate", Unit.PER_SECOND, "scripted", 0.1),
)


PAUSE = PlanPhase(
    "idle",
    "idle",
    900.0,
    until=(Condition(ConditionKind.CONFIRMED),),
    ask=(Asked.WALL,),
    do="close the case, and read the wall meter",
)
LOADED = PlanPhase("all cores", "all", 2700.0, until=(Condition(ConditionKind.SETTLED),))
PLAN = Plan("before and after", (PAUSE, LOADED))


class PlannedAnalyst(ScriptedAnalyst):
    """The scripted analyst where the first phase of a plan waits for a person."""

    def progress(self) -> PlanProgress:
        return PlanProgress(PLAN, 1, PAUSE, 0.0, None, PAUSE.greatest_s, PLAN.longest_s, PAUSE.ask)


@dataclass(frozen=True)
class Scene:
    """What to show; ``behind`` is the earlier run, ``played`` the speed of a replay, ``plan`` what is carried out."""

    bench: Bench
    behind: Bench | None = None
    played: float | None = None
    plan: Plan | None = None

    def records(self) -> list[Record]:
        header, *rest = bench_records(self.bench)
        planned = [] if self.plan is None else [PlannedRun(0.0, self.plan), StepChange(0.0, 1, StepAction.BEGAN)]
        return [header, *planned, *rest]

    def compare(self) -> Session | None:
        return None if self.behind is None else bench_session(self.behind)


WITH_DUCT = {"resistance_k_per_w": WITH_DUCT_K_PER_W, "tags": dict(CHAPTERS["duct"].tags)}
SCENES: dict[str, Callable[[], Scene]] = {
    "starting": lambda: Scene(Bench(until_s=-1.0)),
    "no-sensors": lambda: Scene(Bench(until_s=330.0, channels=NO_SENSORS)),
    "waiting": lambda: Scene(Bench(until_s=45.0), plan=PLAN),
    "settling": lambda: Scene(Bench(until_s=150.0)),
    "heat": lambda: Scene(Bench(until_s=330.0)),
    "power": lambda: Scene(Bench(until_s=330.0, power_limit_w=41.0, **WITH_DUCT)),
    "gap": lambda: Scene(Bench(until_s=160.0, gap=(80.0, 110.0))),
    "ended": lambda: Scene(Bench(until_s=600.0, ended=True)),
    "replay": lambda: Scene(Bench(until_s=600.0, ended=True), played=1.0),
    "cut": lambda: Scene(Bench(until_s=330.0), played=1.0),
    "behind": lambda: Scene(Bench(until_s=420.0, **WITH_DUCT), behind=Bench(until_s=600.0, seed=4)),
    "demo": lambda: Scene(Bench(until_s=250.0, virtual=NAME, time_scale=20.0)),
}


def main() -> None:
    scene = SCENES[sys.argv[1]]()
    if scene.played is not None:
        replay = Replay(Session(*_split(scene.records())), scene.played)
        replay.seek(330.0)
        replay.paused = True
        run_screen(ReplaySource(replay), control=None, replay=replay, compare=scene.compare())
        return
    run_screen(ScriptedSource(scene.records()), control=NotedControl(), compare=scene.compare())


def _split(records: list[Record]):
    return records[0], tuple(records[1:])


if __name__ == "__main__":
    main()
