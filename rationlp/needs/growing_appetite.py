"""What growing and finishing cattle eat: a cap on all dry matter, and rows for silage and straw
that concentrate fills too.

Total dry matter: NRC (2000), W^0.75 (0.2435 N − 0.0466 N² − k)/N, is almost flat in the quality of
the diet, so its greatest value over N is a constant cap. Silage beside concentrate: McNamee et al.
(2001; 681 cattle, 11 silages, R² 0.89), whose curve f = (r^73.2 − r^c)/(r^73.2 − 1), r = 1.025, is
concave in the concentrate c [g DM/kg W^0.75], so that its tangents are rows. The level I0, straw
and hay are fitted or common practice (c).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import pow
from types import MappingProxyType

from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import sort_of
from rationlp.farm.traits import traits
from rationlp.needs.objects import AppetiteRow, GroupNeeds
from rationlp.records import dataclass

CAP, CAP_CEREAL = 0.0985, 0.094
"""Most dry matter of cattle of a year and more [kg/kg W^0.75]; cereal-fed are beyond the curve."""

CAP_CALF, CAP_CALF_CEREAL = 0.1162, 0.107
"""The same of calves."""

CALF_SHARE_OF_WEIGHT = 0.03
"""A calf below 200 kg eats no more than this of her weight [kg/kg]; common practice (c)."""

CALF_BELOW_KG, CEREAL_CALF_BELOW_KG = 200.0, 250.0
CAP_SOURCE = "NRC (2000), greatest value over the energy density of the diet"

TANGENTS = ((1.000, 0.00485), (1.017, 0.00702), (1.090, 0.0102), (1.263, 0.0147), (1.612, 0.0213))
"""(a, b) of f ≤ a − b c; error at most 0.014 up to c = 60 g/kg W^0.75."""

SILAGE_LEVEL, SILAGE_PER_MJ, SILAGE_ME = 70.0, 8.1, 11.1
"""I0 = 70 + 8.1 (ME − 11.1) [g DM/kg W^0.75] of a silage alone; slope (a), level fitted (c)."""

SILAGE_LEAST, SILAGE_MOST, HAY_LEVEL = 48.0, 85.0, 75.0
FILL = MappingProxyType({"maize_silage": 0.80, "wholecrop": 0.90, "wholecrop_alkaline": 0.90})
"""What a kg fills against grass silage [-]; common practice, no source (c)."""

STRAW_OF_WEIGHT = MappingProxyType({"straw_wheat": 0.0120, "straw_oat": 0.0090})
STRAW_OF_WEIGHT_USUAL = 0.0128
"""Most straw [kg DM/kg W]: barley straw 0.0128, wheat 0.0120, oat 0.0090, unchanged by 2 kg of
barley or soya. Heifers on straw diets, abstract of 1991 (a).
"""

HEIFER_DRY_DAYS = 56.0
"""An in-calf heifer eats as a growing one until so long before she calves [d]; (c)."""

CALF_FLOOR_SHARE = 0.75
FLOOR_SHARE = 0.90
SOURCE = (
    "McNamee et al. (2001), silage of 681 cattle beside concentrate; its level fitted (common"
    " practice)"
)
STRAW_SOURCE = "straw that yearling heifers ate, abstract of 1991; beside silage common practice"
_FULL = 1.0
_UNIT = "of the appetite for forage"


def growing_cap(live_weight_kg: float, cereal_based: bool) -> float:
    """Most dry matter a day [kg]: NRC (2000), as above; never falls as cereal-fed calves grow."""
    size = pow(live_weight_kg, 0.75)
    if cereal_based:
        as_calf = min(CAP_CALF_CEREAL * size, CALF_SHARE_OF_WEIGHT * live_weight_kg)
        return max(
            CAP_CEREAL * size, min(as_calf, CAP_CALF_CEREAL * pow(CEREAL_CALF_BELOW_KG, 0.75))
        )
    if live_weight_kg < CALF_BELOW_KG:
        return min(CAP_CALF * size, CALF_SHARE_OF_WEIGHT * live_weight_kg)
    return CAP * size


def silage_alone(feed: Feed) -> float | None:
    """I0 of a forage other than straw, alone [g DM/kg W^0.75]; None if its energy is not known."""
    sort, density = sort_of(feed), feed.value("me_mj_per_kg_dm")
    if sort == "hay":
        return HAY_LEVEL
    if density is None:
        return None
    level = (SILAGE_LEVEL + SILAGE_PER_MJ * (density - SILAGE_ME)) / FILL.get(sort, 1.0)
    return min(max(level, SILAGE_LEAST), SILAGE_MOST)


def _straw_alone(feed: Feed, live_weight_kg: float) -> float:
    return STRAW_OF_WEIGHT.get(feed.key, STRAW_OF_WEIGHT_USUAL) * live_weight_kg


def alone_kg(feed: Feed, live_weight_kg: float) -> float | None:
    """Most of a forage or straw, alone [kg DM a day]; None for others or without its energy."""
    if feed.kind == "straw":
        return _straw_alone(feed, live_weight_kg)
    level = None
    if feed.is_forage:
        level = silage_alone(feed)
    if level is None:
        return None
    return level * pow(live_weight_kg, 0.75) / 1000.0


def growing_rows(live_weight_kg: float, feeds: Sequence[Feed]) -> tuple[AppetiteRow, ...]:
    """The tangents of silage beside concentrate, and straw beside silage; x kg DM a head a day.

    Σ S_i/I0_i + b C ≤ a W^0.75/1000 for each tangent, C all that is no forage, minerals left out;
    straw is in no tangent, it has Σ S_i/(I0_i W^0.75/1000) + straw/(0.0128 W) ≤ 1.
    """
    alone = [alone_kg(feed, live_weight_kg) for feed in feeds]
    silage = [
        1.0 / most if most and feed.kind != "straw" else 0.0
        for feed, most in zip(feeds, alone, strict=True)
    ]
    beside = [1.0 if not feed.is_forage and feed.kind != "mineral" else 0.0 for feed in feeds]
    size = pow(live_weight_kg, 0.75) / 1000.0
    rows = []
    if any(silage) and any(beside):
        for number, (a, b) in enumerate(TANGENTS):
            weights = tuple(s + b / size * c for s, c in zip(silage, beside, strict=True))
            name, title = f"silage_beside_{number}", "silage beside concentrate"
            bound = "the silage that they eat beside so much concentrate"
            rows.append(AppetiteRow(name, weights, a, _UNIT, title, bound, SOURCE, tangent=True))
    if any(feed.kind == "straw" for feed in feeds) or (any(silage) and not rows):
        weights = tuple(1.0 / most if most else 0.0 for most in alone)
        name, title, bound = "forage_and_straw", "forage and straw", "the forage that they eat"
        rows.append(AppetiteRow(name, weights, _FULL, _UNIT, title, bound, STRAW_SOURCE))
    return tuple(rows)


def growing_floor(
    needs: GroupNeeds, feeds: Sequence[Feed], forage_ndf_most: float | None
) -> float | None:
    """Least that cattle fed to appetite eat [kg DM]: 0.90 of the least, over the forages offered
    (straw only where there is no other), of what the forage row and the NDF rows allow of it alone,
    and never above 0.90 of the cap. A constant of the feeds at hand. None without forage.
    forage_ndf_most: [kg NDF/kg W].

    A share of the cap itself would force concentrate into cattle that the forage row holds back.
    Common practice (c).
    """
    weight = needs.live_weight_kg
    if weight is None or needs.intake is None:
        return None
    limits = [] if forage_ndf_most is None else [weight * forage_ndf_most]
    limits += [] if needs.ndf_fill_kg is None else [needs.ndf_fill_kg]
    forages: list[float] = []
    straws: list[float] = []
    for feed in feeds:
        alone, ndf = alone_kg(feed, weight), feed.value("ndf_g_per_kg_dm")
        if alone is None:
            continue
        fills = []
        if ndf:
            fills = [1000.0 * limit / ndf for limit in limits]
        kg = min([alone, needs.intake.cap_kg_dm, *fills])
        (straws if feed.kind == "straw" else forages).append(kg)
    if not forages and not straws:
        return None
    return FLOOR_SHARE * min(forages or straws)


@dataclass(frozen=True)
class Settings:
    """Which rules of this file hold for an animal: the cap of all dry matter, the forage rows."""

    cap: bool
    silage_rows: bool


def settings(animal_class: str, facts: Mapping[str, float | str]) -> Settings:
    """The rules for an animal: calves below 200 kg and cereal-fed cattle have the cap only."""
    if animal_class == "in_calf_heifer":
        far = float(facts.get("days_to_calving", 0.0)) > HEIFER_DRY_DAYS
        return Settings(far, far)
    if not traits(animal_class).growing_intake:
        return Settings(False, False)
    light = float(facts.get("live_weight_kg", 0.0)) < CALF_BELOW_KG
    return Settings(True, not light and facts.get("system") != "cereal_based")
