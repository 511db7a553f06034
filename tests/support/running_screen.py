"""The real app with its keys pressed, a scripted source and a recorder that notes what it is asked."""

from __future__ import annotations

from contextlib import asynccontextmanager

from benchmon.stream.replay import Replay
from benchmon.stream.source import ReplaySource
from benchmon.views.tui.app import ScreenApp
from benchmon.views.tui.look import Look, row_text
from tests.support.bench_session import Bench, ScriptedAnalyst, bench_records, bench_session
from tests.support.scripted_source import NotedControl, ScriptedSource

RECORDS = bench_records(Bench(until_s=330.0))


class Bench1:
    """A running app, its recorder and its keys."""

    def __init__(self, app, pilot, source, control) -> None:
        self.app, self.pilot, self.source, self.control = app, pilot, source, control
        self.view, self.state = app._view, app._state

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)
        await self.pilot.pause()

    async def write(self, text: str) -> None:
        names = {" ": "space", "=": "equals_sign", ".": "full_stop", "-": "minus", ",": "comma", ":": "colon"}
        await self.press(*(names.get(letter, letter) for letter in text))

    def text(self) -> str:
        return "\n".join(row_text(row) for row in self.app._canvas._rows)

    @property
    def asked(self):
        return self.control.requests


async def _drawn(app, pilot) -> None:
    """Until the first records are on the screen: on a busy machine one pause is too short for that."""
    for _ in range(200):
        await pilot.pause(0.0)
        if app._state.header is not None:
            return
        await pilot.pause(0.02)


@asynccontextmanager
async def live(records=RECORDS, size=(140, 45), compare=None, later=None):
    source, control = ScriptedSource(records), NotedControl()
    app = ScreenApp(source, control, None, Look(), new_analyst=ScriptedAnalyst, enter_later=later, compare=compare)
    async with app.run_test(size=size) as pilot:
        await _drawn(app, pilot)
        yield Bench1(app, pilot, source, control)


@asynccontextmanager
async def replayed(start_s=100.0, later=None):
    replay = Replay(bench_session(Bench(until_s=600.0)), speed=1.0)
    replay.seek(start_s)
    times = iter(range(10_000))
    source = ReplaySource(replay, now_s=lambda: next(times) * 0.01)
    app = ScreenApp(source, None, replay, Look(), new_analyst=ScriptedAnalyst, enter_later=later)
    async with app.run_test(size=(140, 45)) as pilot:
        await _drawn(app, pilot)
        bench = Bench1(app, pilot, source, None)
        bench.replay = replay
        yield bench
