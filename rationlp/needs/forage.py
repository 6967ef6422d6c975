"""How much forage a sheep takes by stage and by forage, and how much of it a kg of concentrate
pushes out.

Figures stand in feeds/forage-intake.csv: kg of forage dry matter a 100 kg live weight, by stage,
sort of forage and its energy density. They suppose the concentrate that a flock usually gets; only
what goes beyond that replaces forage. The fall of intake before lambing is in these figures and is
not taken a second time anywhere else.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import is_silage
from rationlp.farm.traits import traits
from rationlp.folders import packaged_rows

LATE_DAYS, LAST_WEEKS_DAYS = 56.0, 21.0
USUAL_CONCENTRATE_KG_DM = MappingProxyType(
    {"dry": 0.3, "hogg": 0.2, "pregnant": 0.5, "last_3_weeks": 0.7, "milking": 1.0}
)
"""Concentrate that the figures suppose, by stage [kg DM a head a day]; common practice (c)."""

LEAN_ME, RICH_ME = 10.0, 11.0
SUBSTITUTION_LEAN, SUBSTITUTION_MIDDLE, SUBSTITUTION_RICH = 0.1, 0.4, 0.6
"""kg forage DM pushed out by a kg concentrate DM: below 10, from 10 to 11, above 11 MJ ME/kg DM or
hay. Rounded from trials with ewes in late pregnancy: 0.06–0.09 poor and medium silage, 0.25–0.60
good silage, 0.63 hay (Cambridge abstracts; status a).
"""


@lru_cache(maxsize=1)
def _figures() -> dict[tuple[str, str], Points]:
    """By stage and sort of forage: (its energy density [MJ ME/kg DM], percent of live weight)."""
    by_stage: dict[tuple[str, str], Points] = {}
    for row in packaged_rows("forage-intake.csv"):
        key = (row["stage"], row["forage"])
        point = (float(row["me_mj_per_kg_dm"]), float(row["percent_of_live_weight"]))
        by_stage[key] = (*by_stage.get(key, ()), point)
    return by_stage


def forage_stage(animal_class: str, facts: Mapping[str, float | str]) -> str | None:
    """The stage of feeds/forage-intake.csv for an animal; None for a class without figures."""
    if animal_class == "ewe_milking":
        return "milking"
    if not traits(animal_class).dry_sheep:
        return None
    carried = animal_class == "ewe_pregnant" or float(facts.get("lambs_carried", 0.0)) >= 1.0
    to_lambing = facts.get("days_to_lambing")
    if carried and to_lambing is not None:
        if float(to_lambing) <= LAST_WEEKS_DAYS:
            return "last_3_weeks"
        if float(to_lambing) <= LATE_DAYS:
            return "pregnant"
    if animal_class == "ewe_lamb":
        return "hogg"
    return "dry"


def forage_sort(feed: Feed) -> str | None:
    """`straw`, `hay` or `silage` (wholecrop and maize silage too); None for what is no forage."""
    if not feed.is_forage:
        return None
    if feed.kind == "straw":
        return "straw"
    return "silage" if is_silage(feed) else "hay"


def forage_percent(stage: str, feed: Feed) -> float | None:
    """Most of one forage, eaten alone [% of live weight a day]; None where there is no figure."""
    sort, density = forage_sort(feed), feed.value("me_mj_per_kg_dm")
    if sort is None or density is None:
        return None
    line = _figures().get((stage, sort))
    return None if line is None else straight_between(line, density)


Points = tuple[tuple[float, float], ...]


def straight_between(points: Points, x: float) -> float:
    """The figure at x, in a straight line between two points, beyond the ends as at the end."""
    if x <= points[0][0]:
        return points[0][1]
    for (low, at_low), (high, at_high) in itertools.pairwise(points):
        if x <= high:
            return at_low + (x - low) / (high - low) * (at_high - at_low)
    return points[-1][1]


def substitution(feed: Feed) -> float:
    """kg of this forage that a kg of concentrate pushes out [kg DM/kg DM]."""
    density = feed.value("me_mj_per_kg_dm") or LEAN_ME
    if forage_sort(feed) == "hay" or density > RICH_ME:
        return SUBSTITUTION_RICH
    if density < LEAN_ME:
        return SUBSTITUTION_LEAN
    return SUBSTITUTION_MIDDLE
