"""Fills that tell feeds apart: one order for what is grown here, another for what is bought; what
a fill looks like is in page/common.css and page/fills.svg."""

from __future__ import annotations

from collections.abc import Iterable

from rationlp.farm.feed import Offer
from rationlp.planned import WinterPlan

GROWN, BOUGHT = 8, 10
"""How many fills there are of each kind; further feeds begin again with the first."""


def feed_fills(offers: Iterable[Offer]) -> dict[str, str]:
    """The fill of every feed by id, in the farm's order: no two of the first 8 home-grown and 10
    bought feeds look alike."""
    every = tuple(offers)
    grown = [offer.id for offer in every if not offer.bought]
    bought = [offer.id for offer in every if offer.bought]
    fills = {offer: f"grown-{number % GROWN + 1}" for number, offer in enumerate(grown)}
    return fills | {offer: f"bought-{number % BOUGHT + 1}" for number, offer in enumerate(bought)}


def plan_fills(plan: WinterPlan) -> dict[str, str]:
    """The fill of every feed that a plan feeds, by id."""
    eaten = {amount.offer for ration in plan.rations for amount in ration.amounts}
    return feed_fills(offer for offer in plan.farm.offers if offer.id in eaten)
