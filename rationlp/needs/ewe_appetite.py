"""What a ewe in lamb takes of silage, hay and straw in her last eight weeks, and what concentrate
pushes out of it.

Silage: F0 = 0.85 · 0.028 W (1 − 1.7 (0.80 − DMD)) · stage · litter [kg DM/d], DMD = ME/15.7 + 0.045
[-]. The form is from memory of British work on ewes in late pregnancy (b); 0.85 is fitted, with r
below, to the concentrate that is printed beside silage of 11.5, 10.5 and 9.5 MJ ME/kg DM over the
last eight weeks. Range: 45 to 100 kg, ME 8.5 to 12. Hay and straw keep the figures of
feeds/forage-intake.csv: by this form straw would be 0.7 to 0.9 % of live weight, which published
straw rations contradict.
"""

from __future__ import annotations

from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.needs.forage import (
    USUAL_CONCENTRATE_KG_DM,
    forage_percent,
    forage_sort,
    straight_between,
)
from rationlp.records import dataclass

LEVEL = 0.85
SHARE_OF_WEIGHT, DIGESTIBILITY_SLOPE, DIGESTIBILITY_FULL = 0.028, 1.7, 0.80
STAGE_EARLY, STAGE_LATE = 1.00, 0.78
WEEK_EARLY, WEEK_LATE = 8.0, 1.0
LITTER = {1: 1.0, 2: 0.97, 3: 0.92}
"""Share of appetite left beside the lambs, by lambs carried, three and more alike; (c)."""

PUSHED_OUT_BY_ME = ((9.5, 0.08), (10.5, 0.25), (11.5, 0.40))
"""kg of silage DM that a kg of concentrate DM pushes out, by ME of the silage [MJ/kg DM], straight
between; trials with ewes in late pregnancy print 0.06–0.09 on poor and medium, 0.25–0.60 on good
silage (abstracts, status a), up to 0.75 at 75 DMD (Irish press).
"""

PUSHED_OUT_OF_HAY, PUSHED_OUT_OF_STRAW = 0.40, 0.08
EWE_SOURCE = (
    "silage of ewes in lamb: 0.85 of a form that falls with digestibility, stage and litter, from"
    " memory; hay and straw: levy-board figures, from memory"
)


@dataclass(frozen=True)
class LateEwe:
    """A ewe in her last eight weeks: W [kg], weeks to lambing, lambs, forage-intake.csv's stage."""

    live_weight_kg: float
    weeks_to_lambing: float
    lambs: int
    stage: str


def late_ewe(group: Group, stage: str | None) -> LateEwe | None:
    """The ewe in lamb that this rule holds for; None for others and before her last weeks."""
    if stage not in ("pregnant", "last_3_weeks"):
        return None
    lambs = int(float(group.facts.get("lambs_carried", 1.0)))
    return LateEwe(
        group.number("live_weight_kg"), group.number("days_to_lambing") / 7.0, lambs, stage
    )


def stage_factor(weeks_to_lambing: float) -> float:
    """1.00 eight weeks before lambing to 0.78 one week before, straight between [-]; status (b)."""
    share = (weeks_to_lambing - WEEK_LATE) / (WEEK_EARLY - WEEK_LATE)
    return STAGE_LATE + (STAGE_EARLY - STAGE_LATE) * min(max(share, 0.0), 1.0)


def silage_alone_kg(ewe: LateEwe, me_mj_per_kg_dm: float) -> float:
    """F0 [kg DM/d]: what she takes of a silage of this ME without any concentrate."""
    digestibility = me_mj_per_kg_dm / 15.7 + 0.045
    quality = 1.0 - DIGESTIBILITY_SLOPE * (DIGESTIBILITY_FULL - digestibility)
    litter = LITTER[min(max(ewe.lambs, 1), 3)]
    stage = stage_factor(ewe.weeks_to_lambing)
    return LEVEL * SHARE_OF_WEIGHT * ewe.live_weight_kg * quality * stage * litter


def silage_pushed_out(me_mj_per_kg_dm: float) -> float:
    """r of a silage [kg DM/kg DM of concentrate]."""
    return straight_between(PUSHED_OUT_BY_ME, me_mj_per_kg_dm)


@dataclass(frozen=True)
class Filling:
    """One forage alone: most eaten, the same without concentrate [kg DM/d], and r [kg/kg DM]."""

    most_kg: float
    without_concentrate_kg: float
    pushed_out: float


def filling(ewe: LateEwe, feed: Feed) -> Filling | None:
    """How a forage fills her; None for what is no forage and for a forage without an ME."""
    density = feed.value("me_mj_per_kg_dm")
    sort = forage_sort(feed)
    if sort is None or density is None:
        return None
    if sort == "silage":
        alone = silage_alone_kg(ewe, density)
        return Filling(alone, alone, silage_pushed_out(density))
    percent = forage_percent(ewe.stage, feed)
    if not percent:
        return None
    most = percent * ewe.live_weight_kg / 100.0
    pushed = PUSHED_OUT_OF_STRAW if sort == "straw" else PUSHED_OUT_OF_HAY
    # The figures of hay and straw suppose the usual concentrate, so without any she would take that
    # much more.
    return Filling(most, most + pushed * USUAL_CONCENTRATE_KG_DM[ewe.stage], pushed)
