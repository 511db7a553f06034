"""One load at a time, and none left behind."""

from benchmon.errors import LoadError
from benchmon.model.records import LoadAction, LoadChange
from benchmon.stream.load_switch import LoadSwitch
from benchmon.stream.options import BuiltinChoice, CommandChoice


class FakeLoad:
    words = "fake work"
    busy_cores = 2
    duty = 1.0

    def __init__(self, refuses=""):
        self.refuses = refuses
        self.ends_itself = False
        self.closed = False

    def start(self, t_s):
        if self.refuses:
            raise LoadError(self.refuses)
        return LoadChange(t_s, LoadAction.STARTED, self.words, 2)

    def stop(self, t_s, reason):
        return LoadChange(t_s, LoadAction.STOPPED, self.words, 2, reason)

    def poll(self, t_s):
        return LoadChange(t_s, LoadAction.EXITED, self.words, 2, exit_status=0) if self.ends_itself else None

    def is_over(self):
        return False

    def close(self):
        self.closed = True


def test_start_stop_close():
    load = FakeLoad()
    switch = LoadSwitch(lambda _choice: load)
    assert switch.start(BuiltinChoice(), 1.0).action is LoadAction.STARTED
    assert switch.running is load
    assert switch.stop(2.0, "a test").reason == "a test"
    assert switch.running is None
    assert switch.stop(3.0, "again") is None
    switch.close()
    assert load.closed


def test_a_warning_is_kept_beside_the_start():
    switch = LoadSwitch(lambda _choice: FakeLoad())
    assert switch.start(BuiltinChoice(), 0.0, "nothing guards it").reason == "nothing guards it"


def test_a_load_that_ends_is_forgotten_but_closed():
    load = FakeLoad()
    switch = LoadSwitch(lambda _choice: load)
    switch.start(BuiltinChoice(), 0.0)
    assert switch.poll(1.0) is None
    load.ends_itself = True
    assert switch.poll(2.0).action is LoadAction.EXITED
    assert switch.running is None
    assert switch.poll(3.0) is None
    switch.close()
    assert load.closed


def test_what_cannot_be_started_is_a_record():
    switch = LoadSwitch(lambda _choice: FakeLoad(refuses="no room"))
    change = switch.start(BuiltinChoice(), 4.0)
    assert change == LoadChange(4.0, LoadAction.FAILED, "fake work", 2, "no room")
    assert switch.running is None


def test_what_cannot_even_be_made_is_a_record():
    def refuse(_choice):
        raise LoadError("no such thing")

    change = LoadSwitch(refuse).start(CommandChoice(("a b", "c")), 4.0)
    assert (change.action, change.what, change.reason) == (LoadAction.FAILED, "'a b' c", "no such thing")


def test_closing_closes_what_still_runs():
    load = FakeLoad()
    switch = LoadSwitch(lambda _choice: load)
    switch.start(BuiltinChoice(), 0.0)
    switch.close()
    assert load.closed
