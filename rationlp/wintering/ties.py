"""Among plans of equal cost: least bought, then stores used in the farm's order, one after the
other, then fixed weights.

As for one group, every column with a reduced cost and every row with a price is held where it
presses, so that nothing is paid for tidiness. Using stores one after the other keeps a plan from
changing clamps back and forth at no gain.
"""

from __future__ import annotations

from rationlp.model.lp import Key
from rationlp.wintering.search import WinterModel


def tie_aims(model: WinterModel) -> list[dict[Key, float]]:
    """Least bought, then the stores of the farm's list in turn [costs of the columns]."""
    yard = model.yard
    bought: dict[Key, float] = {}
    order: dict[Key, float] = {}
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
