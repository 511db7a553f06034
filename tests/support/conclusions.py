"""A session's conclusions without the forecasts that were made on the way: a tenth of the time."""

from math import inf

from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.summary import summarise
from benchmon.model.findings import Summary
from benchmon.model.records import Session


def concluded(session: Session, options: AnalysisOptions | None = None) -> Summary:
    """What ``summarise`` says, less the forecasts."""
    return summarise(session, options, look_every_s=inf)
