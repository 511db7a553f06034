"""Runs for tests of the comparison: one as it was recorded, with something else about it."""

from dataclasses import replace

from benchmon.model import keys
from benchmon.model.findings import Figure


def again(run, name="again", tags=None, **of_summary):
    """The same readings as another recording, with something else about it."""
    header = replace(of_summary.pop("header", run.summary.header), session_id=name)
    told = {"tags": {"duct": "other"} if tags is None else tags, **of_summary}
    return replace(run, name=name, summary=replace(run.summary, header=header, **told))


def with_main(run, **changes):
    """The run with something else about its phase with all cores."""
    phases = tuple(replace(one, **changes) if one.name == "all cores" else one for one in run.phases)
    return replace(run, phases=phases)


def with_row(run, **changes):
    (main,) = (one for one in run.phases if one.name == "all cores")
    return with_main(run, row=replace(main.row, **changes))


def in_room(run, room_c):
    return replace(run, summary=replace(run.summary, thermal=replace(run.summary.thermal, room_c=Figure(room_c))))


def with_channel(run, key, **changes):
    header = run.summary.header
    channels = tuple(replace(one, **changes) if one.key == key else one for one in header.channels)
    return again(run, header=replace(header, channels=channels))


def with_setting(run, key, value):
    known = run.summary.settings.get(key) or next(iter(run.summary.settings.values()))
    return again(run, settings={**run.summary.settings, key: replace(known, key=key, value=value)})


def unsettled(run):
    (main,) = (one for one in run.phases if one.name == "all cores")
    temp = replace(main.row.settling[keys.PROCESSOR_TEMP], settled=False)
    return with_row(again(run), settling={**main.row.settling, keys.PROCESSOR_TEMP: temp})


def settled(run):
    (main,) = (one for one in run.phases if one.name == "all cores")
    temp = replace(main.row.settling[keys.PROCESSOR_TEMP], settled=True)
    return with_row(run, settling={**main.row.settling, keys.PROCESSOR_TEMP: temp})


def other_work(run):
    (main,) = (one for one in run.phases if one.name == "all cores")
    return with_main(again(run), load=replace(main.load, work="integer work"))


def limit_moved(run):
    return replace(again(run), plateau=replace(run.plateau, temp_c=run.plateau.temp_c + 2.5))


def on_machine(run, **names):
    return again(run, machine=replace(run.summary.machine, **names))


def longer(run, by_s):
    (main,) = (one for one in run.phases if one.name == "all cores")
    return with_main(run, phase=replace(main.phase, end_s=main.phase.end_s + by_s))
