"""What the box is made of, as a session tells it: read or entered while recording, or entered later."""

from __future__ import annotations

from collections.abc import Mapping

from benchmon.model.box_parts import ENTERED, PARTS, TAG_PREFIX, setting_key
from benchmon.model.findings import BoxPart
from benchmon.model.records import Setting


def box_of(settings: Mapping[str, Setting], tags: Mapping[str, str]) -> dict[str, BoxPart]:
    """The parts that are known, in their usual order.

    Args:
        settings: latest value of each setting, by key.
        tags: all that were entered as tags, those that describe the box among them.
    """
    parts = {}
    for part in PARTS:
        entered = tags.get(TAG_PREFIX + part, "")
        setting = settings.get(setting_key(part))
        if entered:
            parts[part] = BoxPart(entered, ENTERED)
        elif setting is not None and isinstance(setting.value, str) and setting.value:
            parts[part] = BoxPart(setting.value, setting.source)
    return parts


def without_box(tags: Mapping[str, str]) -> dict[str, str]:
    """The tags that say what is varied: those that describe the box are none."""
    return {key: value for key, value in tags.items() if key not in {TAG_PREFIX + part for part in PARTS}}
