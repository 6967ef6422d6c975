"""With how much care a model is settled: how often, how exactly, how far from its last answer."""

from __future__ import annotations

from rationlp.records import dataclass


@dataclass(frozen=True)
class Care:
    """How a model is settled. passes: most programmes until D stands still. rounds: most changes of
    level. dm: a D that moves by less stands still [share of the largest]; level: the same of a
    level of feeding [share of it]. reach: around its touch the safe row of a bent curve holds so
    far [share of the interval of D], `narrows` times as far in each pass. may_go_short: whether
    energy may be missing on the way, at a price. same: costs that differ by less are the same, and
    of those the last counts [share].
    """

    passes: int = 40
    rounds: int = 8
    dm: float = 1e-9
    level: float = 1e-8
    reach: float = 1.0
    narrows: float = 1.0
    may_go_short: bool = True
    same: float = 0.0


FROM_ANYWHERE = Care()
TOGETHER = Care(dm=3e-10, level=1e-7, reach=0.15, same=1e-12)
"""For blocks that share stores: each begins near its own cheapest ration."""
FROM_NEARBY = Care(12, 12, 1e-9, 1e-10, 0.15, 0.3, may_go_short=False, same=1e-12)
"""For a model kept open, which goes on from its last answer."""
