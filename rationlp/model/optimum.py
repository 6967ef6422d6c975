"""The answers of one block: its cheapest ration with its certificate, or that there is none."""

from __future__ import annotations

from rationlp.model.answer import Answer
from rationlp.model.bound import close_enough
from rationlp.model.by_point import PROMISED_GAP
from rationlp.model.points import Point
from rationlp.model.proof import Certificate
from rationlp.model.search import BlockModel
from rationlp.records import dataclass


@dataclass(frozen=True)
class Optimum:
    """The cheapest ration of a block with its certificate.

    values: kg DM a head a day by offer id. objective: currency a head a day, priced excess
    included. solution: the last programme's own answer (its duals are the marginal values). level:
    L held, which is the ration's own. held_q: the metabolisability held in that programme [-], None
    where L stands still by itself. lower_bound: at every dry matter and every level of feeding;
    bound_any_level: the same, None for a class without protein rows. lps: programmes solved.
    row_duals: by row key of that programme. point: where the rows touch that move with the whole
    ration, None for others. model: the block inside the solver, for whoever goes on from here; it
    does not stand as it stood at the optimum.
    """

    values: dict[str, float]
    objective: float
    dm_kg: float
    me_mj: float
    over_mj: float
    certificate: Certificate
    lower_bound: float
    level: float | None
    held_q: float | None
    bound_any_level: float | None
    lps: int
    row_duals: dict[tuple[str, ...], float]
    reduced_costs: dict[str, float]
    model: BlockModel
    point: Point | None = None


@dataclass(frozen=True)
class NoOptimum:
    """No ration. proved: the bounding programme has no solution at any level of feeding."""

    proved: bool
    lps: int


@dataclass(frozen=True)
class LevelRation:
    """A ration at one level of feeding [-], and the level it has. certificate: None for one on the
    way, whose ties were not broken. held_q: q held in its programme [-], None where the level
    stands still by itself.
    """

    level: float
    own_level: float
    answer: Answer
    values: tuple[float, ...]
    certificate: Certificate | None
    held_q: float | None = None


@dataclass(frozen=True)
class SettledLevels:
    """Rations at a level of feeding. answer: the last; still: its own level is the one held."""

    rounds: tuple[LevelRation, ...]
    answer: Answer | None
    level: float
    still: bool


def gap_closed(optimum: Optimum) -> bool:
    """The gap is within what is promised: 0.01 % of the cost, 0.2 % by NRC (2001)."""
    unit = optimum.model.live.unit
    return close_enough(optimum.objective, optimum.lower_bound, promised_gap(optimum), unit)


def promised_gap(optimum: Optimum) -> float:
    """Gap to which a ration is promised to be proved [share of the cost]."""
    return PROMISED_GAP if optimum.point is not None else 1e-4
