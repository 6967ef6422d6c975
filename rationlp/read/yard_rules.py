"""What a yard asks of a winter's plan: the farm's `[yard]` table over feeds/loading.csv."""

from __future__ import annotations

from rationlp.farm.farm import YardRules
from rationlp.farm.feed import Offer
from rationlp.read.loading import loading_figure
from rationlp.read.schema import YardTable

IN_BAGS = frozenset({"mineral", "npn", "fat"})
KG_PER_T = 1000.0


def read_yard_rules(table: YardTable | None) -> YardRules:
    """The rules of a farm: the keys that it states, common practice (c) for the others."""
    stated = {} if table is None else table.model_dump(exclude_none=True)
    return YardRules(**stated)


def _figure(stated: float | None, figure: str) -> float:
    """What the farm states, else the figure of common practice."""
    if stated is None:
        return loading_figure(figure)
    return stated


def least_load_kg(rules: YardRules) -> float:
    """Least of a straight in one load of a mixer wagon [kg fresh]."""
    return _figure(rules.least_load_kg, "least_weighed")


def least_order_t(rules: YardRules, offer: Offer) -> float:
    """Least that is bought of a feed over the winter [t fresh]: its own, a bag, or a tote or load
    if that is less; 0 for whole loads, which are counted anyway.
    """
    if offer.whole_loads or not offer.bought:
        return 0.0
    if offer.least_order_t is not None:
        return offer.least_order_t
    if offer.feed.kind in IN_BAGS:
        return bag_t(rules)
    tote = _figure(rules.least_order_t, "least_order")
    if offer.load_t is None:
        return tote
    return min(tote, offer.load_t)


def bag_t(rules: YardRules) -> float:
    """A bag [t fresh]."""
    return _figure(rules.bag_kg, "bag") / KG_PER_T


def most_bought_feeds(rules: YardRules) -> int:
    """Most bought feeds on the whole farm, minerals and what is weighed apart left out."""
    return int(_figure(rules.most_bought_feeds, "most_bought"))


def hold_days(rules: YardRules) -> int:
    """Days that the forages of a ration are held."""
    return int(_figure(rules.hold_days, "hold_days"))


def hold_saving(rules: YardRules) -> float:
    """What holding may cost before a ration changes sooner [share of the group's feed cost]."""
    return _figure(rules.hold_saving, "hold_saving")


def shut_days(rules: YardRules) -> int:
    """Days that a clamp or bag stays shut after filling."""
    return int(_figure(rules.shut_days, "shut_days"))


def shut_days_in_need(rules: YardRules) -> tuple[int, ...]:
    """Fewer days, tried in this order; where the farm states its days at least three weeks."""
    fewer = int(loading_figure("shut_days_in_need"))
    days = (fewer,) if fewer < shut_days(rules) else ()
    if rules.shut_days is None:
        return (*days, 0)
    return days
