"""Small random farms with one stated group, built as objects; every one has a ration, because it is
made around one.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from hypothesis import strategies as st

from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Feed, Figure, Offer
from rationlp.farm.group import FeedLimit, Group, QuantityLimit
from rationlp.quantities import Quantity

QUANTITIES = ("energy", "protein", "fibre")


def own_quantity(name: str) -> Quantity:
    """A quantity that the farm declared itself."""
    return Quantity(name, name, "g/kg DM", "dm", None, None, None, None, 3, "", "test")


def make_offer(number: int, contents: list[int], price: int, dm: int) -> Offer:
    """A bought feed. contents: g/kg DM in the order of `QUANTITIES`; price: a tonne fresh; dm:
    g/kg.
    """
    figures = {"dm_g_per_kg": float(dm), **dict(zip(QUANTITIES, map(float, contents), strict=True))}
    feed = Feed(
        f"f{number}",
        f"Feed {number}",
        "compound",
        {k: Figure(v, "farm", "test") for k, v in figures.items()},
    )
    return Offer(feed.key, feed.name, feed, True, float(price))


def make_farm(
    offers: tuple[Offer, ...], limits: tuple[QuantityLimit, ...], feed_limits: tuple[FeedLimit, ...]
) -> Farm:
    """A farm with these feeds and one stated group."""
    group = Group(
        "animals", "Animals", "stated", 10, "rationed", {}, frozenset(), feed_limits, limits
    )
    return Farm(
        "test", "Test", "EUR", date(2026, 10, 15), date(2027, 4, 20), Margins(), "nothing", 0.1,
        offers, (), (group,),
        {offer.feed.key: offer.feed for offer in offers},
        {name: own_quantity(name) for name in QUANTITIES},
    )  # fmt: skip


@st.composite
def stated_farms(draw: st.DrawFn) -> Farm:
    """Three to five feeds; floors on two quantities a day, a ceiling on one per kg DM, on dry
    matter and on one feed.
    """
    count = draw(st.integers(3, 5))
    whole = st.integers
    offers = tuple(
        make_offer(number, draw(st.lists(whole(1, 60), min_size=3, max_size=3)), draw(whole(20,
        400)),
                   draw(whole(200, 1000)))
        for number in range(count)
    )  # fmt: skip
    fed = [draw(whole(1, 9)) for _ in offers]
    eaten = float(sum(fed))
    supply = {
        name: sum(
            kg * offer.feed.figures[name].value for kg, offer in zip(fed, offers, strict=True)
        )
        for name in QUANTITIES
    }
    limits = (
        QuantityLimit("energy", "head_day", at_least=0.9 * supply["energy"]),
        QuantityLimit("protein", "head_day", at_least=0.9 * supply["protein"]),
        QuantityLimit("fibre", "kg_dm", at_most=1.05 * supply["fibre"] / eaten),
        QuantityLimit("dm_kg", "head_day", at_most=1.2 * eaten),
    )
    most = FeedLimit("f0", max_kg_fresh=1.5 * fed[0] * 1000.0 / offers[0].feed.dm_g_per_kg)
    return make_farm(offers, limits, (most,))


def with_prices(farm: Farm, prices: dict[str, float]) -> Farm:
    """The farm with other prices a tonne fresh, by offer id."""
    offers = tuple(
        replace(offer, price_per_t_fresh=prices.get(offer.id, offer.price_per_t_fresh))
        for offer in farm.offers
    )
    return replace(farm, offers=offers)


def with_limits(farm: Farm, limits: tuple[QuantityLimit, ...]) -> Farm:
    """The farm whose group has these limits on quantities."""
    return replace(farm, groups=(replace(farm.groups[0], quantity_limits=limits),))
