"""Going on with a plan that was interrupted."""

import pytest

from benchmon.cli.main import main
from benchmon.model.plan import Plan, PlanPhase, StepAction, StepEnd
from benchmon.model.records import PlannedRun, StepChange
from benchmon.session.reader import read_session
from benchmon.session.writer import SessionWriter
from tests.support.bench_sessions import session

PLAN = Plan("tried", (PlanPhase("a", "idle", 0.2), PlanPhase("b", "idle", 0.3), PlanPhase("c", "idle", 0.2)))


def stored(path, *ends, run=None, began=()):
    records = [] if run is None else [run]
    records += [StepChange(1.0, number, StepAction.BEGAN) for number in began]
    records += [StepChange(2.0, number, StepAction.ENDED, because) for number, because in ends]
    made = session(records)
    writer = SessionWriter(path)
    for record in (made.header, *made.records):
        writer.write(record)
    writer.close()
    return str(path)


@pytest.mark.parametrize(
    ("ends", "began", "first"),
    [
        ([(1, StepEnd.TIME), (2, StepEnd.INTERRUPTED)], [1, 2], 2),
        ([(1, StepEnd.GREATEST)], [1, 2], 2),  # killed: the second never ended
        ([(1, StepEnd.SETTLED), (2, StepEnd.TIME)], [1, 2], 3),
        ([(1, StepEnd.STOPPED)], [1], 1),
    ],
)
def test_it_goes_on_at_the_phase_that_was_interrupted(tmp_path, ends, began, first):
    before = stored(tmp_path / "before.session.jsonl", *ends, run=PlannedRun(0.0, PLAN), began=began)
    path = tmp_path / "after.session.jsonl"
    assert main(["record", "--resume", before, "--every", "0.1s", "--to", str(path), "--quiet"]) == 0
    after = read_session(path)
    (run,) = [one for one in after.records if isinstance(one, PlannedRun)]
    assert (run.plan, run.first, run.resumes) == (PLAN, first, "test")
    changes = [one for one in after.records if isinstance(one, StepChange)]
    assert [one.number for one in changes if one.action is StepAction.BEGAN] == list(range(first, 4))
    assert [one.because for one in changes if one.because] == [StepEnd.TIME] * (4 - first)


def test_a_plan_that_is_done_and_a_session_without_one_are_refused(tmp_path, capsys):
    done = [(number, StepEnd.TIME) for number in (1, 2, 3)]
    assert main(["record", "--resume", stored(tmp_path / "d.session.jsonl", *done, run=PlannedRun(0.0, PLAN))]) == 2
    assert "carried out to its end" in capsys.readouterr().err
    assert main(["record", "--resume", stored(tmp_path / "n.session.jsonl")]) == 2
    assert "without a plan" in capsys.readouterr().err
    assert main(["record", "--resume", str(tmp_path / "none")]) != 0
