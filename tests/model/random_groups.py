"""Random rations for property tests: real feed tables, random prices, random animals of the classes
with an energy need.
"""

from __future__ import annotations

import random
from dataclasses import replace
from functools import lru_cache

from rationlp.farm.farm import Margins
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import AFRC, CSIRO, NRC, FeedLimit, Group
from rationlp.model.rows.block import TODAY, Block
from rationlp.needs import group_needs
from rationlp.read.feeds import read_feed_tables
from rationlp.rules.blanks import complete

FORAGES = (
    "grass_silage_1st_early",
    "grass_silage_1st_typical",
    "grass_silage_1st_late",
    "grass_silage_2nd",
    "maize_silage_typical",
    "wholecrop_wheat_fermented",
    "hay_average",
    "straw_barley",
    "straw_wheat",
    "grass_silage_big_bale",
)
BOUGHT = (
    "barley",
    "wheat",
    "maize_grain",
    "soya_meal_48",
    "rapeseed_meal_extracted",
    "field_beans",
    "wheat_distillers",
    "brewers_grains",
    "maize_gluten_feed",
    "beet_pulp_molassed_dry",
    "soya_hulls",
    "wheatfeed",
    "palm_kernel_expeller",
    "molasses_cane",
    "dairy_compound_18",
    "feed_urea",
    "protected_fat",
)
CONCAVE = ("dairy_cow_milking", "dairy_cow_dry")
GROWING = ("growing_cattle", "finishing_cattle")
SHEEP = ("ewe_dry", "ewe_pregnant", "ewe_milking", "lamb", "ewe_lamb", "ram")
BY_STANDARD = (
    *((AFRC, animal_class) for animal_class in (*CONCAVE, *GROWING, *SHEEP)),
    *((CSIRO, animal_class) for animal_class in (*GROWING, *SHEEP)),
)
"""The classes that `random_group` makes, by every standard that holds for them."""
BY_NRC = tuple((NRC, animal_class) for animal_class in (*CONCAVE, "growing_cattle"))
"""The same of NRC (2001); of growing cattle heifers alone."""


@lru_cache(maxsize=1)
def tables() -> dict[str, Feed]:
    """The packaged feed tables, completed."""
    return {key: complete(feed) for key, feed in read_feed_tables().items()}


def random_group(rng: random.Random, animal_class: str) -> Group:
    """A plausible animal of a class."""
    facts: dict[str, float | str]
    if animal_class == "dairy_cow_milking":
        facts = {
            "live_weight_kg": rng.uniform(550, 720),
            "milk_kg_per_day": rng.uniform(14, 42),
            "milk_fat_g_per_kg": rng.uniform(36, 46),
            "milk_protein_g_per_kg": rng.uniform(30, 36),
            "week_of_lactation": rng.randint(4, 40),
            "live_weight_change_kg_per_day": rng.choice([0.0, 0.0, 0.2, -0.3]),
            "days_pregnant": rng.choice([0, 60, 200]),
        }
    elif animal_class == "dairy_cow_dry":
        facts = {"live_weight_kg": rng.uniform(580, 720), "days_to_calving": rng.randint(1, 60)}
        facts["live_weight_change_kg_per_day"] = rng.choice([0.0, 0.0, 0.2])
    elif animal_class in SHEEP:
        facts = _sheep(rng, animal_class)
    else:
        finishing = animal_class == "finishing_cattle"
        facts = {
            "live_weight_kg": rng.uniform(380, 620) if finishing else rng.uniform(200, 420),
            "gain_kg_per_day": rng.uniform(0.7, 1.3) if finishing else rng.uniform(0.4, 1.0),
            "sex": rng.choice(["bull", "steer", "heifer"]),
            "maturity": rng.choice(["early", "medium", "late"]),
        }
        if finishing:
            facts["system"] = rng.choice(["silage_based", "cereal_based"])
    fed = rng.choice(["to_appetite", "rationed"])
    return Group("g", animal_class, animal_class, 30, fed, facts, feed_limits=_limits(rng))


def _sheep(rng: random.Random, animal_class: str) -> dict[str, float | str]:
    """The facts of a plausible sheep of a class."""
    if animal_class in ("lamb", "ewe_lamb"):
        facts: dict[str, float | str] = {
            "live_weight_kg": rng.uniform(24, 46),
            "gain_kg_per_day": rng.uniform(0.04, 0.22),
        }
        return (
            {**facts, "sex": rng.choice(["male", "castrate", "female"])}
            if animal_class == "lamb"
            else facts
        )
    facts = {
        "live_weight_kg": rng.uniform(48, 84),
        "kept": rng.choice(["housed", "lowland", "hill"]),
    }
    if animal_class == "ewe_pregnant":
        facts |= {"lambs_carried": float(rng.randint(1, 3)), "days_to_lambing": rng.uniform(3, 90)}
    elif animal_class == "ewe_milking":
        facts |= {
            "lambs_suckled": float(rng.randint(1, 2)),
            "week_of_lactation": float(rng.randint(1, 14)),
            "flock": "hill",
        }
    return facts


def _limits(rng: random.Random) -> tuple[FeedLimit, ...]:
    if rng.random() < 0.5:
        return ()
    return tuple(
        FeedLimit(key, max_kg_fresh=rng.uniform(0.5, 6.0)) for key in rng.sample(BOUGHT, 4)
    )


def random_block(seed: int, animal_class: str | None = None, standard: str = AFRC) -> Block:
    """A block with two to four forages, three to eight bought feeds, and prices that change who is
    cheapest; its needs by a standard.
    """
    rng = random.Random(seed)
    group = random_group(rng, animal_class or rng.choice((*CONCAVE, *GROWING, *SHEEP)))
    group = replace(group, standard=standard)
    forages = rng.sample(FORAGES, rng.randint(2, 4))
    bought = rng.sample(BOUGHT, rng.randint(3, 8))
    offers = []
    for key in (*forages, *bought):
        feed = tables()[key]
        if group.animal_class in SHEEP and feed.value("cu_mg_per_kg_dm") is None:
            continue
        level = 100.0 if key in forages else 250.0
        price = level * rng.uniform(0.5, 1.6) * feed.dm_g_per_kg / 860.0
        offers.append(Offer(key, feed.name, feed, key in bought, price))
    needs = group_needs(group, Margins())
    return Block(group, TODAY, needs, tuple(offers), {}, rng.choice([0.02, 0.1, 0.3]))
