"""What holds of the minerals of a dry cow as she nears calving: lime kept out, calcium left alone,
magnesium against milk fever.

Calcium of 4 to 6 g/kg DM before calving is left alone (Dairy Australia, transition cow management;
a); 13 against 5 g/kg in the last three weeks *lowered* calcium and magnesium in the blood (Ohio
State on J. Dairy Sci. 94:1365; a).
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.needs.objects import Absorption, MineralNeed

LAST_WEEKS_DAYS, LEFT_ALONE_DAYS = 28.0, 56.0
"""No lime from, and calcium left alone from [days to calving]: practice of the texts above; (c)."""

CALCIUM_LEFT_ALONE_G_PER_KG = 4.0
MAGNESIUM_G_PER_KG = 4.0
"""Least calcium worth correcting more than four weeks before calving, and least magnesium of dry
dairy cows in the last four [g/kg DM]: Dairy Australia; (a). It is the level at which the caution on
magnesium before calving falls silent.
"""

LIME_RICH_G_PER_KG = 150.0
"""Calcium from which a mineral counts as lime [g/kg DM]: limestone, dicalcium phosphate, general
minerals; a dry-cow mineral has below 11 (trade text), one for sucklers, fed for its magnesium, 120.
Common practice, no source (c).
"""

POTASH_G_PER_KG = 20.0
POTASH_MAGNESIUM_G = MappingProxyType({"suckler_cow_milking": 40.0, "suckler_cow_dry": 30.0})
MAGNESIUM_SOURCE_G_PER_KG = 300.0
"""Forage potassium above which sucklers want more magnesium in the whole feed, and how much [g a
day]: veterinary practice column (a). A mineral with at least 300 g magnesium a kg (calcined
magnesite) can bring it (c).
"""

IN_FEED = Absorption(1.0, 1.0, 1.0)
_TRANSITION = "Dairy Australia, transition cow management"
_COMMON = "common practice, no source"


def days_to_calving(group: Group) -> float | None:
    """Days to calving of a dry cow or heifer in calf; None for any other."""
    if not traits(group.animal_class).dry or "days_to_calving" not in group.facts:
        return None
    return group.number("days_to_calving")


def lime_kept_out(group: Group) -> bool:
    """True in the last four weeks before calving."""
    days = days_to_calving(group)
    return days is not None and days <= LAST_WEEKS_DAYS


def is_lime(feed: Feed) -> bool:
    """A mineral so rich in calcium that it is kept from cows about to calve."""
    return feed.kind == "mineral" and (feed.value("ca_g_per_kg_dm") or 0.0) >= LIME_RICH_G_PER_KG


def before_calving(
    group: Group, needs: tuple[MineralNeed, ...], dm_kg: float
) -> tuple[MineralNeed, ...]:
    """A group's mineral needs, those near calving in their place. dm_kg: the most eaten [kg DM]."""
    days = days_to_calving(group)
    if days is None or days > LEFT_ALONE_DAYS:
        return needs
    return tuple(_before(group.animal_class, days, need, dm_kg) for need in needs)


def _before(animal_class: str, days: float, need: MineralNeed, dm_kg: float) -> MineralNeed:
    last = days <= LAST_WEEKS_DAYS
    if need.quantity == "ca_g_per_kg_dm":
        per_kg = 0.0 if last else CALCIUM_LEFT_ALONE_G_PER_KG
        words = "left alone before calving, when too much does harm"
        if not last:
            words = f"{per_kg:g} g/kg DM; what is above that is left alone before calving"
        return _in_feed(need, per_kg, words, _TRANSITION, "a", dm_kg)
    if need.quantity == "p_g_per_kg_dm" and last:
        return _in_feed(need, 0.0, "never bought for cows about to calve", _COMMON, "c", dm_kg)
    if need.quantity == "mg_g_per_kg_dm" and last and animal_class == "dairy_cow_dry":
        share = need.absorption.forage
        words = f"{MAGNESIUM_G_PER_KG:g} g/kg DM against milk fever; {need.steps[0].equation}"
        if MAGNESIUM_G_PER_KG * share * dm_kg > need.absorbed_g:
            return _per_kg(need, MAGNESIUM_G_PER_KG * share, words, _TRANSITION, "a", dm_kg)
    return need


def _in_feed(
    need: MineralNeed, per_kg: float, words: str, source: str, status: str, dm_kg: float
) -> MineralNeed:
    name = need.steps[0].name.replace("to be absorbed", "in the feed")
    named = replace(need, absorption=IN_FEED, steps=(replace(need.steps[0], name=name),))
    return _per_kg(named, per_kg, words, source, status, dm_kg)


def _per_kg(
    need: MineralNeed, per_kg: float, words: str, source: str, status: str, dm_kg: float
) -> MineralNeed:
    """The need as so many g a kg DM that is eaten [g/kg DM]."""
    made = replace(need.steps[0], value=per_kg * dm_kg, equation=words)
    step = replace(made, source=source, status=status)
    whose = replace(need, source=source, status=status)
    return replace(whose, absorbed_g=0.0, absorbed_g_per_kg_dm=per_kg, steps=(step,))


def with_potash(animal_class: str, need: MineralNeed, feeds: tuple[Feed, ...]) -> MineralNeed:
    """The magnesium of sucklers, raised beside a forage high in potash if a feed can bring it."""
    if animal_class not in POTASH_MAGNESIUM_G or need.quantity != "mg_g_per_kg_dm":
        return need
    potash = any(
        feed.is_forage and (feed.value("k_g_per_kg_dm") or 0.0) > POTASH_G_PER_KG for feed in feeds
    )
    bringing = any(
        feed.kind == "mineral"
        and (feed.value("mg_g_per_kg_dm") or 0.0) >= MAGNESIUM_SOURCE_G_PER_KG
        for feed in feeds
    )
    if not potash or not bringing:
        return need
    return replace(
        need,
        absorbed_g=max(need.absorbed_g, POTASH_MAGNESIUM_G[animal_class] * need.absorption.forage),
    )
