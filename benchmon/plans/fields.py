"""A plan as plain fields and back: the same keys in a TOML file and in the record of a session file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from benchmon.model.durations import seconds_of
from benchmon.model.patterns import pattern_fault
from benchmon.model.plan import IDLE, LONGEST_S, MOST_PHASES, Asked, Condition, ConditionKind, Plan, PlanPhase
from benchmon.plans.conditions import condition_of, condition_text
from benchmon.plans.faults import PlanFault, PlanFaultsError
from benchmon.plans.stairs import names_told_apart, stair_loads

PLAN_KEYS = ("name", "about", "times", "greatest", "end_when", "phase")
_PATTERN_KEYS = ("score_from", "phase_from", "version_from")
PHASE_KEYS = (
    *("name", "load", "work", "command", *_PATTERN_KEYS, "lasts", "until", "least", "greatest", "ask", "do", "stairs"),
)
_MOST_FAULTS = 20
_MOST_PATTERNS = 20
_MOST_LETTERS = 200_000
"""The plan is one line of a session file, and a line has its bound."""
_NEEDS_COMMAND = ConditionKind.COMMAND_ENDED
One = TypeVar("One")


def to_fields(plan: Plan) -> dict[str, Any]:
    """The plan as fields that ``from_fields`` reads."""
    fields: dict[str, Any] = {"name": plan.name, "about": plan.about}
    fields["greatest"] = None if plan.greatest_s is None else _time_text(plan.greatest_s)
    fields["end_when"] = [condition_text(one) for one in plan.end_when]
    fields["phase"] = [_phase_fields(phase) for phase in plan.phases]
    return {key: value for key, value in fields.items() if value not in (None, "", [])}


def _phase_fields(phase: PlanPhase) -> dict[str, Any]:
    fields: dict[str, Any] = {"name": phase.name, "load": phase.load, "work": phase.work, "command": phase.command}
    if phase.until:
        fields["until"] = [condition_text(one) for one in phase.until]
        fields["least"] = _time_text(phase.least_s) if phase.least_s else None
        fields["greatest"] = _time_text(phase.greatest_s)
    else:
        fields["lasts"] = _time_text(phase.greatest_s)
    fields |= {key: list(getattr(phase, key)) for key in _PATTERN_KEYS}
    fields |= {"ask": [one.value for one in phase.ask], "do": phase.do}
    return {key: value for key, value in fields.items() if value not in (None, "", [])}


def _time_text(seconds: float) -> str:
    return f"{seconds:.3f}".rstrip("0").rstrip(".") + "s"


def from_fields(fields: Mapping[str, Any], name: str = "", cores: int | None = None) -> Plan:
    """The plan that the fields describe.

    Args:
        fields: the keys of ``docs/plans.md``.
        name: what it is called if it does not say so itself.
        cores: of this machine, for stairs; None = a stair stays one phase, for a plan that is only looked at.

    Raises:
        PlanFaultsError: with everything that is wrong.
    """
    return _Reading(cores).plan(fields, name)


class _Reading:
    """Reads one plan and collects what is wrong with it."""

    def __init__(self, cores: int | None) -> None:
        self._cores = cores
        self._faults: list[PlanFault] = []
        self._phase: int | None = None

    def plan(self, fields: Mapping[str, Any], name: str) -> Plan:
        self._known(fields, PLAN_KEYS)
        times = self._times(fields)
        phases = self._phases(fields.get("phase"), times)
        plan = Plan(
            name=self._text(fields, "name") or name,
            about=self._text(fields, "about"),
            phases=tuple(phases),
            end_when=self._conditions(fields, "end_when"),
            greatest_s=self._time(fields, "greatest"),
        )
        if self._faults:
            raise PlanFaultsError(self._faults[:_MOST_FAULTS])
        return plan

    def _phases(self, given: Any, times: int) -> list[PlanPhase]:
        if not isinstance(given, list) or not given or not all(isinstance(one, Mapping) for one in given):
            self._wrong("it has no phases: each begins with a line [[phase]]", "phase")
            return []
        if len(given) * times > MOST_PHASES:
            self._wrong(f"it has {len(given) * times} phases; {MOST_PHASES} are the most", "phase")
            return []
        phases = []
        for number, fields in enumerate(given, 1):
            self._phase = number
            phases += self._steps(fields)
        self._phase = None
        phases *= times
        if len(phases) > MOST_PHASES:
            self._wrong(f"it has {len(phases)} phases; {MOST_PHASES} are the most", "phase")
        if sum(map(_letters, phases)) > _MOST_LETTERS:
            self._wrong("its texts are too long", "phase")
        return names_told_apart(phases)

    def _steps(self, fields: Mapping[str, Any]) -> list[PlanPhase]:
        """The phase, or those that a stair has."""
        self._known(fields, PHASE_KEYS)
        load = " ".join(self._text(fields, "load", IDLE).split()).lower()
        stairs = fields.get("stairs", 0)
        if "stairs" in fields and (type(stairs) is not int or not 2 <= stairs <= MOST_PHASES):
            self._wrong(f"must be a whole number from 2 to {MOST_PHASES}", "stairs")
            stairs = 0
        loads = stair_loads(load, self._cores, stairs)
        if stairs and loads == [load] and self._cores is not None:
            self._wrong("goes with a load such as “1 to all” or “all at 20 % to 100 %”", "stairs")
        phase = self._one(fields, load)
        return [PlanPhase(**_values(phase) | {"load": one}) for one in loads]

    def _one(self, fields: Mapping[str, Any], load: str) -> PlanPhase:
        lasts_s, greatest_s = self._time(fields, "lasts"), self._time(fields, "greatest")
        least_s, until = self._time(fields, "least"), self._conditions(fields, "until")
        self._check_times(least_s, greatest_s, fields)
        if any(one.kind is _NEEDS_COMMAND for one in until) and not load.startswith("command"):
            self._wrong("only a command ends by itself", "until")
        return PlanPhase(
            name=self._text(fields, "name"),
            load=load,
            greatest_s=lasts_s or greatest_s or 0.0,
            until=until,
            least_s=least_s or 0.0,
            work=self._text(fields, "work"),
            command=self._text(fields, "command"),
            **{key: self._patterns(fields, key) for key in _PATTERN_KEYS},
            ask=self._asked(fields),
            do=self._text(fields, "do"),
        )

    def _check_times(self, least_s: float | None, greatest_s: float | None, fields: Mapping[str, Any]) -> None:
        if "until" not in fields:
            if "lasts" not in fields:
                self._wrong("nothing says when it ends: write lasts, or until with greatest")
            for key in ("least", "greatest"):
                if key in fields:
                    self._wrong("goes with until only", key)
        elif "lasts" in fields:
            self._wrong("goes without until: write least and greatest", "lasts")
        elif "greatest" not in fields:
            self._wrong("may never come: write greatest too, the longest time that it may take", "until")
        elif least_s is not None and greatest_s is not None and least_s > greatest_s:
            self._wrong("is more than greatest", "least")

    # --- single keys -------------------------------------------------------------------------------------------------

    def _wrong(self, reason: str, key: str = "") -> None:
        self._faults.append(PlanFault(reason, self._phase, key))

    def _known(self, fields: Mapping[str, Any], keys: tuple[str, ...]) -> None:
        for key in fields:
            if key not in keys:
                self._wrong(f"there is no such key; there are {', '.join(keys)}", key[:40])

    def _text(self, fields: Mapping[str, Any], key: str, usual: str = "") -> str:
        value = fields.get(key, usual)
        if isinstance(value, int) and not isinstance(value, bool) and key == "load":
            value = str(value)
        if not isinstance(value, str) or (key in fields and not value.strip()):
            self._wrong("must be words between quotation marks", key)
            return usual
        return value

    def _time(self, fields: Mapping[str, Any], key: str) -> float | None:
        value = fields.get(key)
        if value is None:
            return None
        seconds = seconds_of(value) if isinstance(value, str) else None
        if seconds is None or not 0.0 < seconds <= LONGEST_S:
            self._wrong('must be a time above zero such as "90s", "10m", "1h30m"', key)
            return None
        return seconds

    def _times(self, fields: Mapping[str, Any]) -> int:
        value = fields.get("times", 1)
        if type(value) is not int or not 1 <= value <= MOST_PHASES:
            self._wrong(f"must be a whole number from 1 to {MOST_PHASES}", "times")
            return 1
        return value

    def _list(self, fields: Mapping[str, Any], key: str) -> list[str]:
        value = fields.get(key, [])
        texts = [value] if isinstance(value, str) else value
        if not isinstance(texts, list) or not all(isinstance(one, str) for one in texts):
            self._wrong("must be words between quotation marks, or a list of them", key)
            return []
        return texts

    def _patterns(self, fields: Mapping[str, Any], key: str) -> tuple[str, ...]:
        texts = self._list(fields, key)
        faults = [fault for text in texts if (fault := pattern_fault(text, has_number=key == "score_from"))]
        if len(texts) > (1 if key == "version_from" else _MOST_PATTERNS):
            faults.append(f"there are at most {_MOST_PATTERNS} patterns, and one for the version")
        for fault in faults:
            self._wrong(fault, key)
        return () if faults else tuple(texts)

    def _conditions(self, fields: Mapping[str, Any], key: str) -> tuple[Condition, ...]:
        return tuple(self._each(fields, key, condition_of))

    def _asked(self, fields: Mapping[str, Any]) -> tuple[Asked, ...]:
        names = {one.value: one for one in Asked}
        wrong = f"only these can be asked for: {', '.join(names)}"
        return tuple(self._each(fields, "ask", lambda text: names.get(text.strip().lower(), wrong)))

    def _each(self, fields: Mapping[str, Any], key: str, read: Callable[[str], One | str]) -> list[One]:
        found = []
        for text in self._list(fields, key):
            one = read(text)
            if isinstance(one, str):
                self._wrong(one, key)
            else:
                found.append(one)
        return found


def _values(phase: PlanPhase) -> dict[str, Any]:
    return {name: getattr(phase, name) for name in PlanPhase.__dataclass_fields__}


def _letters(phase: PlanPhase) -> int:
    patterns = (*phase.score_from, *phase.phase_from, *phase.version_from)
    return sum(map(len, (phase.name, phase.load, phase.command, phase.do, *patterns)))
