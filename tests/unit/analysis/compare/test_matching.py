"""Which phase belongs to which, and which one speaks of the cooler: every rule by itself, on the least that it needs."""

from types import SimpleNamespace

from benchmon.analysis.compare.bench_run import OTHER_KIND, OTHER_SIZE, WORK_NOT_TOLD, LoadKind
from benchmon.analysis.compare.matching import main_phase, match
from benchmon.analysis.thermal.grouping import ALL, IDLE, SOME, UNKNOWN
from benchmon.model import keys
from benchmon.model.comparison import WorkUnit


def phase(name, heating, start_s=0.0, watts=20.0, means=None, **load):
    power = {keys.PACKAGE_POWER: SimpleNamespace(mean=watts)}
    return SimpleNamespace(
        name=name,
        load=LoadKind(heating, **load),
        phase=SimpleNamespace(start_s=start_s),
        row=SimpleNamespace(means=power if means is None else means),
    )


def run(*phases):
    return SimpleNamespace(phases=phases)


def names(matched):
    return [(pair.before.name, pair.after.name, pair.by_name) for pair in matched.pairs]


def test_what_loaded_the_processor_counts_more_than_the_name():
    before = run(phase("hot", ALL, work="widest"))
    after = run(phase("hot", IDLE), phase("stress", ALL, work="widest"))
    assert names(match(before, after)) == [("hot", "stress", False)]
    assert [one.name for one in match(before, after).only_after] == ["hot"]
    assert [one.name for one in match(after, before).only_before] == ["hot"]


def test_the_same_work_is_taken_before_other_work_that_heats_alike():
    before = run(phase("a", ALL, work="widest"))
    after = run(phase("b", ALL, work="scalar"), phase("c", ALL, work="widest"))
    assert names(match(before, after)) == [("a", "c", False)]


def test_other_work_that_heats_alike_is_taken_where_there_is_no_better():
    (pair,) = match(run(phase("a", ALL, work="widest")), run(phase("b", ALL, work="scalar"))).pairs
    assert (pair.by_name, pair.other_work) == (False, OTHER_KIND)


def test_a_name_alone_is_the_last_resort_and_counts_no_work():
    (pair,) = match(run(phase("Hot", ALL)), run(phase("hOT", SOME, cores=1))).pairs
    assert (pair.by_name, pair.other_work) == (True, "another load")
    assert match(run(phase("hot", ALL)), run(phase("warm", SOME, cores=1))).pairs == ()


def test_idle_after_a_load_is_not_idle_before_it():
    """Neither by what loaded it nor by how that heats; a name may still bring them together."""
    cold, warm = phase("rest", IDLE), phase("wait", IDLE, is_after_load=True)
    assert match(run(cold), run(warm)).pairs == ()
    both = match(run(phase("a", IDLE), phase("b", IDLE, is_after_load=True)), run(warm, cold))
    assert names(both) == [("a", "rest", False), ("b", "wait", False)]


def test_some_cores_are_alike_only_if_they_are_as_many():
    assert match(run(phase("a", SOME, cores=1)), run(phase("b", SOME, cores=2))).pairs == ()
    assert len(match(run(phase("a", SOME, cores=2)), run(phase("b", SOME, cores=2))).pairs) == 1
    assert len(match(run(phase("a", ALL, cores=4)), run(phase("b", ALL, cores=None))).pairs) == 1


def test_each_phase_belongs_to_one_other_in_order_of_time():
    before = run(phase("a", ALL), phase("b", ALL, 10.0), phase("c", IDLE, 20.0))
    after = run(phase("x", ALL), phase("c", SOME, 5.0, cores=1), phase("y", ALL, 10.0))
    assert names(match(before, after)) == [("a", "x", False), ("b", "y", False), ("c", "c", True)]
    late = run(phase("n", SOME, 0.0, cores=1), phase("b", ALL, 10.0))  # the first pair is found last
    assert [pair.before.name for pair in match(late, run(phase("n", IDLE), phase("y", ALL))).pairs] == ["n", "b"]


def test_units_of_another_size_are_not_counted_against_one_another():
    sizes = [LoadKind(ALL, work="widest", unit=WorkUnit("widest", size, None)) for size in (1e9, 2e9)]
    assert sizes[0].other_work(sizes[1]) == OTHER_SIZE
    assert sizes[0].other_work(sizes[0]) == ""
    assert LoadKind(ALL).other_work(LoadKind(ALL, work="widest")) == WORK_NOT_TOLD
    assert LoadKind(ALL, work="Widest").other_work(LoadKind(ALL, work="widest")) == ""


def of(runs):
    found = main_phase(runs[0], runs)
    return None if found is None else found.name


def test_the_hottest_phase_with_all_cores_speaks_of_the_cooler():
    cool, hot, one = (
        phase("cool", ALL, watts=20.0),
        phase("hot", ALL, watts=30.0),
        phase("one", SOME, watts=40.0, cores=1),
    )
    assert of([run(cool, hot, one), run(hot, one)]) == "hot"
    assert of([run(hot, cool, one), run(hot, one)]) == "hot"
    assert of([run(cool, phase("not told", UNKNOWN, watts=25.0)), run(cool, phase("x", UNKNOWN))]) == "not told"


def test_where_all_cores_were_never_busy_some_speak():
    one, two = phase("one", SOME, watts=10.0, cores=1), phase("two", SOME, watts=20.0, cores=2)
    assert of([run(one, two), run(one, two)]) == "two"
    assert of([run(one, two), run(one)]) == "one"


def test_a_phase_without_its_like_in_every_run_does_not_speak_and_idle_never():
    hot, one, idle = phase("hot", ALL), phase("one", SOME, cores=1), phase("idle", IDLE, watts=99.0)
    assert of([run(idle, one, hot), run(idle, one, hot), run(idle, one)]) == "one"
    assert of([run(idle, one), run(idle, hot)]) is None


def test_without_power_the_load_tells_which_is_hottest():
    def loaded(name, percent):
        return phase(name, ALL, means={keys.LOAD: SimpleNamespace(mean=percent)})

    runs = [run(loaded("less", 60.0), loaded("more", 99.0)), run(loaded("x", 99.0))]
    assert of(runs) == "more"
    assert of([run(phase("a", ALL, means={})), run(phase("b", ALL))]) == "a"
