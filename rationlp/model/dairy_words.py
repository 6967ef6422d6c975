"""What a feeder of dairy cows would remark on a ration in milk: forage, concentrate and fibre out
of the usual, milk held flat.

Thresholds are common practice, no source (c), unless the sentence names one.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from rationlp.farm.feed import Offer
from rationlp.farm.lactation import CURVE, FLAT, MILK, USUAL, WEEK, own_curve
from rationlp.model.lines import Eaten
from rationlp.model.passed import PASSED
from rationlp.model.rows.block import Block
from rationlp.needs.dairy_appetite import FRESH_WEEKS
from rationlp.needs.reserves import USUAL_SCORE
from rationlp.quantities import KG_PER_LITRE, fresh_from_dm

LITTLE_CONCENTRATE_KG_PER_LITRE, ABOVE_LITRES = 0.15, 25.0
"""Published levels are 0.25–0.33 kg a litre at 30 litres, 0.29–0.36 at 35 (Irish advice; (a))."""
MUCH_FORAGE_KG_DM = 15.5
TOTAL_NDF_OF_WEIGHT = 0.014
"""NDF of the whole ration [kg/kg live weight]: cows at 30–40 litres on fibrous compounds reach
0.013–0.015; US pages have 0.0125 ± 0.001 (a).
"""
FRESH_FORAGE_SHARE = 0.45


def dairy_sentences(block: Block, eaten: Eaten) -> Iterator[str]:
    """Everything there is to say of a ration of dairy cows in milk; nothing for other classes."""
    if block.needs.milker is None or eaten.supply.dm_kg <= 0.0:
        return
    fed = block.fed(eaten.amounts)
    forage = sum(kg for offer, kg in fed if offer.feed.is_forage)
    yield from _concentrate(block, fed, forage)
    yield from _fibre(block, fed)
    week = block.group.number(WEEK)
    if week <= FRESH_WEEKS and forage < FRESH_FORAGE_SHARE * eaten.supply.dm_kg:
        yield (
            f"Forage is {100 * forage / eaten.supply.dm_kg:.1f} % of the dry matter so soon after"
            f" calving: below {100 * FRESH_FORAGE_SHARE:.0f} % fresh cows go off their feet and"
            " their feed. Give the concentrate in a mix."
        )
    yield from _flat(block, week)
    if block.group.reserve_mj > 0.0 and "condition_score" not in block.group.facts:
        yield (
            f"No condition score is stated: {USUAL_SCORE:g} at calving is taken. Thin cows have"
            " less to milk off: give condition_score."
        )


def _concentrate(block: Block, fed: list[tuple[Offer, float]], forage: float) -> Iterator[str]:
    litres = block.group.number(MILK) / KG_PER_LITRE
    feeds = [(offer.feed, kg) for offer, kg in fed if offer.feed.is_concentrate]
    concentrate = sum(fresh_from_dm(kg, feed.dm_g_per_kg) for feed, kg in feeds)
    if litres > ABOVE_LITRES and concentrate < LITTLE_CONCENTRATE_KG_PER_LITRE * litres:
        yield (
            f"{concentrate / litres:.2f} kg of concentrates a litre at {litres:.0f} litres is less"
            f" than {LITTLE_CONCENTRATE_KG_PER_LITRE:g}: few herds milk so much on so little. Check"
            " the analysis of the forage and what the cows really eat."
        )
    if forage > MUCH_FORAGE_KG_DM * PASSED:
        yield (
            f"{forage:.1f} kg DM of forage a day is more than the {MUCH_FORAGE_KG_DM:g} kg of"
            " published trials: weigh what is put out and left. forage_intake_factor holds the"
            " herd's own."
        )


def _fibre(block: Block, fed: list[tuple[Offer, float]]) -> Iterator[str]:
    weight = block.needs.live_weight_kg
    contents = [(offer.feed.value("ndf_g_per_kg_dm"), kg) for offer, kg in fed]
    fibre = sum((value or 0.0) * kg for value, kg in contents) / 1000.0
    most = inf if weight is None else TOTAL_NDF_OF_WEIGHT * weight
    if fibre > most * PASSED:
        yield (
            f"NDF of the whole ration is {fibre:.1f} kg, above {100 * TOTAL_NDF_OF_WEIGHT:g} % of"
            f" live weight ({most:.1f} kg): cows may not clear it. Starchier concentrate, or less"
            " fibrous forage, would help."
        )


def _flat(block: Block, week: float) -> Iterator[str]:
    facts = block.group.facts
    usual = USUAL.get(block.group.animal_class)
    if facts.get(CURVE) != FLAT or usual is None:
        return
    fall = own_curve(usual, facts).fall_a_week(week)
    if fall > 0.0:
        yield (
            f"Milk is held flat at {block.group.number(MILK):.1f} kg by the farm's word; in week"
            f" {week:.0f} it usually falls {100 * fall:.1f} % a week."
        )
