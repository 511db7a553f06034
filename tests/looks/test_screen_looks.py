"""How the screen looks, state by state. That it is right is tested elsewhere; this shows that nothing changed unseen."""

from __future__ import annotations

import pytest

from benchmon.model.records import Session
from benchmon.stream.replay import Replay
from benchmon.stream.source import ReplaySource
from benchmon.views.traces import PLAIN
from benchmon.views.tui.app import ScreenApp
from benchmon.views.tui.look import Look
from benchmon.views.tui.palette import NONE
from tests.support.bench_session import ScriptedAnalyst
from tests.support.screen_scene import SCENES, PlannedAnalyst, Scene
from tests.support.scripted_source import NotedControl, ScriptedSource


def app_of(scene: Scene, look: Look | None = None) -> ScreenApp:
    look = look or Look()
    if scene.played is None:
        source, control = ScriptedSource(scene.records()), NotedControl()
        analyst = ScriptedAnalyst if scene.plan is None else PlannedAnalyst
        return ScreenApp(source, control, None, look, new_analyst=analyst, compare=scene.compare())
    header, *rest = scene.records()
    replay = Replay(Session(header, tuple(rest)), scene.played)
    replay.seek(330.0)
    replay.paused = True
    return ScreenApp(ReplaySource(replay), None, replay, look, new_analyst=ScriptedAnalyst)


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("starting", (80, 24)),
        ("no-sensors", (80, 24)),
        ("waiting", (80, 24)),
        ("settling", (100, 30)),
        ("heat", (80, 24)),
        ("heat", (140, 45)),
        ("heat", (200, 60)),
        ("power", (140, 45)),
        ("gap", (100, 30)),
        ("ended", (140, 45)),
        ("cut", (100, 30)),
        ("replay", (140, 45)),
        ("behind", (140, 45)),
    ],
    ids=lambda part: part if isinstance(part, str) else f"{part[0]}x{part[1]}",
)
def test_looks_as_before(snap_compare, name, size):
    assert snap_compare(app_of(SCENES[name]()), terminal_size=size)


def test_plain_look_is_as_before(snap_compare):
    assert snap_compare(app_of(SCENES["heat"](), Look(PLAIN, ascii_only=True, palette=NONE)), terminal_size=(80, 24))


@pytest.mark.parametrize(
    "keys", [["question_mark"], ["left_square_bracket", "o"], ["e"], ["w", "4", "1"], ["q"]], ids="-".join
)
def test_panels_look_as_before(snap_compare, keys):
    assert snap_compare(app_of(SCENES["heat"]()), press=keys, terminal_size=(100, 30))
