"""One course through an unknown winter: solved, certified, and what it comes to in each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from rationlp.chances.layout import LATE_STAGE, NodeBlock, TreeLayout
from rationlp.chances.winters import ListedWinter, winter_mark
from rationlp.errors import ProofFailed, SolverTrouble
from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.proof import Certificate, certify
from rationlp.model.settle import CEILING_TOLERANCE
from rationlp.model.solution import Solution, Status
from rationlp.model.solve import LiveModel, unit_of_money
from rationlp.records import dataclass
from rationlp.wintering.links import KG_PER_T

BETA = 0.9
"""The dearest tenth of winters is what lies beyond this share."""
NOTHING_LATE_T = 0.05
"""Forage bought late below this is none [t DM]."""
WHOLE_GAP = 1e-4
MOST_CUTS = 30
_HELD = 1e-7
LEAST_KEPT = 1e-4
"""Of a group of which less than this is still there, nothing is fed [share]."""
MONEY = frozenset({"feed", "buy", "left", "sold", "rescue", "sell", "contract", "call", "unused"})
"""Kinds of columns whose cost is money that changes hands, or what forage counts for; all others
put a price on shortages, excess and changes, which nobody pays."""


@dataclass(frozen=True)
class Wish:
    """What is asked of a course beside the least mean cost.

    most_late: share of winters with forage bought late at most [-], None for no limit. tail: weight
    of the dearest tenth beside the mean [0 to 1]. held: first and last of columns of autumn, kept.
    """

    most_late: float | None = None
    tail: float = 0.0
    held: Mapping[Key, float] | None = None


@dataclass(frozen=True)
class InWinter:
    """What a course comes to in one listed winter. cost: what is compared; priced: the part of it
    that is no money, for shortages and excess [currency]. late_t_dm: forage bought after autumn,
    `rescue_t_dm` of it on the day that a store was empty. left_t_dm: of all stores, and of bought
    forage, at turnout.
    """

    winter: ListedWinter
    cost: float
    priced: float
    late_t_dm: float
    rescue_t_dm: float
    left_t_dm: float

    @property
    def money(self) -> float:
        """The cost in money [currency]."""
        return self.cost - self.priced


@dataclass(frozen=True)
class Course:
    """A course through the listed winters, proved on them.

    mean: what is compared of a mean winter, priced shortages and excess included [currency]. bound:
    of no course is it less. objective: what was made least. values: of the programme's columns.
    reduced: reduced costs of the same columns [currency].
    """

    mean: float
    objective: float
    bound: float
    certificate: Certificate
    winters: tuple[InWinter, ...]
    values: Mapping[Key, float]
    reduced: Mapping[Key, float]

    @property
    def money(self) -> float:
        """Money that a mean winter costs [currency]."""
        return sum(winter.winter.weight * winter.money for winter in self.winters)

    @property
    def priced(self) -> float:
        """What shortages and excess of a mean winter are priced at, no money [currency]."""
        return self.mean - self.money

    @property
    def gap(self) -> float:
        """What may be missing to the best course, as a share of the cost [-]."""
        return max(self.objective - self.bound, 0.0) / max(abs(self.objective), 1.0)

    @property
    def late_share(self) -> float:
        """Share of winters in which forage is bought late [-]."""
        late = (
            winter.winter.weight for winter in self.winters if winter.late_t_dm > NOTHING_LATE_T
        )
        return sum(late)

    @property
    def dearest_tenth(self) -> float:
        """What is compared of the dearest tenth of winters [currency]."""
        return dearest([(winter.cost, winter.winter.weight) for winter in self.winters])

    @property
    def dearest_money(self) -> float:
        """Mean money of the tenth of winters that cost most money [currency]."""
        return dearest([(winter.money, winter.winter.weight) for winter in self.winters])


def dearest(costs: Sequence[tuple[float, float]]) -> float:
    """Mean of the dearest tenth of (cost, weight); what reaches beyond it counts in part."""
    room, total = 1.0 - BETA, 0.0
    for cost, weight in sorted(costs, reverse=True):
        share = min(weight, room)
        total += share * cost
        room -= share
    return total / (1.0 - BETA)


def solve_course(layout: TreeLayout, wish: Wish | None = None) -> Course | None:
    """The best course; None where none keeps what is asked. Raises SolverTrouble, ProofFailed."""
    asked = wish or Wish()
    program = _with_wish(layout, asked)
    live = LiveModel(program, unit_of_money(program), WHOLE_GAP, presolve=True)
    bound = None
    for _ in range(MOST_CUTS):
        solution = live.solve(cold=True)
        if solution.status is Status.INFEASIBLE:
            return None
        if solution.status is not Status.OPTIMAL:
            raise SolverTrouble(f"the plan for the spread ended as {solution.status.value}")
        if live.has_whole_numbers:
            bound = live.whole_bound()
            live.hold_whole(solution)
            solution = live.solve(cold=True)
        if not _cut(layout, live, solution):
            return _course(layout, live, solution, bound)
        if live.has_whole_numbers:
            live.free_whole()
    raise ProofFailed("the ceilings on energy of the plan for the spread did not settle")


def _with_wish(layout: TreeLayout, wish: Wish) -> Program:
    columns, rows = list(layout.program.columns), list(layout.program.rows)
    if wish.held is not None:
        columns = [_held(column, wish.held) for column in columns]
    if wish.most_late is not None:
        more, tied = _late_rows(layout, wish.most_late)
        columns, rows = columns + more, rows + tied
    if wish.tail > 0.0:
        columns = _tail_costs(columns, wish.tail, layout)
        rows += _tail_rows(layout)
    return Program(tuple(columns), tuple(rows))


def _held(column: Column, held: Mapping[Key, float]) -> Column:
    """A column of autumn within rounding of what it was."""
    if column.key not in held:
        return column
    value = held[column.key]
    slack = _HELD * max(1.0, abs(value))
    low, high = max(column.low, value - slack), min(column.high, value + slack)
    return Column(column.key, column.cost, low, max(low, high), column.unit)


def _late(layout: TreeLayout, winter: ListedWinter) -> dict[Key, float]:
    """t DM of forage bought late in a winter, by column."""
    coefs: dict[Key, float] = {}
    for node in layout.tree.way(winter):
        if node.stage >= LATE_STAGE:
            for offer in layout.forages:
                coefs[("buy", offer.id, node.mark)] = offer.feed.dm_g_per_kg / KG_PER_T
    for store in layout.yard.farm.stores:
        coefs[("rescue", store.id, winter_mark(winter))] = 1.0
    return coefs


def _late_rows(layout: TreeLayout, most: float) -> tuple[list[Column], list[Row]]:
    """late_t ≤ M·u of every winter, u whole; Σ weight·u ≤ share. M: all that could be eaten."""
    columns, rows, counted = [], [], {}
    for winter in layout.tree.winters:
        key: Key = ("late", winter_mark(winter))
        eaten = sum(
            cell.weight * max(offer_high(cell), 0.0) / KG_PER_T
            for node in layout.tree.way(winter)
            for cell in layout.cells[node.number]
        )
        columns.append(Column(key, 0.0, 0.0, 1.0, integer=True))
        coefs = {**_late(layout, winter), key: -2.0 * eaten}
        rows.append(Row(("late_row", winter_mark(winter)), coefs, -inf, 0.0))
        counted[key] = winter.weight
    # A weight is a sum of rounded numbers: what is exactly the share is still allowed.
    rows.append(Row(("late_share",), counted, -inf, most + 1e-9))
    return columns, rows


def offer_high(cell: NodeBlock) -> float:
    """Most dry matter that a head eats in a day [kg]."""
    curve = cell.pattern.part.curve
    if curve is not None:
        return curve.high
    highs = [column.high for column in cell.pattern.columns if column.key[0] == "dm"]
    return min((high for high in highs if high < inf), default=100.0)


def _tail_costs(columns: list[Column], tail: float, layout: TreeLayout) -> list[Column]:
    """(1 − λ)·mean + λ·(v + Σ weight·excess/(1 − β))."""
    scaled = [
        Column(
            column.key,
            column.cost * (1.0 - tail),
            column.low,
            column.high,
            column.unit,
            column.title,
            column.integer,
        )
        for column in columns
    ]
    scaled.append(Column(("tail",), tail, -inf, inf))
    for winter in layout.tree.winters:
        cost = tail * winter.weight / (1.0 - BETA)
        scaled.append(Column(("excess", winter_mark(winter)), cost))
    return scaled


def _tail_rows(layout: TreeLayout) -> list[Row]:
    """cost of a winter − v − excess ≤ 0."""
    rows = []
    for winter in layout.tree.winters:
        coefs = dict(winter_costs(layout, winter))
        coefs[("tail",)] = -1.0
        coefs[("excess", winter_mark(winter))] = -1.0
        rows.append(Row(("tail_row", winter_mark(winter)), coefs, -inf, 0.0))
    return rows


def winter_costs(layout: TreeLayout, winter: ListedWinter) -> Mapping[Key, float]:
    """Cost of every column of a winter's own way, not weighted [currency]."""
    marks = {node.mark: node.weight for node in layout.tree.way(winter)}
    marks[winter_mark(winter)] = winter.weight
    return {
        column.key: column.cost / marks[column.key[-1]]
        for column in layout.program.columns
        if column.cost and column.key[-1] in marks
    }


def _cut(layout: TreeLayout, live: LiveModel, solution: Solution) -> bool:
    """Add the tangents of energy ceilings that an answer passes; whether there were any."""
    any_cut = False
    for cells in layout.cells.values():
        for cell in cells:
            part = cell.pattern.part
            if part.ceiling is None:
                continue
            dm, me = (live.value(solution, cell.key(key)) for key in (part.dm, part.me))
            over_key = cell.key(part.over)
            over = 0.0
            if over_key in live.column_index:
                over = live.value(solution, over_key)
            kept = 1.0
            if cell.kept is not None:
                kept = live.value(solution, cell.kept)
            if dm <= 0.0 or kept < LEAST_KEPT:
                continue
            dm, me, over = dm / kept, me / kept, over / kept
            value, slope, _ = part.ceiling.at(dm)
            if value == inf or me - over <= value * (1.0 + CEILING_TOLERANCE):
                continue
            coefs = {cell.key(part.me): 1.0, cell.key(part.dm): -slope}
            if over_key in live.column_index:
                coefs[over_key] = -1.0
            high = value - slope * dm
            if cell.kept is not None:
                coefs[cell.kept], high = -high, 0.0
            key = cell.key(part.block.key("tree_ceiling", str(len(live.rows))))
            live.add_row(Row(key, coefs, -inf, high, "ceiling"))
            any_cut = True
    return any_cut


def _course(layout: TreeLayout, live: LiveModel, solution: Solution, bound: float | None) -> Course:
    certificate = certify(live.numbers(), solution)
    if not certificate.passed:
        raise ProofFailed(
            f"the plan for the spread fails its own check (rows {certificate.primal:.1e}, duals"
            f" {certificate.dual:.1e}, gap {certificate.gap:.1e})"
        )
    values = dict(zip(live.column_index, solution.values, strict=True))
    winters = tuple(_in_winter(layout, winter, values) for winter in layout.tree.winters)
    return Course(
        mean=sum(winter.winter.weight * winter.cost for winter in winters),
        objective=certificate.objective,
        bound=certificate.dual_objective if bound is None else min(bound, certificate.objective),
        certificate=certificate,
        winters=winters,
        values=values,
        reduced=dict(zip(live.column_index, solution.reduced_costs, strict=True)),
    )


def _in_winter(layout: TreeLayout, winter: ListedWinter, values: Mapping[Key, float]) -> InWinter:
    mark = winter_mark(winter)
    costs = winter_costs(layout, winter)
    stores = [store.id for store in layout.yard.farm.stores]
    rescue = sum(values["rescue", store, mark] for store in stores)
    late = sum(share * values[key] for key, share in _late(layout, winter).items())
    left = sum(
        values["left", offer.id, mark] * offer.feed.dm_g_per_kg / KG_PER_T
        for offer in layout.forages
    )
    for store in stores:
        used = values["rescue", store, mark]
        left += layout.free_t_dm(store, winter) + used - layout.used_t_dm(store, winter, values)
    cost = sum(price * values[key] for key, price in costs.items())
    priced = sum(price * values[key] for key, price in costs.items() if key[0] not in MONEY)
    return InWinter(winter, cost, priced, late, rescue, left)
