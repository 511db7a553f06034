"""What a keeper says about the end of its load, as a record."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from benchmon.model.records import LoadAction, LoadChange

GUARD = "guard: "
"""How the reason of a load that the guard stopped begins."""


def stopped_by_keeper(message: Mapping[str, Any], t_s: float, words: str, busy_cores: int | None = None) -> LoadChange:
    """The record for an end that is the same for every kind of load.

    Args:
        message: what the keeper said, with ``ago_s``.
        t_s: session time now [s].
        words: the load in words.
        busy_cores: cores it was meant to keep busy.
    """
    happened_s = max(0.0, t_s - float(message.get("ago_s", 0.0)))
    if "guard" in message:
        return LoadChange(happened_s, LoadAction.STOPPED, words, busy_cores, str(message["guard"]))
    if "silent" in message:
        reason = f"the recorder was held up for more than {float(message['silent']):g} s"
    else:
        reason = str(message.get("lost", "its keeper was ended from outside"))
    return LoadChange(happened_s, LoadAction.EXITED, words, busy_cores, reason)
