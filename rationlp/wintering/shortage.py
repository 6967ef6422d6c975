"""The least shortage of a winter that cannot be fed: who goes short of what, shares of need times
head-days at their least.

A shortage of energy, protein or appetite is a priced column of each run; limits stay as they are,
and so do the stores. What is met of an energy need is f = E / M(q), with M the requirement at the
ration's own q = E / (18.8 D). Each pass replaces f by its tangent at the last answer: where f is 1
that is the tangent of M*, so a ration without shortage is held to the same row.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from rationlp.model.answer import Answer
from rationlp.model.energy import Q_MOST, LinearRow
from rationlp.model.lp import Column, Key, Row
from rationlp.model.ration import NOTHING_KG, eat
from rationlp.model.rows.block import Block
from rationlp.model.solution import Solution
from rationlp.needs.energy import GE_MJ_PER_KG_DM, EnergyNeed
from rationlp.records import dataclass
from rationlp.wintering.alone import Alone
from rationlp.wintering.search import WinterModel

PASSES = 25
APPETITE_WEIGHT = 0.01
"""Weight of a share of appetite beside a share of a need [-]: a full belly comes second."""
LIMIT_WEIGHT = 1000.0
"""Weight of a share of a least amount missed [-]: a run that misses one is fed nothing."""
GRADES = ((0.1, 1.0), (0.1, 1.1), (0.1, 1.2), (0.2, 1.35), (0.2, 1.6), (inf, 2.0))
"""Grades of a shortage of energy: width as a share of the need [-] and weight [-].

A share counts more the deeper it is, so that feed is shared out: with equal weights some animals
would starve for weeks while others lack nothing. Ours, no source (c).
"""
NOBODY_FED = 0.98
"""Share of an energy need from which a run gets no ration: what is left is no feed [-]."""
_MISSED = 1e-6
_BETTER = 1e-7
_Q_STEP = 0.005
_Q_FROM = 0.25


@dataclass(frozen=True)
class RunShortage:
    """What one run goes without, as shares of its need [-].

    missed: shares of least amounts that no feed is there for, added up.
    """

    energy: float
    protein: float
    appetite: float
    missed: float = 0.0

    @property
    def total(self) -> float:
        """What is minimised for a head and day."""
        least = LIMIT_WEIGHT * self.missed
        return _graded(self.energy) + self.protein + APPETITE_WEIGHT * self.appetite + least

    @property
    def unfed(self) -> bool:
        """Whether the run gets no ration at all."""
        return self.missed > _MISSED or self.energy >= NOBODY_FED


def _graded(share: float) -> float:
    """A share of the energy need, weighted by its grades."""
    total, left = 0.0, share
    for width, weight in GRADES:
        total += weight * min(left, width)
        left = max(left - width, 0.0)
    return total


@dataclass(frozen=True)
class LeastShortage:
    """shortages: by run. solution: the programme's own answer, whose duals price the stores; costs:
    what it minimised.
    """

    shortages: tuple[RunShortage, ...]
    solution: Solution
    costs: dict[Key, float]
    total: float


def least_shortage(model: WinterModel) -> LeastShortage | None:
    """The least shortage found; None where limits contradict one another whatever the animals go
    without. Consumes the model.
    """
    costs = _open(model)
    points = [_first_point(model, number) for number in range(len(model.runs))]
    best: LeastShortage | None = None
    for _ in range(PASSES):
        for number in range(len(model.runs)):
            _hold(model, number, points[number], costs)
        model.live.set_costs(costs)
        answer = model.solve()
        if answer is None:
            break
        solution = answer.solution
        shortages = tuple(_shortage(model, number, solution) for number in range(len(model.runs)))
        total = sum(run.weight * one.total for run, one in zip(model.runs, shortages, strict=True))
        if best is not None and total >= best.total * (1.0 - _BETTER):
            break
        best = LeastShortage(shortages, solution, dict(costs), total)
        points = _points(model, answer, points)
    return best


def _open(model: WinterModel) -> dict[Key, float]:
    """Add the priced columns of protein, appetite and least amounts; the costs of them."""
    live, costs = model.live, {}
    for number, single in enumerate(model.singles):
        for row in _short_rows(single):
            weight = APPETITE_WEIGHT if row.words.part_of == "appetite" else LIMIT_WEIGHT
            weight = 1.0 if row.kind == "need" else weight
            needed = row.low
            if row.words.part_of == "protein":
                needed = max(single.block.needs.mp_required_g or 0.0, 1e-6)
            key = _goes_short(row)
            live.add_column(Column(key))
            live.set_coefficient(row.key, key, 1.0)
            costs[key] = single.weight * weight / needed
        if single.need is not None:
            for column in _energy_columns(model, number)[1:]:
                live.add_column(Column(column))
                live.set_coefficient(single.energy, column, 1.0)
    return costs


def _short_rows(single: Alone) -> list[Row]:
    """Rows of a run, besides energy, that may go short."""
    rows = (row for row in single.program.rows if row.kind in ("need", "limit"))
    return [row for row in rows if 0.0 < row.low < inf and row.words.part_of != "energy"]


def _goes_short(row: Row) -> Key:
    return ("goes_short", *row.key)


def _energy_columns(model: WinterModel, number: int) -> list[Key]:
    """The columns of a run's shortage of energy, one for each grade of GRADES."""
    single = model.singles[number]
    deeper = (single.block.key("deep_short", str(grade)) for grade in range(1, len(GRADES)))
    return [single.short, *deeper]


def _first_point(model: WinterModel, number: int) -> tuple[float, float]:
    """(E, D) at which f is replaced first: a middling ration, nine tenths of the appetite."""
    single = model.singles[number]
    if single.need is None:
        return 0.0, 0.0
    if single.curve is not None and single.start[0] > 0.0:
        dm = min(max(single.start[0], single.curve.low), single.curve.high)
        return single.curve.value(dm), dm
    intake = single.block.needs.intake
    dm = 0.9 * intake.cap_kg_dm if intake is not None else 5.0
    return 0.58 * GE_MJ_PER_KG_DM * dm, dm


def usable_q(need: EnergyNeed, q: float) -> float:
    """q, or the leanest q above it at which the requirement has an answer [-]."""
    q = min(max(q, _Q_FROM), Q_MOST)
    while need.required_mj(q) == inf and q < Q_MOST:
        q += _Q_STEP
    return q


def _hold(
    model: WinterModel, number: int, point: tuple[float, float], costs: dict[Key, float]
) -> None:
    """The tangent of the share met as a row in MJ, the price of a MJ short, and the level there."""
    single, run = model.singles[number], model.runs[number]
    need = single.need
    if need is None:
        return
    me, dm = point
    if single.by_point:
        _hold_point(model, number, costs)
        return
    q = usable_q(need, me / dm / GE_MJ_PER_KG_DM)
    me = q * GE_MJ_PER_KG_DM * dm
    required, first, _ = need.required(q)
    share = me / required
    by_me = (1.0 - q * first / required) / required
    by_dm = me * q * first / required**2 / dm
    level = (1.0 - share + by_me * me + by_dm * dm) / by_me
    high = inf if single.curve is None else single.curve.high
    model.hold_energy(number, LinearRow(-by_dm / by_me, level), 0.0, high)
    model.hold_level(number, need.feeding_level(q))
    for column, (most, weight) in zip(_energy_columns(model, number), GRADES, strict=True):
        model.live.set_column_bounds(column, 0.0, most / by_me)
        costs[column] = run.weight * by_me * weight


def _hold_point(model: WinterModel, number: int, costs: dict[Key, float]) -> None:
    """The same where the need is a plain number, and the feeds bend: the share short is linear."""
    single, run = model.singles[number], model.runs[number]
    assert single.need is not None
    needed = single.need.required_mj(0.0)
    high = inf if single.curve is None else single.curve.high
    model.hold_energy(number, LinearRow(0.0, needed), 0.0, high)
    for column, (most, weight) in zip(_energy_columns(model, number), GRADES, strict=True):
        model.live.set_column_bounds(column, 0.0, most * needed)
        costs[column] = run.weight * weight / needed


def _points(
    model: WinterModel, answer: Answer, before: Sequence[tuple[float, float]]
) -> list[tuple[float, float]]:
    """(E, D) of every run's answer; where it eats nothing, the point before."""
    points = []
    for number, single in enumerate(model.singles):
        point = before[number]
        if single.by_point:
            model.hold_level(number, model.own_level(number, answer))
        if single.need is not None and answer.dm[number] > 1e-6:
            point = (answer.me[number], answer.dm[number])
        points.append(point)
    return points


def _shortage(model: WinterModel, number: int, solution: Solution) -> RunShortage:
    """What a run's answer truly goes without, from its kilograms at its own q and level."""
    block, live = model.runs[number].block, model.live
    kg = {offer.id: live.value(solution, block.feed(offer)) for offer in block.offers}
    fed = {name: amount for name, amount in kg.items() if amount > NOTHING_KG}
    energy, protein = shares_short(block, fed)
    appetite = missed = 0.0
    for row in _short_rows(model.singles[number]):
        share = live.value(solution, _goes_short(row)) / row.low
        if row.words.part_of == "appetite":
            appetite = share
        elif row.words.part_of != "protein":
            missed += share
    return RunShortage(energy, protein, appetite, missed)


def shares_short(block: Block, kg_dm: dict[str, float]) -> tuple[float, float]:
    """Shares of energy and protein that a ration lacks, at its own q and level of feeding [-]."""
    if not kg_dm:
        return float(block.needs.energy is not None), float(block.needs.mp_g is not None)
    eaten = eat(block, kg_dm, {})
    energy = protein = 0.0
    need = block.needs.energy
    if need is not None:
        required_mj = need.required_mj(usable_q(need, eaten.q))
        energy = max(0.0, 1.0 - eaten.supply.energy_mj / required_mj)
    required, supplied = block.needs.mp_required_g, eaten.supply.mp_g
    if required and supplied is not None:
        protein = max(0.0, 1.0 - supplied / required)
    return energy, protein
