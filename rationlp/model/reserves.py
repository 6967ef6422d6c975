"""Fresh dairy cows whose need cannot be eaten, or only as a ration that nobody feeds: energy from
the back as far as published practice goes, then less milk.

The energy from the back is no variable of the solve: the need falls as the diet gets richer, and a
loss inside it would be credited twice. It is the least number, to 1 MJ, at which the block alone
has an ordinary ration with 45 % forage (or less, where no such ration exists) and room for
minerals, within the ceiling of her week and condition (needs/reserves.py). Ordinary: no more
protein and ME in the dry matter than is usual (feeds/believability.csv), or than when she milks
off her back as much as she may, and no more fat than then. Just where any ration at all exists, a
MJ costs twenty times what it costs to put back later (31.5 MJ for 25.2 saved). `ration` and
`winter` use the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from math import inf

from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.farm.lactation import MILK
from rationlp.halving import halve
from rationlp.model.believable import HAIR, feeding_system, figures
from rationlp.model.block_ration import NoOptimum, Optimum, solve_block
from rationlp.model.dairy_words import FRESH_FORAGE_SHARE
from rationlp.model.points import Point
from rationlp.model.rows.block import Block, with_floor
from rationlp.model.rows.mineral import priced_shortage
from rationlp.needs import group_needs
from rationlp.needs.cohorts import mean_over, with_milk
from rationlp.needs.objects import DietLimit
from rationlp.needs.reserves import kg_lost, reserve_ceiling
from rationlp.records import dataclass
from rationlp.rules.limits import believable

LEAST_MILK_SHARE = 0.70
"""Least share of the stated milk: below it something else is wrong; chosen (c)."""
RESERVE_STEP_MJ, MILK_STEP_KG = 1.0, 0.1
SHORTAGE_TO_MIND_G = 2.0
"""Minerals short, absorbed, that count as no room for them [g a head a day]."""

MORE_CP_G, MORE_ME_MJ, MORE_FAT_KG = 5.0, 0.1, 0.01
"""What an ordinary ration may have above that with the most from her back, where that is above the
usual already [g/kg DM, MJ/kg DM, kg DM]; chosen (c).
"""
USUAL_FAT_KG = 0.3
"""Protected fat that a cow in milk usually gets at most [kg DM]; common practice, no source (c)."""

Eased = tuple[Block, Optimum]


def eased(farm: Farm, block: Block) -> Block:
    """The block as it stands where it has an ordinary ration, or is no fresh cow's; else with what
    her back or less milk eases it by.
    """
    if not may_be_eased(block.group):
        return block
    easier = easier_if_needed(farm, block, solve_block(block))
    return block if easier is None else easier[0]


def easier_if_needed(farm: Farm, block: Block, answer: Optimum | NoOptimum) -> Eased | None:
    """What her back or less milk eases a fresh cow by; None where her ration is ordinary as it
    stands, or nothing helps.
    """
    if isinstance(answer, NoOptimum):
        return off_her_back(farm, block)
    if not may_be_eased(block.group) or _within(_richness((block, answer)), block):
        return None
    easier = off_her_back(farm, block)
    if easier is None or easier[0].group.reserve_mj <= RESERVE_STEP_MJ:
        return None
    return easier


def may_be_eased(group: Group) -> bool:
    """Whether the mean cow of a group may live off her back at all."""
    return ceiling_of(group) >= RESERVE_STEP_MJ


def ceiling_of(group: Group) -> float:
    """Most energy from the back of the group's mean cow [MJ ME-equivalent a day]."""
    return mean_over(group, reserve_ceiling)


def off_her_back(farm: Farm, block: Block) -> Eased | None:
    """The block with the least energy from the back at which it has a ration, and that ration;
    where the most allowed is not enough, with the least milk taken off too; None where neither
    helps.
    """
    ceiling = ceiling_of(block.group)
    if ceiling < RESERVE_STEP_MJ:
        return None

    solve = _Solver(farm, block)

    def losing(reserve_mj: float) -> Eased | None:
        return solve.at(replace(block.group, reserve_mj=reserve_mj), FRESH_FORAGE_SHARE)

    def losing_on_little_forage(reserve_mj: float) -> Eased | None:
        return solve.at(replace(block.group, reserve_mj=reserve_mj), None)

    for trial in (losing, losing_on_little_forage):
        most = trial(ceiling)
        if most is not None:
            ordinary = _ordinary(_with_minerals(trial, most), most)
            return _said(_least(ordinary, (0.0, ceiling), RESERVE_STEP_MJ, most), block.group)

    def milking_less(less: float) -> Eased | None:
        return solve.at(replace(with_milk(block.group, 1.0 - less), reserve_mj=ceiling), None)

    least_milk = milking_less(1.0 - LEAST_MILK_SHARE)
    if least_milk is None:
        return None
    step = MILK_STEP_KG / block.group.number(MILK)
    return _said(_least(milking_less, (0.0, 1.0 - LEAST_MILK_SHARE), step, least_milk), block.group)


def _with_minerals(
    trial: Callable[[float], Eased | None], roomy: Eased
) -> Callable[[float], Eased | None]:
    """A trial that also leaves room for the minerals that fit at the most she may lose."""
    most = _short(roomy) + SHORTAGE_TO_MIND_G * roomy[0].mineral_shortage_price

    def with_room(figure: float) -> Eased | None:
        answer = trial(figure)
        if answer is None or _short(answer) > most:
            return None
        return answer

    return with_room


@dataclass(frozen=True)
class _Richness:
    """What a ration has too much of where an animal cannot eat enough: crude protein [g/kg DM], ME
    [MJ/kg DM], fat [kg DM a head a day]; and its share of forage in the DM [-], then too small.
    """

    cp: float
    me: float
    fat: float
    forage: float
    system: str


def _richness(answer: Eased) -> _Richness:
    block, optimum = answer
    fed = {
        offer.id: (offer.feed, kg)
        for offer in block.offers
        if (kg := optimum.values.get(offer.id, 0.0)) > 0.0
    }
    contents = figures(fed)
    fat = sum(kg for feed, kg in fed.values() if feed.kind == "fat")
    cp, me = (contents.get(name, 0.0) for name in ("cp_g_per_kg_dm", "me_mj_per_kg_dm"))
    return _Richness(cp, me, fat, contents.get("forage_share_of_dm", 1.0), feeding_system(fed))


def _within(ration: _Richness, block: Block, most: _Richness | None = None) -> bool:
    """Whether a ration is no richer than usual, or hardly so with the most from her back."""
    rows = believable(block.needs.believability, ration.system)
    usual = {row.quantity: row.high for row in rows}
    cp, me = usual.get("cp_g_per_kg_dm", inf), usual.get("me_mj_per_kg_dm", inf)
    fat = USUAL_FAT_KG
    forage = FRESH_FORAGE_SHARE if most is None else 0.0
    if most is not None:
        cp, me = max(cp, most.cp + MORE_CP_G), max(me, most.me + MORE_ME_MJ)
        fat = max(fat, most.fat + MORE_FAT_KG)
    too_rich = ration.cp > cp or ration.me > me or ration.fat > fat
    return not too_rich and ration.forage >= forage - HAIR


def _ordinary(
    trial: Callable[[float], Eased | None], roomy: Eased
) -> Callable[[float], Eased | None]:
    """A trial whose ration is also an ordinary one."""
    most = _richness(roomy)

    def not_richer(reserve_mj: float) -> Eased | None:
        answer = trial(reserve_mj)
        if answer is None or not _within(_richness(answer), answer[0], most):
            return None
        return answer

    return not_richer


def _short(answer: Eased) -> float:
    block, optimum = answer
    return priced_shortage(block, optimum.values)


def _least(
    trial: Callable[[float], Eased | None],
    between: tuple[float, float],
    step: float,
    at_most: Eased,
) -> Eased:
    """The answer at the least figure of an interval; `at_most`: that at its upper end."""
    answers: dict[float, Eased | None] = {}

    def is_too_little(figure: float) -> bool:
        answers[figure] = trial(figure)
        return answers[figure] is None

    _, enough = halve(is_too_little, *between, step)
    return answers.get(enough) or at_most


class _Solver:
    """The block of a fresh cow with others in her place; each search begins at the last."""

    def __init__(self, farm: Farm, block: Block) -> None:
        self._farm, self._block = farm, block
        self._near: Point | None = None

    def at(self, group: Group, forage_share: float | None) -> Eased | None:
        """The block and its ration, held to a share of forage where one is given."""
        block = self._block
        needs = replace(group_needs(group, self._farm.margins), remarks=block.needs.remarks)
        if forage_share is not None:
            needs = replace(needs, limits=_with_forage(needs.limits, forage_share))
        trial = replace(block, group=group, needs=with_floor(group, needs, block.offers))
        answer = solve_block(trial, near=self._near)
        if isinstance(answer, NoOptimum):
            return None
        self._near = answer.point
        return (trial, answer)


def _with_forage(limits: Iterable[DietLimit], share: float) -> tuple[DietLimit, ...]:
    """Limits with another share of forage in their place."""
    why = "common practice, no source: forage of fresh cows"
    held = DietLimit("forage_share", share, None, "share of DM", "row", "c", why)
    others = (one for one in limits if (one.quantity, one.kind) != ("forage_share", "row"))
    return (*others, held)


def _said(answer: Eased, stated: Group) -> Eased:
    """The answer with a sentence on what it counts on, before the others."""
    block, optimum = answer
    group = block.group
    kg = kg_lost(group.reserve_mj)
    said = [
        f"Her need cannot be eaten so soon after calving: {group.reserve_mj:.0f} MJ a day from her"
        f" back is counted on, about {kg:.1f} kg a day, the least with which her ration is an"
        f" ordinary one (most in this week and condition: {ceiling_of(stated):.0f} MJ). Score her"
        " at calving and in week 6: more than half a score is too much. It comes back later only if"
        " it is fed for: give live_weight_change_kg_per_day then."
    ]
    less = stated.number(MILK) - group.number(MILK)
    if less > 0.5 * MILK_STEP_KG:
        said.append(
            f"Even so she cannot eat enough for {stated.number(MILK):.1f} kg: this ration is for"
            f" {group.number(MILK):.1f} kg, {less:.1f} kg less milk. Better forage, or cows in"
            " better condition at calving, would bring it back."
        )
    needs = replace(block.needs, remarks=(*said, *block.needs.remarks))
    return replace(block, needs=needs), optimum
