"""What a ewe needs before and after tupping, by days to lambing: flushing of thin ewes, a month
held, an allowance of fat ewes; and what a ewe in milk may lose.

Days to lambing above 147 are days before tupping: she is a dry ewe. A ewe whose condition is not
stated is taken as fit.
"""

from __future__ import annotations

from collections.abc import Mapping

from rationlp.needs.sheep import GESTATION_DAYS
from rationlp.records import dataclass

FLUSHING_FACTOR = 1.6
"""Maintenance of a thin ewe around tupping [-]: NRC (1985) Nutrient Requirements of Sheep; status
(a). She can gain half a score.
"""

FLUSHING_FROM_DAYS_BEFORE, FLUSHING_TO_DAYS_AFTER = 42.0, 21.0
THIN_SCORE, FAT_SCORE = 2.5, 3.5
"""Condition (1 to 5): thin at or below (c), fat at or above (a vet's page, 2014; a)."""

FLUSHING = "flushing_factor"
"""Set by the program where the feeds do not carry the full flushing: the factor they carry."""

HELD_TO_DAY, LOSS_TO_DAY = 30.0, 90.0
"""Days of pregnancy: no change of weight to day 30; from then to day 90 a fat ewe may lose. UK
sheep pages, 2013–14; status (a).
"""

LOSS_KG_PER_DAY = 0.05
"""Loss of a fat ewe in mid-pregnancy [kg/d]: half a score in two months; vet's page, 2014; (a)."""


MILKING_LOSS_KG = 0.15
MILKING_LOSS_WEEKS, MILKING_LOSS_LATER_WEEKS = 4.0, 6.0
MILKING_LOSS_IN_ALL_KG = 5.0
"""Loss of a ewe in milk [kg/d] in weeks 1–4, weeks in which she may lose at all, and most in all
[kg]: inside the 0.12–0.27 kg/d that ewes of trials lost (abstracts, status a); the ceilings are
common practice (c). Weeks 5 and 6 have what is left of the 5 kg.
"""

FULL_LOSS_SCORE, HALF_LOSS_SCORE = 3.0, 2.5


def most_loss_kg(facts: Mapping[str, float | str]) -> float:
    """Most that a ewe in milk may lose [kg/d]: all at score 3 (and where none is stated), half at
    2.5, none below; none after week 6.
    """
    week, score = (
        float(facts["week_of_lactation"]),
        float(facts.get("condition_score", FULL_LOSS_SCORE)),
    )
    if week > MILKING_LOSS_LATER_WEEKS or score < HALF_LOSS_SCORE:
        return 0.0
    left = (MILKING_LOSS_IN_ALL_KG - 7.0 * MILKING_LOSS_WEEKS * MILKING_LOSS_KG) / 14.0
    most = MILKING_LOSS_KG if week <= MILKING_LOSS_WEEKS else left
    if score >= FULL_LOSS_SCORE:
        return most
    return 0.5 * most


def flushed(facts: Mapping[str, float | str]) -> bool:
    """A thin ewe from six weeks before to three weeks after tupping."""
    to_lambing, score = facts.get("days_to_lambing"), facts.get("condition_score")
    if to_lambing is None or score is None or float(score) > THIN_SCORE:
        return False
    return (
        -FLUSHING_FROM_DAYS_BEFORE <= GESTATION_DAYS - float(to_lambing) <= FLUSHING_TO_DAYS_AFTER
    )


@dataclass(frozen=True)
class Season:
    """What the season changes in a ewe's need: maintenance ×, change of weight [kg/d], words."""

    maintenance_factor: float
    change_kg_per_day: float
    remarks: tuple[str, ...] = ()


def season(facts: Mapping[str, float | str], change_kg_per_day: float) -> Season:
    """The season of a ewe with days to lambing; other sheep keep their need and stated change."""
    to_lambing, score = facts.get("days_to_lambing"), facts.get("condition_score")
    if to_lambing is None:
        return Season(1.0, change_kg_per_day)
    day = GESTATION_DAYS - float(to_lambing)
    if flushed(facts):
        factor = float(facts.get(FLUSHING, FLUSHING_FACTOR))
        text = (
            f"Thin ewes around tupping are fed {factor:.2g} times maintenance, from six weeks"
            f" before to three weeks after ({FLUSHING_FACTOR:g} by NRC 1985): they can gain half a"
            " score. Fit ewes need no flushing."
        )
        return Season(factor, max(change_kg_per_day, 0.0), (text,))
    if 0.0 <= day <= HELD_TO_DAY and change_kg_per_day < 0.0:
        text = (
            "In the first month after tupping no loss of weight is counted on: a ewe short of feed"
            " then loses her embryos."
        )
        return Season(1.0, 0.0, (text,))
    fat = score is not None and float(score) >= FAT_SCORE
    if fat and HELD_TO_DAY < day <= LOSS_TO_DAY and change_kg_per_day == 0.0:
        text = (
            f"Ewes at score {FAT_SCORE:g} or more may lose {LOSS_KG_PER_DAY:g} kg a day from day 30"
            " to day 90 of pregnancy, half a score in all; the plan counts on it. Score them again"
            " at day 90."
        )
        return Season(1.0, -LOSS_KG_PER_DAY, (text,))
    return Season(1.0, change_kg_per_day)
