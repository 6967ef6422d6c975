"""What a settled model hands on, and one block in it."""

from __future__ import annotations

from rationlp.model.energy import EnergyCurve
from rationlp.model.points import Held
from rationlp.model.rows.block import Block
from rationlp.model.solution import Solution
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.records import dataclass

_NOT_SHORT = 1e-9


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
    """An answer of a model. dm, me: D and E of every block [kg, MJ a head a day]; short: energy
    [MJ] and protein [g] short of it, added. costs: of the passes that led to it.
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
        """Every energy and protein row is met without the priced shortage."""
        limits = (_NOT_SHORT * max(1.0, me) for me in self.me)
        return all(short <= limit for short, limit in zip(self.short, limits, strict=True))


@dataclass(frozen=True)
class Round:
    """An answer settled at levels of feeding (low and high of each block); still: its own."""

    answer: Answer
    levels: tuple[tuple[Held, Held], ...]
    still: bool
