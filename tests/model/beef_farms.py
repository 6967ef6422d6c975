"""Small beef farms made in memory: a group, the feeds at hand by key with their prices, and the
farm round them.
"""

from __future__ import annotations

from datetime import date

from rationlp.errors import Faults
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Offer
from rationlp.farm.group import FeedLimit, Group
from rationlp.model.ration import solve_rations
from rationlp.read.feeds import overlay_own, read_feed_tables
from rationlp.result import GroupRation
from rationlp.rules.blanks import complete

PRICES = {
    "barley": 200.0, "soya_meal_48": 390.0, "rapeseed_meal_extracted": 275.0,
    "maize_gluten_feed": 240.0,
    "minerals_cattle_general": 620.0, "minerals_suckler_high_mg": 680.0, "minerals_dry_cow": 700.0,
    "minerals_close_up": 720.0, "minerals_sheep_no_copper": 650.0, "ewe_rolls_18": 150.0,
    "beef_compound_15": 270.0,
    "dairy_compound_18": 290.0, "limestone": 120.0, "calcined_magnesite": 500.0,
    "dicalcium_phosphate": 600.0, "salt": 150.0,
    "straw_barley": 80.0, "hay_average": 95.0, "hay_good": 120.0,
}  # fmt: skip
FORAGE_PRICE = 36.0
Stated = dict[str, dict[str, float]]


def offers(feeds: Stated | tuple[str, ...]) -> tuple[Offer, ...]:
    """Feeds by key with what an analysis says of them."""
    stated: Stated = feeds if isinstance(feeds, dict) else {key: {} for key in feeds}
    made = []
    for key, figures in stated.items():
        feed = complete(
            overlay_own(read_feed_tables()[key], figures, Faults("an analysis"))
            if figures
            else read_feed_tables()[key]
        )
        made.append(Offer(key, feed.name, feed, not feed.is_forage, PRICES.get(key, FORAGE_PRICE)))
    return tuple(made)


def group(
    animal_class: str, facts: dict[str, float | str], fed: str = "to_appetite", *limits: FeedLimit
) -> Group:
    """A pen of one class."""
    return Group("pen", "Pen", animal_class, 10, fed, facts, feed_limits=limits)


def farm(animals: Group, feeds: Stated | tuple[str, ...]) -> Farm:
    """A farm with one pen and these feeds."""
    start, turnout = date(2026, 11, 1), date(2027, 4, 20)
    return Farm(
        "",
        "Farm",
        "GBP",
        start,
        turnout,
        Margins(),
        "cost",
        0.1,
        offers(feeds),
        (),
        (animals,),
        read_feed_tables(),
    )


def ration(animals: Group, feeds: Stated | tuple[str, ...]) -> GroupRation:
    """The ration of the pen."""
    return solve_rations(farm(animals, feeds)).groups[0]


def kg(answer: GroupRation, key: str) -> float:
    """Fresh kg of a feed [a head a day]."""
    return sum(amount.kg_fresh for amount in answer.amounts if amount.offer == key)


def supplied(answer: GroupRation, quantity: str) -> float:
    """One line of what is supplied."""
    return next(line.supply for line in answer.supply if line.quantity == quantity)
