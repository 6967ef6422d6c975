"""What a settled model hands on, the care with which it is settled, and one block in it."""

from __future__ import annotations

from rationlp.model.energy import EnergyCurve
from rationlp.model.points import Held
from rationlp.model.rows.block import Block
from rationlp.model.solve import Solution
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.records import dataclass

_NOT_SHORT = 1e-9


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


class Part:
    """One block in a model: the keys of its sums, its curve of need, its ceiling. weight: what one
    head and day counts for in the objective [-]. by_point: its rows move with the whole ration, and
    not with a level of feeding alone.
    """

    def __init__(self, block: Block, weight: float = 1.0) -> None:
        self.block, self.weight, self.need = block, weight, block.needs.energy
        self.curve: EnergyCurve | None = None
        self.ceiling: EnergyCurve | None = None
        self.dm, self.me, self.energy = (block.key(name) for name in ("dm", "me", "energy"))
        self.short, self.over = block.key("short_energy"), block.key("over_energy")
        self.short_protein = block.key("short_protein")
        self.by_point = isinstance(self.need, NrcEnergy)


@dataclass(frozen=True)
class Answer:
    """An answer of a model. dm, me, short: D, E and energy short of every block [kg, MJ a head a
    day]. costs: of the passes that led to it.
    """

    solution: Solution
    dm: tuple[float, ...]
    me: tuple[float, ...]
    short: tuple[float, ...]
    costs: tuple[float, ...] = ()

    @property
    def objective(self) -> float:
        """What was minimised [currency]."""
        return self.solution.objective

    @property
    def dm_kg(self) -> float:
        """D of the only block [kg DM a head a day]."""
        return self.dm[0]

    @property
    def me_mj(self) -> float:
        """E of the only block [MJ a head a day]."""
        return self.me[0]

    @property
    def adequate(self) -> bool:
        """Every energy row is met without the priced shortage."""
        limits = (_NOT_SHORT * max(1.0, me) for me in self.me)
        return all(short <= limit for short, limit in zip(self.short, limits, strict=True))


@dataclass(frozen=True)
class Round:
    """An answer settled at levels of feeding (low and high of each block); still: its own."""

    answer: Answer
    levels: tuple[tuple[Held, Held], ...]
    still: bool
