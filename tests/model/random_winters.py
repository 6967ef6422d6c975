"""Random winters for property tests: groups of every class, stores from far too little to plenty,
random prices.
"""

from __future__ import annotations

import random
from dataclasses import replace

from random_groups import BOUGHT, FORAGES, GROWING, SHEEP, random_group, tables
from winter_farms import START, TURNOUT, stock, store

from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Offer
from rationlp.farm.group import AFRC, Calendar, Group
from rationlp.farm.store import StoreStock

CATTLE = ("dairy_cow_milking", "dairy_cow_dry", *GROWING)
KINDS = {"cattle": CATTLE, "sheep": SHEEP, "mixed": (*CATTLE, *SHEEP)}
CLASSES = {**KINDS, "beef": GROWING}
EATEN_KG = {
    "dairy_cow_milking": 18.0,
    "dairy_cow_dry": 11.0,
    "growing_cattle": 6.5,
    "finishing_cattle": 9.0,
}
"""About what a head eats in a day [kg DM], to size stores by; a sheep 1.4."""
PENALTIES = ("over_energy_price_per_mj", "mineral_shortage_price_per_g", "mj_price")
"""Fields of a farm that hold a price which is no feed's."""
MINERALS = ("minerals_cattle_general", "limestone", "salt")


def _group(rng: random.Random, animal_class: str, number: int) -> Group:
    group = random_group(rng, animal_class)
    head = rng.randint(8, 120)
    calendar = Calendar(START) if rng.random() < 0.6 else None
    # A limit of the farm's own that would loosen one there for safety (copper for sheep, urea) is
    # refused.
    limits = (
        ()
        if animal_class in SHEEP
        else tuple(one for one in group.feed_limits if one.offer != "feed_urea")
    )
    name = f"{animal_class} {number}"
    return replace(
        group, id=f"g{number}", name=name, head=head, calendar=calendar, feed_limits=limits
    )


def random_winter(seed: int, kind: str, standard: str = AFRC) -> tuple[Farm, dict[str, StoreStock]]:
    """A farm of one to three groups of a kind (`cattle`, `sheep`, `mixed`, `beef`) and what its
    stores hold; needs by a standard.
    """
    rng = random.Random(f"winter {kind} {seed}")
    groups = tuple(
        replace(_group(rng, rng.choice(CLASSES[kind]), number), standard=standard)
        for number in range(rng.randint(1, 3))
    )
    forages = rng.sample(FORAGES, rng.randint(2, 4))
    bought = rng.sample(BOUGHT, rng.randint(3, 7))
    if all(group.animal_class in CATTLE for group in groups) and rng.random() < 0.5:
        bought += MINERALS
    offers = []
    for key in (*forages, *bought):
        feed = tables()[key]
        level = 100.0 if key in forages else 250.0
        price = level * rng.uniform(0.5, 1.6) * feed.dm_g_per_kg / 860.0
        offers.append(Offer(key, feed.name, feed, key in bought, price))
    days = (TURNOUT - START).days
    eaten = (
        sum(group.head * EATEN_KG.get(group.animal_class, 1.4) for group in groups) * days / 1000.0
    )
    plenty = rng.choice((0.35, 0.6, 1.0, 1.5, 4.0))
    shares = [rng.uniform(0.2, 1.0) for _ in forages]
    held = {
        key: stock(key, plenty * eaten * share / sum(shares), rng.choice((0.0, 0.05)))
        for key, share in zip(forages, shares, strict=True)
    }
    farm = Farm(
        "", "Invented", "GBP", START, TURNOUT, Margins(), "cost", rng.choice((0.02, 0.1, 0.3)),
        tuple(offers),
        tuple(map(store, forages)), groups, tables(),
    )  # fmt: skip
    return farm, held


def scaled(farm: Farm, factor: float) -> Farm:
    """The farm in another unit of money: every price times a factor, that of energy above the
    ceiling as well.
    """
    offers = tuple(
        replace(offer, price_per_t_fresh=offer.price_per_t_fresh * factor) for offer in farm.offers
    )
    names = [name for name in PENALTIES if hasattr(farm, name)]
    return replace(farm, offers=offers, **{name: factor * getattr(farm, name) for name in names})
