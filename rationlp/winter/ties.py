"""Among plans of equal cost: least bought, then stores used in the farm's order, one after the
other, then fixed weights.

As for one group, every column with a reduced cost and every row with a price is held where it
presses, so that nothing is paid for tidiness. Using stores one after the other keeps a plan from
changing clamps back and forth at no gain.
"""

from __future__ import annotations

from math import inf

from rationlp.model.solve import Solution, Status
from rationlp.winter.search import WinterModel

PRICED = 1e-9
NEED_TOLERANCE = 1e-6


def break_ties(model: WinterModel, solution: Solution) -> tuple[float, ...]:
    """The values of the plan that is shown. Bounds and costs are put back afterwards."""
    live, yard = model.live, model.yard
    limits = live.limits()
    found = solution
    for aim in _aims(model):
        _hold_face(model, found)
        live.set_costs(aim)
        answer = live.solve()
        if answer.status is not Status.OPTIMAL or any(
            _passes_ceiling(model, n, answer) for n in range(len(yard.runs))
        ):
            break
        found = answer
    live.put_back(limits, model.costs)
    return found.values


def _aims(model: WinterModel) -> list[dict[tuple[str, ...], float]]:
    yard = model.yard
    bought: dict[tuple[str, ...], float] = {}
    order: dict[tuple[str, ...], float] = {}
    stores = {store.id: number + 1.0 for number, store in enumerate(yard.farm.stores)}
    for run in yard.runs:
        weight = run.weight / 1000.0
        when = 1.0 + sum(run.periods) / len(run.periods)
        for number, offer in enumerate(run.block.offers):
            if offer.bought:
                bought[run.block.feed(offer)] = weight * 1000.0 / offer.feed.dm_g_per_kg
            # Later periods make later stores cheaper to use: the first stores of the farm's list go
            # first.
            place = stores.get(offer.id, 0.0)
            order[run.block.feed(offer)] = weight * (
                1e-3 * (number + 2.0) ** 0.5 - place * when / len(yard.periods)
            )
    return [bought, order]


def _passes_ceiling(model: WinterModel, number: int, answer: Solution) -> bool:
    single = model.singles[number]
    if single.ceiling is None:
        return False
    dm, me = model.live.value(answer, single.dm), model.live.value(answer, single.me)
    over = model.live.value(answer, single.over) if single.over in model.live.column_index else 0.0
    limit = single.ceiling.value(dm) if dm > 0.0 else inf
    return me - over - limit > NEED_TOLERANCE * limit


def _hold_face(model: WinterModel, found: Solution) -> None:
    """Hold every column and row that carries a price at the bound it presses on."""
    live = model.live
    most = max((abs(cost) for cost in live.cost), default=1.0)
    for key, j in live.column_index.items():
        reduced = found.reduced_costs[j]
        if abs(reduced) > PRICED * most:
            bound = live.col_low[j] if reduced > 0.0 else live.col_high[j]
            if abs(bound) < inf:
                live.set_column_bounds(key, bound, bound)
    for i, row in enumerate(live.rows):
        size = max((abs(value) for value in live.coefs[i].values()), default=1.0)
        dual = found.row_duals[i]
        if abs(dual) * size > PRICED * most:
            bound = live.row_low[i] if dual > 0.0 else live.row_high[i]
            if abs(bound) < inf:
                live.set_row_bounds(row.key, bound, bound)
