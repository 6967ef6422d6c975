"""Why there is no ration: the least total shortfall, in the units of the needs, and what else
stands at its limit there.

Every need and limit gets a priced way out (the priced rows have theirs already), weighted by one
over its own size, and the model is solved again. A limit weighs twice as much as a need, so that
what is named short is what the animal goes without, unless limits contradict one another: then the
limits that clash are named. The energy requirement is evaluated at the answer's own
metabolisability.
"""

from __future__ import annotations

from math import inf

from rationlp.model.energy import ME_DENSITY_MOST, EnergyCurve, LinearRow, energy_curve, least_dm
from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.rows import build
from rationlp.model.rows.animal import protein_coefficients
from rationlp.model.rows.block import Block
from rationlp.model.solve import LiveModel, Solution, Status
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.records import dataclass
from rationlp.result import Shortfall

_LIMIT_WEIGHT = 2.0
_COST_WEIGHT = 1e-6
_NOTICEABLE = 1e-6
_PASSES = 25
_MOST_CUTS = 30


@dataclass(frozen=True)
class Explanation:
    """shortfalls: what cannot be met, largest share first. at_limit: what else binds there, in
    words.
    """

    shortfalls: tuple[Shortfall, ...]
    at_limit: tuple[str, ...]


def elastic(block: Block) -> Program:
    """The block's programme with a priced way out of every need and limit; definitions stay as they
    are.
    """
    program = build([block])
    columns = [
        Column(column.key, column.cost * _COST_WEIGHT, column.low, column.high)
        for column in program.columns
        if column.key[0] != "short_energy"
    ]
    if _hard_ceiling(block):
        columns.append(Column(_over_ceiling_key(block), _LIMIT_WEIGHT / _energy_size(block)))
    rows: list[Row] = []
    for row in program.rows:
        coefs = {key: value for key, value in row.coefs.items() if key[0] != "short_energy"}
        if row.kind not in ("definition", "priced"):
            weight = (1.0 if row.kind == "need" else _LIMIT_WEIGHT) / _size(block, row)
            if row.low > -inf:
                coefs[("short", *row.key)] = 1.0
                columns.append(Column(("short", *row.key), weight))
            if row.high < inf:
                coefs[("over", *row.key)] = -1.0
                columns.append(Column(("over", *row.key), weight))
        rows.append(Row(row.key, coefs, row.low, row.high, row.kind, row.unit, row.title, row.why))
    return Program(tuple(columns), tuple(rows))


def _size(block: Block, row: Row) -> float:
    """What a row's amount is held against: its bound, or for a share what a quarter of the intake
    would bring.
    """
    if row.key[0] == "energy" and block.needs.energy is not None:
        return _energy_size(block)
    bounds = [abs(bound) for bound in (row.low, row.high) if abs(bound) not in (0.0, inf)]
    if bounds:
        return max(bounds)
    eaten = block.needs.intake.cap_kg_dm if block.needs.intake is not None else 1.0
    return max(0.25 * eaten * max((abs(value) for value in row.coefs.values()), default=1.0), 1e-6)


def _energy_size(block: Block) -> float:
    need = block.needs.energy
    required = inf if need is None else need.required_mj(0.6)
    return required if required < inf else 100.0


def _hard_ceiling(block: Block) -> bool:
    """A group fed a set amount may not eat more energy than its ceiling allows, at any price."""
    return (
        block.needs.energy is not None
        and block.needs.energy_ceiling is not None
        and not block.needs.ceiling_priced
    )


def _over_ceiling_key(block: Block) -> Key:
    return block.key("over_ceiling")


def _under_ceiling(block: Block, live: LiveModel) -> Solution:
    """Solve, with a priced way over the ceiling, adding its tangent at each answer's own D until
    the answer keeps to it.
    """
    need, multiple = block.needs.energy, block.needs.energy_ceiling
    solution = live.solve()
    if need is None or multiple is None or not _hard_ceiling(block):
        return solution
    dm_key, me_key = block.key("dm"), block.key("me")
    for number in range(_MOST_CUTS):
        if solution.status is not Status.OPTIMAL or live.value(solution, dm_key) <= 0.0:
            break
        dm, over = live.value(solution, dm_key), live.value(solution, _over_ceiling_key(block))
        most, slope, _ = EnergyCurve(need, multiple, 0.0, inf).at(dm)
        if most == inf or live.value(solution, me_key) - over - most <= 1e-6 * most:
            break
        coefs = {me_key: 1.0, dm_key: -slope, _over_ceiling_key(block): -1.0}
        mark = block.key("ceiling_cut", str(len(live.rows)), str(number))
        live.add_row(Row(mark, coefs, -inf, most - slope * dm, "definition", "MJ"))
        solution = live.solve()
    return solution


def _solve(block: Block, live: LiveModel) -> Solution:
    """The least shortfall: the energy row moves with the answer's own D, as in the search."""
    need = block.needs.energy
    if need is None:
        return live.solve(cold=True)
    low = least_dm(need, ME_DENSITY_MOST)
    cap = block.needs.intake.cap_kg_dm if block.needs.intake is not None else 2.0 * low
    if low == inf:
        low = 0.4 * cap
    curve = energy_curve(need, low, max(1.5 * cap, 1.5 * low))
    best: Solution | None = None
    for start in (curve.high, 0.5 * (curve.low + curve.high), cap):
        touch = min(max(start, curve.low), curve.high)
        for _ in range(_PASSES):
            _hold(block, live, curve.safe_row(touch, curve.low, curve.high))
            solution = _under_ceiling(block, live)
            if solution.status is not Status.OPTIMAL:
                break
            if best is None or solution.objective < best.objective:
                best = solution
            dm = min(max(live.value(solution, block.key("dm")), curve.low), curve.high)
            if abs(dm - touch) <= 1e-9 * curve.high:
                break
            touch = dm
    return best if best is not None else live.solve(cold=True)


def _hold(block: Block, live: LiveModel, row: LinearRow) -> None:
    live.set_coefficient(block.key("energy"), block.key("dm"), -row.slope)
    live.set_row_bounds(block.key("energy"), row.level, inf)


def explain(block: Block) -> Explanation:
    """The least shortfall of a block that has no ration, and what else is at its limit there."""
    live = LiveModel(elastic(block))
    need = block.needs.energy
    if need is not None and block.needs.mp_g is not None:
        level = need.feeding_level(0.6)
        level = level if level < inf else need.feeding_level(0.75)
        for name, coefs in zip(
            ("microbes_energy", "microbes_nitrogen", "protein"),
            protein_coefficients(block, level, level, level),
            strict=True,
        ):
            for key, value in coefs.items():
                live.set_coefficient(block.key(name), key, value)
    solution = _solve(block, live)
    if solution.status is not Status.OPTIMAL:
        return Explanation(
            (), ("the limits contradict one another even when every need is left out",)
        )
    shortfalls = short_amounts(block, live, solution)
    named = {shortfall.need for shortfall in shortfalls}
    return Explanation(shortfalls, _at_limit(live, solution, named))


def short_amounts(block: Block, live: LiveModel, solution: Solution) -> tuple[Shortfall, ...]:
    """What a block goes without in a solution of its elastic programme, alone or among others; the
    largest share first.
    """
    found: list[tuple[float, Shortfall]] = []
    for row in live.rows:
        if row.key[-2:] != block.key("")[-2:]:
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
            if row.key[0] == "energy":
                amount, wanted = _energy_short(block, live, solution)
            name = row.title if side == "short" else f"{row.title} above its limit"
            found.append((amount / size, Shortfall(name, amount, wanted, row.unit, row.why)))
    found += _over_ceiling(block, live, solution)
    return tuple(shortfall for _, shortfall in sorted(found, key=lambda pair: -pair[0]))


def _over_ceiling(
    block: Block, live: LiveModel, solution: Solution
) -> list[tuple[float, Shortfall]]:
    """Energy above the ceiling of a group fed a set amount, where the other needs cannot be met
    below it.
    """
    need, multiple = block.needs.energy, block.needs.energy_ceiling
    if need is None or multiple is None or _over_ceiling_key(block) not in live.column_index:
        return []
    over = live.value(solution, _over_ceiling_key(block))
    if over <= _NOTICEABLE * _energy_size(block):
        return []
    limit = EnergyCurve(need, multiple, 0.0, inf).value(live.value(solution, block.key("dm")))
    why = (
        f"at most {100 * multiple:.0f} % of the need, so that cheap energy does not fatten (common"
        " practice)"
    )
    return [
        (over / limit, Shortfall("metabolisable energy above its limit", over, limit, "MJ", why))
    ]


def _energy_short(block: Block, live: LiveModel, solution: Solution) -> tuple[float, float]:
    """(MJ short, MJ needed) at the ration's own q; where the growth curve has no answer, at the
    leanest q that has one.
    """
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
        if row.kind in ("limit", "ceiling") and abs(dual) > 1e-9 and row.title not in named:
            side = "at its most" if dual < 0.0 else "at its least"
            bound = row.high if dual < 0.0 else row.low
            amount = f" ({bound:.4g} {row.unit})" if bound not in (0.0, inf, -inf) else ""
            words.append(f"{row.title} is {side}{amount}: {row.why}")
    return tuple(dict.fromkeys(words))
