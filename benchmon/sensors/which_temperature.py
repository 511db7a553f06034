"""Which of a machine's temperatures is the processor's: a rule, written once, for the program and for people."""

from __future__ import annotations

import re
from collections.abc import Callable

from benchmon.sensors.hwmon import Input
from benchmon.sensors.thermal_zone import Zone

RULE = (
    "The processor's temperature is the first of these that can be read when recording begins: "
    "the processor's own sensor for the whole package (coretemp Package id, of several packages the one hottest "
    "then; k10temp Tdie, then Tctl; zenpower and the like); its hottest core (coretemp Core); "
    "the kernel's zone for the package (x86_pkg_temp); a zone named after the processor or the chip it is part of "
    "(cpu, soc); a zone whose heat makes the kernel slow the processor; any ACPI zone. "
    "A sensor inside the processor comes before one on the board, and the package's, which is its hottest spot, "
    "before a single core's, for that is what the firmware defends."
)
"""For people. Tdie comes before Tctl because Tctl may carry an offset that only the fan control wants (kernel,
``Documentation/hwmon/k10temp.rst``: "a non-physical temperature on an arbitrary scale")."""

_Test = Callable[[Input | Zone], bool]


def _chip(names: str, label: str) -> _Test:
    def fits(origin: Input | Zone) -> bool:
        return (
            isinstance(origin, Input)
            and re.fullmatch(names, origin.chip.name) is not None
            and re.fullmatch(label, origin.label) is not None
        )

    return fits


def _zone(kinds: str) -> _Test:
    return lambda origin: isinstance(origin, Zone) and re.fullmatch(kinds, origin.kind.lower()) is not None


def _cools(origin: Input | Zone) -> bool:
    return isinstance(origin, Zone) and origin.cools_processor


_PROCESSOR_WORDS = r"(.*[-_])?cpu([-_]?\d+)?([-_].*)?|(.*[-_])?soc([-_].*)?|package([-_].*)?"

_IN_ORDER: tuple[_Test, ...] = (
    _chip("coretemp", r"(Package|Physical) id \d+"),
    _chip("k10temp", "Tdie"),
    _chip("k10temp", "Tctl"),
    _chip(r"zenpower|fam15h.*", "Tdie"),
    _chip(r"zenpower|fam15h.*|k10temp|k8temp", ".*"),
    _chip("coretemp", r"Core \d+"),
    _chip("via_cputemp|coretemp", ".*"),
    _zone("x86_pkg_temp"),
    _zone(_PROCESSOR_WORDS),
    _chip(r"cpu_thermal|soc_thermal|cpu.*|soc.*", ".*"),
    _cools,
    _zone("acpitz|thm.*|tz.*"),
    _chip("acpitz", ".*"),
)


def rank(origin: Input | Zone) -> int | None:
    """Place in the rule, 0 first; None if it cannot pass for the processor's temperature."""
    return next((place for place, fits in enumerate(_IN_ORDER) if fits(origin)), None)
