"""The price above which a bought feed would no longer be bought, at the plan's own energy rows.

Least cost is concave in a price, so a marginal value is only the lower estimate of such a price: it
is bracketed by re-solves.
"""

from __future__ import annotations

from rationlp.farm.feed import Offer
from rationlp.halving import turn
from rationlp.model.lp import Key
from rationlp.model.solution import Status
from rationlp.wintering.search import WinterModel

NOTHING_T = 1e-4
STEPS = 7
_TRIALS = (1.05, 1.15, 1.3, 1.6, 2.0, 3.0, 5.0)


def price_ceilings(model: WinterModel, offers: tuple[Offer, ...]) -> dict[str, float]:
    """By offer id, the price a tonne fresh from which none of it is bought [currency/t]; missing
    where even five times its price buys some. The model must hold the plan's settled rows; its
    costs are put back.
    """
    found = {}
    for offer in offers:
        ceiling = _ceiling(model, offer)
        if ceiling is not None:
            found[offer.id] = ceiling
    model.live.set_costs(model.costs)
    return found


def _ceiling(model: WinterModel, offer: Offer) -> float | None:
    columns = {
        run.block.feed(one): run.weight / one.feed.dm_g_per_kg
        for run in model.runs
        for one in run.block.offers
        if one.id == offer.id
    }
    high = next((times for times in _TRIALS if not _bought(model, columns, times)), None)
    if high is None:
        return None
    low = max((times for times in _TRIALS if times < high), default=1.0)

    def is_bought(times: float) -> bool:
        return _bought(model, columns, times)

    return turn(is_bought, low, high, 0.0, STEPS) * offer.price_per_t_fresh


def _bought(model: WinterModel, columns: dict[Key, float], times: float) -> bool:
    """Whether any is bought at so many times its price."""
    more = {key: model.costs.get(key, 0.0) * times for key in columns}
    model.live.set_costs({**model.costs, **more})
    answer = model.live.solve()
    if answer.status is not Status.OPTIMAL:
        return True
    return sum(t * model.live.value(answer, key) for key, t in columns.items()) > NOTHING_T
