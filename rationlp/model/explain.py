"""Why there is no ration: the least total shortfall, in the units of the needs, and what else
stands at its limit there.

Every need and limit gets a priced way out (the priced rows have theirs already), weighted by one
over its own size, and the model is solved again. A limit weighs twice as much as a need, so that
what is named short is what the animal goes without, unless limits contradict one another: then the
limits that clash are named. The energy requirement is evaluated at the answer's own
metabolisability.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import inf

from rationlp.model.answer import Answer, Part
from rationlp.model.energy import ME_DENSITY_MOST, EnergyCurve, LinearRow, energy_curve, least_dm
from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.points import LEAST_DM_KG, plain_point
from rationlp.model.rows import build
from rationlp.model.rows.block import Block
from rationlp.model.settle import SettledModel
from rationlp.model.solution import Solution
from rationlp.model.solve import LiveModel
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.records import dataclass
from rationlp.result import Shortfall

_LIMIT_WEIGHT = 2.0
_COST_WEIGHT = 1e-6
_NOTICEABLE = 1e-6
_UNREACHED_Q = 0.7
"""Metabolisability asked of a ration where no ME is enough for the gain [-]."""
Ties = tuple[tuple[Column, ...], tuple[Row, ...]]


@dataclass(frozen=True)
class Explanation:
    """shortfalls: the largest share first. at_limit: what else binds there, in words."""

    shortfalls: tuple[Shortfall, ...]
    at_limit: tuple[str, ...]


class ElasticPart(Part):
    """A block whose needs and limits may all be missed. usual_kg: what it would eat [kg DM]."""

    def __init__(self, block: Block, weight: float) -> None:
        super().__init__(block, weight)
        self.over = _over_ceiling_key(block)
        if self.need is None:
            self.usual_kg = 0.0
            return
        low = least_dm(self.need, ME_DENSITY_MOST)
        if self.by_point:
            # Its energy is net: the richest feed is no measure of what it would eat.
            low = LEAST_DM_KG
        self.usual_kg = 2.0 * low
        if block.needs.intake is not None:
            self.usual_kg = block.needs.intake.cap_kg_dm
        if low == inf:
            low = 0.4 * self.usual_kg
        self.curve = energy_curve(self.need, low, 1.5 * max(self.usual_kg, low))
        if _hard_ceiling(block):
            self.ceiling = EnergyCurve(self.need, block.needs.energy_ceiling or 1.0, 0.0, inf)


class ElasticModel(SettledModel):
    """Blocks with a priced way out of every need and limit, each at its weight; ties: columns
    and rows between them, which stay as they are.
    """

    def __init__(self, blocks: Iterable[tuple[Block, float]], ties: Ties = ((), ())) -> None:
        self.elastic = [ElasticPart(block, weight) for block, weight in blocks]
        columns: list[Column] = []
        rows: list[Row] = []
        for part in self.elastic:
            alone = elastic(part.block)
            columns += [replace(c, cost=c.cost * part.weight) for c in alone.columns]
            rows += alone.rows
        program = Program((*columns, *ties[0]), (*rows, *ties[1]))
        super().__init__(program, self.elastic, 0.0)
        for number, part in enumerate(self.elastic):
            if part.by_point:
                self.hold_level(number, plain_point(part.block, part.usual_kg))
            elif part.need is not None:
                level = part.need.feeding_level(0.6)
                self.hold_level(number, level if level < inf else part.need.feeding_level(0.75))

    def hold_energy(self, number: int, row: LinearRow, low: float, high: float) -> None:
        """Set a block's energy row; what it eats stays free, and a need that no ME meets is taken
        for one of a rich ration.
        """
        part = self.elastic[number]
        if row.level == inf:
            row = LinearRow(0.0, _UNREACHED_Q * GE_MJ_PER_KG_DM * part.usual_kg)
        super().hold_energy(number, row, 0.0, inf)

    def least_missed(self) -> Answer | None:
        """The least that must be missed, from several starts; None where definitions clash."""
        ends = [(0.0, 0.0)] * len(self.elastic)
        for number, part in enumerate(self.elastic):
            if part.curve is not None:
                ends[number] = (part.curve.low, part.curve.high)
        middle = [0.5 * (low + high) for low, high in ends]
        usual = [part.usual_kg for part in self.elastic]
        return self.search([[high for _, high in ends], middle, usual])


def elastic(block: Block) -> Program:
    """The block's programme with a priced way out of every need and limit."""
    program = build([block])
    unused = {block.key("short_energy"), block.key("short_protein")}
    used = (column for column in program.columns if column.key not in unused)
    columns = [replace(column, cost=column.cost * _COST_WEIGHT) for column in used]
    if _hard_ceiling(block):
        columns.append(Column(_over_ceiling_key(block), _LIMIT_WEIGHT / _energy_size(block)))
    rows: list[Row] = []
    for row in program.rows:
        coefs = {key: value for key, value in row.coefs.items() if key not in unused}
        if row.kind not in ("definition", "priced"):
            weight = (1.0 if row.kind == "need" else _LIMIT_WEIGHT) / _size(block, row)
            if row.low > -inf:
                coefs[("short", *row.key)] = 1.0
                columns.append(Column(("short", *row.key), weight))
            if row.high < inf:
                coefs[("over", *row.key)] = -1.0
                columns.append(Column(("over", *row.key), weight))
        rows.append(replace(row, coefs=coefs))
    return Program(tuple(columns), tuple(rows))


def _size(block: Block, row: Row) -> float:
    """What a row is held against: its bound; for a share, what a quarter of the intake brings."""
    if row.key == block.key("energy"):
        return _energy_size(block)
    bounds = [abs(bound) for bound in (row.low, row.high) if abs(bound) not in (0.0, inf)]
    if bounds:
        return max(bounds)
    eaten = 1.0
    if block.needs.intake is not None:
        eaten = block.needs.intake.cap_kg_dm
    return max(0.25 * eaten * row.size, 1e-6)


def _energy_size(block: Block) -> float:
    need = block.needs.energy
    required = inf if need is None else need.required_mj(0.6)
    return required if required < inf else 100.0


def _hard_ceiling(block: Block) -> bool:
    """A group fed a set amount may not eat more energy than its ceiling allows, at any price."""
    needs = block.needs
    return None not in (needs.energy, needs.energy_ceiling) and not needs.ceiling_priced


def _over_ceiling_key(block: Block) -> Key:
    return block.key("over_ceiling")


def explain(block: Block) -> Explanation:
    """The least shortfall of a block that has no ration, and what else is at its limit there."""
    model = ElasticModel([(block, 1.0)])
    answer = model.least_missed()
    if answer is None:
        nothing = "the limits contradict one another even when every need is left out"
        return Explanation((), (nothing,))
    shortfalls = short_amounts(block, model.live, answer.solution)
    named = {shortfall.need for shortfall in shortfalls}
    return Explanation(shortfalls, _at_limit(model.live, answer.solution, named))


def short_amounts(block: Block, live: LiveModel, solution: Solution) -> tuple[Shortfall, ...]:
    """What a block goes without in a solution of its elastic programme, the largest first."""
    found: list[tuple[float, Shortfall]] = []
    for row in live.rows:
        if not block.owns(row.key):
            continue
        size = _size(block, row)
        for side in ("short", "over"):
            key: Key = (side, *row.key)
            if key not in live.column_index:
                continue
            amount = live.value(solution, key)
            if amount <= _NOTICEABLE * size:
                continue
            wanted = row.low if side == "short" else row.high
            if row.key == block.key("energy"):
                amount, wanted = _energy_short(block, live, solution)
            name = row.title if side == "short" else f"{row.title} above its limit"
            found.append((amount / size, Shortfall(name, amount, wanted, row.unit, row.why)))
    found += _over_ceiling(block, live, solution)
    return tuple(shortfall for _, shortfall in sorted(found, key=lambda pair: -pair[0]))


def _over_ceiling(
    block: Block, live: LiveModel, solution: Solution
) -> list[tuple[float, Shortfall]]:
    """Energy above the ceiling of a group fed a set amount, where needs call for it."""
    need, multiple = block.needs.energy, block.needs.energy_ceiling
    if need is None or multiple is None or _over_ceiling_key(block) not in live.column_index:
        return []
    over = live.value(solution, _over_ceiling_key(block))
    if over <= _NOTICEABLE * _energy_size(block):
        return []
    limit = EnergyCurve(need, multiple, 0.0, inf).value(live.value(solution, block.key("dm")))
    most = f"at most {100 * multiple:.0f} % of the need"
    why = f"{most}, so that cheap energy does not fatten (common practice)"
    name = "metabolisable energy above its limit"
    return [(over / limit, Shortfall(name, over, limit, "MJ", why))]


def _energy_short(block: Block, live: LiveModel, solution: Solution) -> tuple[float, float]:
    """(MJ short, MJ needed) at the ration's own q, or at the leanest that has an answer."""
    need = block.needs.energy
    assert need is not None
    dm = live.value(solution, block.key("dm"))
    me = live.value(solution, block.key("me"))
    q = me / dm / GE_MJ_PER_KG_DM if dm > 0.0 else 0.6
    while need.required_mj(q) == inf and q < 1.0:
        q += 0.005
    needed = need.required_mj(q)
    return max(needed - me, 0.0), needed


def _at_limit(live: LiveModel, solution: Solution, named: set[str]) -> tuple[str, ...]:
    words = []
    for row, dual in zip(live.rows, solution.row_duals, strict=True):
        if row.kind == "limit" and abs(dual) > 1e-9 and row.title not in named:
            side = "at its least"
            if dual < 0.0:
                side = "at its most"
            bound = row.high if dual < 0.0 else row.low
            amount = ""
            if bound not in (0.0, inf, -inf):
                amount = f" ({bound:.4g} {row.unit})"
            words.append(f"{row.title} is {side}{amount}: {row.why}")
    return tuple(dict.fromkeys(words))
