"""Sums over phases in bounded memory: what they cost where there are more phases than pieces are kept."""

from benchmon.analysis.intake.pieces import Pieces
from benchmon.model.records import Sample


def test_a_thousand_phases_are_not_gone_through_for_every_piece(monkeypatch):
    joined = []
    compact = Pieces._compact
    monkeypatch.setattr(Pieces, "_compact", lambda self: (joined.append(1), compact(self)))
    pieces = Pieces(0, 3.0)
    for number in range(1000):
        pieces.cut(10.0 * number)
    for t_s in range(100_000):  # a thousand phases of 10 s, and then one long one
        pieces.add(Sample(float(t_s), (2.0,)))
    assert pieces.between(0.0, 10.0).energy_j == 18.0  # nothing is known of the time before the first sample
    assert pieces.between(9990.0, None).energy_j == 2.0 * (100_000 - 9990)
    assert 1 <= len(joined) < 20
