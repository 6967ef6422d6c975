"""What of the ration fills an animal's appetite for forage: rows that hold for kg of dry matter,
one set a rule.

A rule is a function of the needs of a group and of the feeds at hand. It returns rows Σ weight · x
≤ most, x kg DM a head a day: linear in the ration and the same at every energy density, so that the
proof of a ration does not depend on them.
"""

from __future__ import annotations

from collections.abc import Sequence

from rationlp.farm.feed import Feed
from rationlp.needs import ewe_appetite
from rationlp.needs.dairy_appetite import milker_rows
from rationlp.needs.ewe_appetite import LateEwe
from rationlp.needs.forage import USUAL_CONCENTRATE_KG_DM, forage_percent, substitution
from rationlp.needs.growing_appetite import growing_rows
from rationlp.needs.objects import AppetiteRow as AppetiteRow
from rationlp.needs.objects import GroupNeeds

_UNIT = "of her appetite for forage"
EWE_SOURCE = "levy-board figures of what a ewe takes of such forage at this stage, from memory"


def appetite_rows(needs: GroupNeeds, feeds: Sequence[Feed]) -> tuple[AppetiteRow, ...]:
    """The rows that hold for a group with these feeds at hand; none for a class without a rule."""
    if needs.late_ewe is not None:
        return _late_ewe_rows(needs.late_ewe, feeds)
    if needs.milker is not None:
        return milker_rows(needs.milker, feeds)
    if needs.forage_stage is not None and needs.live_weight_kg is not None:
        return _ewe_rows(needs.forage_stage, needs.live_weight_kg, feeds)
    if needs.growing_forage and needs.live_weight_kg is not None:
        return growing_rows(needs.live_weight_kg, feeds)
    return ()


def _late_ewe_rows(ewe: LateEwe, feeds: Sequence[Feed]) -> tuple[AppetiteRow, ...]:
    """Σ x_i/F_i ≤ 1 over forages, and Σ x_i/F0_i + s C ≤ 1: F_i the most of that forage alone, F0_i
    the same without concentrate [kg DM], C the concentrate [kg DM], s the greatest r_i/F0_i of the
    forages at hand (needs/ewe_appetite.py).
    """
    fills = [ewe_appetite.filling(ewe, feed) for feed in feeds]
    if not any(fills):
        return ()
    filled = [0.0 if fill is None else 1.0 / fill.most_kg for fill in fills]
    alone = _alone(filled, ewe_appetite.EWE_SOURCE)
    if not any(feed.is_concentrate for feed in feeds):
        return (alone,)
    pushed = max(
        fill.pushed_out / fill.without_concentrate_kg for fill in fills if fill is not None
    )
    weights = []
    for feed, fill in zip(feeds, fills, strict=True):
        if fill is not None:
            weights.append(1.0 / fill.without_concentrate_kg)
        else:
            weights.append(pushed if feed.is_concentrate else 0.0)
    source = "concentrate replaces forage, the more the better the forage is"
    return alone, _pushed_out(weights, 1.0, source)


def _alone(weights: Sequence[float], source: str) -> AppetiteRow:
    title, bound = "forage that she takes", "the forage that she takes at her stage"
    return AppetiteRow("forage_appetite", tuple(weights), 1.0, _UNIT, title, bound, source)


def _pushed_out(weights: Sequence[float], most: float, source: str) -> AppetiteRow:
    title = "forage beside concentrate"
    bound = "the forage that she takes beside so much concentrate"
    source = f"{source}: trials with ewes in late pregnancy"
    return AppetiteRow("forage_pushed_out", tuple(weights), most, _UNIT, title, bound, source)


def _ewe_rows(stage: str, live_weight_kg: float, feeds: Sequence[Feed]) -> tuple[AppetiteRow, ...]:
    """Σ x_i/F_i ≤ 1 over forages, F_i what she takes of that forage alone [kg DM]; and, with C the
    concentrate [kg DM], Σ x_i/F_i + s (C − usual) ≤ 1.

    s is the greatest r_i/F_i of the forages at hand, r_i the kg of it that a kg of concentrate
    pushes out: with several forages the row asks for no more intake than the one that gives way
    most would leave.
    """
    percents = [forage_percent(stage, feed) for feed in feeds]
    if not any(percents):
        return ()
    filled = [100.0 / (percent * live_weight_kg) if percent else 0.0 for percent in percents]
    pushed = max(substitution(feed) * fill for feed, fill in zip(feeds, filled, strict=True))
    alone = _alone(filled, EWE_SOURCE)
    if not any(feed.is_concentrate for feed in feeds):
        return (alone,)
    usual = USUAL_CONCENTRATE_KG_DM[stage]
    weights = [
        pushed if feed.is_concentrate else fill for feed, fill in zip(feeds, filled, strict=True)
    ]
    source = f"concentrate above {usual:g} kg of dry matter replaces forage"
    return alone, _pushed_out(weights, 1.0 + pushed * usual, source)
