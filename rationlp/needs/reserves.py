"""How much energy a fresh dairy cow may be let take from her back: a ceiling by week, weight and
condition.

The ceilings by week are chosen (c) so that they lie inside the body energy measured in nine cows
peaking at 35 kg: −64 MJ a day in week 1, −35 in weeks 2–4, −22 in weeks 5–8 (an abstract of the
British Society of Animal Science; status a), which is 85, 47 and 29 MJ ME-equivalent. Whole
allowance 1,365 MJ at 600 kg: 44 kg, 0.59 of a condition score.
"""

from __future__ import annotations

from math import ceil

from rationlp.farm.animals import CONDITION_SCORE_SHARE_OF_WEIGHT
from rationlp.farm.group import Group
from rationlp.farm.lactation import MILKERS
from rationlp.needs.cattle import RESERVE_MJ_PER_KG_SEEN

CEILING_MJ = (55.0, 42.0, 30.0, 20.0, 12.0, 12.0, 8.0, 8.0, 4.0, 4.0)
"""Most energy from the back, weeks 1 to 10 after calving [MJ ME-equivalent/d at 600 kg]; (c)."""
_AT_KG = 600.0
USUAL_SCORE = 3.0
"""Condition score taken where the farm gives none: published advice is to calve at 3.0–3.25 (a)."""
THINNER = ((3.0, 1.0), (2.75, 0.8), (2.5, 0.5))
VERY_THIN = 0.25
FIRST_CALVER = 0.7
"""Multipliers of the ceiling by condition score, and of a first calver; common practice, no source
(c). Fat cows get no more.
"""


def reserve_ceiling(group: Group) -> float:
    """Most energy from the back of a head of the group [MJ ME-equivalent a day]; 0 for what is no
    fresh dairy cow, and for a group that loses weight by the farm's own word already.
    """
    if (
        group.animal_class not in MILKERS
        or float(group.facts.get("live_weight_change_kg_per_day", 0.0)) < 0.0
    ):
        return 0.0
    week = max(1, ceil(group.number("week_of_lactation") - 1e-9))
    if week > len(CEILING_MJ):
        return 0.0
    score = float(group.facts.get("condition_score", USUAL_SCORE))
    condition = next((share for least, share in THINNER if score >= least), VERY_THIN)
    parity = 1.0
    if group.animal_class == "first_calver_milking":
        parity = FIRST_CALVER
    return CEILING_MJ[week - 1] * group.number("live_weight_kg") / _AT_KG * condition * parity


def kg_lost(reserve_mj: float) -> float:
    """kg of weight behind so much energy from the back, at the 31 MJ a kg of weeks 1–10 (a)."""
    return reserve_mj / RESERVE_MJ_PER_KG_SEEN


def score_lost(kg: float, live_weight_kg: float) -> float:
    """Condition score (1 to 5) behind so many kg lost: a score is 12.5 % of live weight (c)."""
    return kg / (CONDITION_SCORE_SHARE_OF_WEIGHT * live_weight_kg)
