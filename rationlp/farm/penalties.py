"""Penalties: what a shortage counts for beside the cost. None of them is a cost, and all follow
from the farm's own prices.

A penalty is a multiple of the price of a MJ in the cheapest bought concentrate of the farm, so that
no answer depends on the unit of money.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rationlp.farm.feed import Offer

MJ_PRICE = 0.018
"""Price of a MJ of ME where no feed has price and energy [currency/MJ]; nothing hangs on it."""
OVER_ENERGY_MJ = 5.5
"""What a MJ above the energy ceiling counts for by default, in MJ of bought feed; practice (c)."""
MINERAL_SHORTAGE_MJ = 0.55
"""What a gram short of a mineral counts for unless the farm says otherwise, in MJ of bought feed;
common practice, no source (c). Above what limestone, salt, magnesite and phosphate cost (0.02 to
0.4 MJ), below what would upset a ration.
"""
MOST_MONEY = 1e9
"""Largest amount of money that is taken for one [currency]: more is a slip of a key."""


def price_of_a_mj(offers: Iterable[Offer]) -> float:
    """What a MJ of ME costs in the cheapest bought concentrate [currency/MJ]; in any priced feed
    where none is bought.

    Every price of a shortage is a multiple of it, so that answers do not depend on the unit of
    money.
    """
    priced = [
        (offer, offer.price_per_kg_dm / me)
        for offer in offers
        if offer.price_per_t_fresh > 0.0 and (me := offer.feed.value("me_mj_per_kg_dm"))
    ]
    bought = [price for offer, price in priced if offer.bought and offer.feed.is_concentrate]
    return min(bought or [price for _, price in priced], default=MJ_PRICE)


def penalties(
    over: float | None, mineral: float | None, offers: Iterable[Offer]
) -> tuple[float, float, float]:
    """(price of a MJ, penalty for a MJ above the energy ceiling, for a gram short of a mineral)
    [currency].

    over, mineral: as the farm states them; None where it does not, and they are multiples of the
    price of a MJ.
    """
    mj_price = price_of_a_mj(offers)
    return (
        mj_price,
        OVER_ENERGY_MJ * mj_price if over is None else over,
        MINERAL_SHORTAGE_MJ * mj_price if mineral is None else mineral,
    )
