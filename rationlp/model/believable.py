"""Whether a ration looks like one that a feeder knows: its figures against the usual ranges of its
class and feeding system.

The ranges are rows of feeds/believability.csv. Outside one is no mistake, but something to look at
before feeding; it is said in a sentence, and nothing is refused for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import is_silage
from rationlp.needs.forage import forage_sort
from rationlp.quantities import fresh_from_dm
from rationlp.records import dataclass
from rationlp.rules.limits import Believable, believable

HAIR = 0.01
"""A range is passed by more than a hundredth of its end: rounding of a table is no remark."""

MAIZE, ROOT = "maize_silage", "root"
ROOTS_FROM = 0.2
"""Share of roots in the dry matter from which a ration is one of roots [-]; common practice (c)."""
_CONTENTS = ("cp_g_per_kg_dm", "me_mj_per_kg_dm", "ndf_g_per_kg_dm", "starch_g_per_kg_dm")
_WORDS = {
    "forage_share_of_dm": ("forage in the dry matter", "%", 100.0, 0),
    "concentrate_kg_fresh": ("concentrate", "kg", 1.0, 2),
    "silage_kg_fresh": ("silage", "kg", 1.0, 1),
    "dm_intake_kg": ("dry matter eaten", "kg", 1.0, 2),
    "cp_g_per_kg_dm": ("crude protein", "g/kg DM", 1.0, 0),
    "me_mj_per_kg_dm": ("ME", "MJ/kg DM", 1.0, 1),
    "ndf_g_per_kg_dm": ("NDF", "g/kg DM", 1.0, 0),
    "starch_g_per_kg_dm": ("starch", "g/kg DM", 1.0, 0),
}


@dataclass(frozen=True)
class Unusual:
    """A figure outside its usual range; unit as in feeds/believability.csv."""

    quantity: str
    value: float
    low: float
    high: float


def feeding_system(fed: Mapping[str, tuple[Feed, float]]) -> str:
    """`roots` where they bring a fifth of the dry matter or more; else the forage with most of it:
    `straw`, `hay`, `maize`, `silage`; empty without one.
    """
    totals: dict[str, float] = {}
    roots = sum(kg for feed, kg in fed.values() if feed.kind == ROOT)
    if roots > 0.0 and roots >= ROOTS_FROM * sum(kg for _, kg in fed.values()):
        return "roots"
    for feed, kg in fed.values():
        sort = forage_sort(feed)
        if sort is not None:
            sort = "maize" if feed.key.startswith(MAIZE) else sort
            totals[sort] = totals.get(sort, 0.0) + kg
    if totals:
        return max(totals, key=lambda name: (totals[name], name))
    return ""


def figures(fed: Mapping[str, tuple[Feed, float]]) -> dict[str, float]:
    """The figures that an experienced eye goes by, without those that a feed lacks."""
    dm = sum(kg for _, kg in fed.values())
    if dm <= 0.0:
        return {}
    fresh = [(feed, fresh_from_dm(kg, feed.dm_g_per_kg)) for feed, kg in fed.values()]
    found = {
        "forage_share_of_dm": sum(kg for feed, kg in fed.values() if feed.is_forage) / dm,
        "concentrate_kg_fresh": sum(kg for feed, kg in fresh if feed.is_concentrate),
        "silage_kg_fresh": sum(kg for feed, kg in fresh if is_silage(feed)),
        "dm_intake_kg": dm,
    }
    for quantity in _CONTENTS:
        contents = [(feed.value(quantity), kg) for feed, kg in fed.values()]
        known = [content * kg for content, kg in contents if content is not None]
        if len(known) == len(contents):
            found[quantity] = sum(known) / dm
    return found


def unusual(
    key: str | None, fed: Mapping[str, tuple[Feed, float]], live_weight_kg: float | None
) -> tuple[Unusual, ...]:
    """Every figure of a ration outside the usual range.

    key: `believability` of the class. fed: feed and kg DM a head a day by offer id. live_weight_kg:
    of the animal.
    """
    values = figures(fed)
    ranges = [one.scaled(live_weight_kg) for one in believable(key, feeding_system(fed))]
    return tuple(
        Unusual(one.quantity, values[one.quantity], one.low, one.high)
        for one in ranges
        if one.quantity in values and _outside(one, values[one.quantity])
    )


def _outside(believable: Believable, value: float) -> bool:
    # How wet a silage is decides its least weight; what is eaten in dry matter has a range of its
    # own.
    low = 0.0 if believable.quantity == "silage_kg_fresh" else believable.low
    return value < low * (1.0 - HAIR) or value > believable.high * (1.0 + HAIR)


def unusual_words(
    key: str | None, fed: Mapping[str, tuple[Feed, float]], live_weight_kg: float | None
) -> Iterator[str]:
    """What is unusual about a ration, in one sentence; nothing where nothing is."""
    parts = []
    for one in unusual(key, fed, live_weight_kg):
        title, unit, scale, decimals = _WORDS[one.quantity]
        told = (f"{scale * number:.{decimals}f}" for number in (one.value, one.low, one.high))
        value, low, high = told
        parts.append(f"{title} {value} {unit} (usual {low} to {high})")
    if parts:
        yield (
            f"Unusual for such animals on such feeds: {'; '.join(parts)}. Check analyses, weights"
            " and prices before it is fed (usual ranges: common practice)."
        )
