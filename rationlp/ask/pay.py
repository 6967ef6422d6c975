"""Prices at which a switch pays, and at which the second forage first comes in."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

from rationlp.ask.engine import BOUND, GroupEngine
from rationlp.halving import turn
from rationlp.model.rows.block import Block

PRICE_STEP = 0.01
"""To this the price is found [currency/t fresh]."""
_MOST_DOUBLINGS = 10


def pay_price(
    block: Block, engine: GroupEngine, stay_cost: float, shares: tuple[float, float]
) -> tuple[float | None, float | None]:
    """(price below which the switch pays, price below which the first kg comes in) of the second
    forage [currency/t fresh].

    stay_cost: least cost at the least share [currency a head a day]; shares: least and largest with
    a ration. Only where the least share is none at all does the price of the second forage leave
    the cost of staying alone: else None for the first of the two.
    """
    assert block.pair is not None
    second = block.pair.second
    pays = None
    if shares[0] <= BOUND:
        engine.share(shares[1])
        engine.back()
        pays = _falling(lambda price: engine.cost({second: price})[0] <= stay_cost)
    engine.cost({})
    free = GroupEngine(dataclasses.replace(block, pair=None))
    comes_in = _falling(lambda price: free.cost({second: price})[1].get(second, 0.0) > BOUND)
    return pays, comes_in


def _falling(holds: Callable[[float], bool]) -> float | None:
    """The highest price up to which something holds; None where at none, or at any."""
    if not holds(0.0):
        return None
    low, high = 0.0, 10.0
    for _ in range(_MOST_DOUBLINGS):
        if not holds(high):
            break
        low, high = high, 2.0 * high
    else:
        return None
    return turn(holds, low, high, PRICE_STEP)
