"""From a checked farm to the proven least-cost ration of each group."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.farm.group_names import no_such_groups
from rationlp.model import reserves
from rationlp.model.bales import bale_remarks, eaters_of, open_too_long, without_bale_words
from rationlp.model.block_ration import NoOptimum, Optimum, gap_closed, promised_gap, solve_block
from rationlp.model.ewe_relief import relieved
from rationlp.model.explain import explain
from rationlp.model.lines import Eaten, supply_lines
from rationlp.model.rows.animal import protein_penalty
from rationlp.model.rows.block import Block, make_block
from rationlp.model.rows.mineral import priced_shortage
from rationlp.model.rows.rumen import RUMEN_MJ, rumen_short
from rationlp.model.tidy import Tidied, tidy
from rationlp.model.words import better_forage_below, sentences
from rationlp.needs import group_needs
from rationlp.needs.supply import ration_supply
from rationlp.quantities import fresh_from_dm
from rationlp.result import Amount, GroupRation, Proof, Rations, Tidy

NOTHING_KG = 1e-6
"""Amounts at or below a milligram are the solver's rounding, not feed [kg DM a head a day]."""
_ROUNDING = 1e-6


def chosen_groups(farm: Farm, only: Collection[str] | None) -> tuple[Group, ...]:
    """The groups asked for, in the farm's order. Raises InputError for one it does not have."""
    if only is None:
        return farm.groups
    if findings := no_such_groups(farm.groups, only):
        raise InputError(findings)
    return tuple(group for group in farm.groups if group.id in only)


def make_blocks(farm: Farm, only: Collection[str] | None = None) -> tuple[Block, ...]:
    """A block a group, needs worked out. Raises one InputError with all that is missing."""
    blocks: list[Block] = []
    findings: list[Finding] = []
    for group in chosen_groups(farm, only):
        try:
            blocks.append(make_block(farm, group, group_needs(group, farm.margins)))
        except InputError as trouble:
            findings.extend(trouble.findings)
    if findings:
        raise InputError(dict.fromkeys(findings))
    return tuple(blocks)


def solve_rations(farm: Farm, only: Collection[str] | None = None) -> Rations:
    """The least-cost ration of every group (or those in `only`) today, each with its proof.

    A group without a ration is answered too: what is short, and whether that is proved. Raises
    InputError for missing figures or unknown groups, SolverTrouble when the solver fails or an
    answer does not pass its own check.
    """
    groups = [_solve(farm, block) for block in make_blocks(farm, only)]
    richer, bales = better_forage_below(farm, groups), bale_remarks(farm, eaters_of(groups))
    without = _without_open_bales(farm, groups) if bales else {}
    answers = []
    for group in groups:
        more = []
        if group.group in richer:
            more = [richer[group.group]]
        more += [*bales.get(group.group, ()), *without.get(group.group, ())]
        answers.append(replace(group, remarks=(*group.remarks, *more)))
    return Rations(farm, tuple(answers))


def _without_open_bales(farm: Farm, groups: Sequence[GroupRation]) -> dict[str, tuple[str, ...]]:
    """By group that eats from a bale open too long, what its ration would cost without it."""
    words: dict[str, tuple[str, ...]] = {}
    costs = {group.group: group.feed_cost for group in groups}
    for bale in open_too_long(farm, tuple(eaters_of(groups))):
        others = tuple(offer for offer in farm.offers if offer.id != bale.store)
        for block in make_blocks(replace(farm, offers=others), bale.groups):
            group, other = block.group.id, _solve(farm, block)
            extra = None
            if other.feed_cost is not None:
                extra = other.feed_cost - (costs[group] or 0.0)
            money = f"{farm.currency} {extra or 0.0:.2f} a head a day"
            sentence = without_bale_words(bale.name, "ration", money, extra)
            words[group] = (*words.get(group, ()), sentence)
    return words


def _solve(farm: Farm, block: Block) -> GroupRation:
    """The answer for one block; a fresh cow whose need cannot be eaten may lose weight."""
    answer = solve_block(block)
    easier = reserves.easier_if_needed(farm, block, answer)
    if easier is None and not isinstance(answer, NoOptimum):
        return _with(block, answer)
    easier = easier or _relieved_ewe(farm, block)
    if easier is None and isinstance(answer, NoOptimum):
        # Only a group without a ration pays for loading what looks for a way out.
        from rationlp.model.clash import find_clash
        from rationlp.model.remedies import find_remedies

        clash = find_clash(block)
        remedies = find_remedies(farm, block, clash)
        return replace(_without(block, answer), clash=clash, remedies=remedies)
    assert easier is not None
    return _with(*easier)


def _relieved_ewe(farm: Farm, block: Block) -> tuple[Block, Optimum] | None:
    """The ration of a ewe with the least relief that lets her be fed, or None."""
    easier = relieved(farm, block)
    if easier is None:
        return None
    answer = solve_block(easier)
    if isinstance(answer, NoOptimum):
        return None
    return (easier, answer)


def _without(block: Block, answer: NoOptimum) -> GroupRation:
    why = explain(block)
    return GroupRation(
        group=block.group.id,
        name=block.group.name,
        head=block.group.head,
        status="none_exists" if answer.proved else "none_found",
        needs=block.needs,
        amounts=(),
        supply=(),
        feed_cost=None,
        penalty=None,
        dm_kg=None,
        me_mj_per_kg_dm=None,
        proof=None,
        shortfalls=why.shortfalls,
        at_limit=why.at_limit,
        remarks=block.needs.remarks,
    )


def amounts_of(
    block: Block, kg_dm: dict[str, float], reduced: dict[str, float] | None = None
) -> tuple[Amount, ...]:
    """The feeds of a ration in the farm's order, with fresh weight and cost a head a day."""
    return tuple(
        Amount(
            offer=offer.id,
            name=offer.name,
            kg_dm=kg_dm[offer.id],
            kg_fresh=fresh_from_dm(kg_dm[offer.id], offer.feed.dm_g_per_kg),
            cost=kg_dm[offer.id] * offer.price_per_kg_dm,
            marginal=None if reduced is None else reduced[offer.id],
        )
        for offer in block.offers
        if kg_dm.get(offer.id, 0.0) > NOTHING_KG
    )


def _with(block: Block, optimum: Optimum) -> GroupRation:
    tidied, over = tidy(block, optimum), optimum.over_mj
    cheapest = amounts_of(block, optimum.values, optimum.reduced_costs)
    cheapest_eaten = _eaten(block, cheapest, optimum)
    proof = _proof(block, optimum, cheapest_eaten)
    penalty = priced_extras(block, over, cheapest_eaten)
    amounts, eaten, done = cheapest, cheapest_eaten, None
    if tidied is not None:
        over = tidied.over_mj
        amounts = amounts_of(block, tidied.values, optimum.reduced_costs)
        eaten = _eaten(block, amounts, optimum)
        least, penalty = penalty, priced_extras(block, over, eaten)
        done = _tidy(block, tidied, eaten, amounts, cheapest)
        done = replace(done, extra_penalty=penalty - least)
    dm = eaten.supply.dm_kg
    return GroupRation(
        group=block.group.id,
        name=block.group.name,
        head=block.group.head,
        status="proven" if proof.passed and gap_closed(optimum) else "open",
        needs=block.needs,
        amounts=amounts,
        supply=supply_lines(block, eaten),
        feed_cost=sum(amount.cost for amount in amounts),
        penalty=penalty,
        dm_kg=dm,
        me_mj_per_kg_dm=eaten.supply.me_mj / dm if dm > 0.0 else None,
        proof=proof,
        remarks=(*block.needs.remarks, *sentences(block, over, eaten)),
        tidy=done,
    )


def _eaten(block: Block, amounts: Iterable[Amount], optimum: Optimum) -> Eaten:
    return eat(block, {amount.offer: amount.kg_dm for amount in amounts}, optimum.row_duals)


def priced_extras(block: Block, over_mj: float, eaten: Eaten) -> float:
    """What priced excess and shortages add to the cost compared [currency a head a day]."""
    supply = eaten.supply
    short = rumen_short(block, supply)
    protein = protein_penalty(block, supply.mp_g) + RUMEN_MJ * block.mj_price * short
    return over_mj * block.over_energy_price + protein + priced_shortage(block, eaten.amounts)


def _tidy(
    block: Block,
    tidied: Tidied,
    eaten: Eaten,
    amounts: tuple[Amount, ...],
    cheapest: tuple[Amount, ...],
) -> Tidy:
    """The tidy ration against its own requirement, and what it costs more than the cheapest."""
    energy, protein, met = excess(block, eaten)
    least = sum(amount.cost for amount in cheapest)
    return Tidy(
        steps=tidied.steps,
        cheapest=cheapest,
        cheapest_cost=least,
        extra_cost=sum(amount.cost for amount in amounts) - least,
        requirement_excess_mj=energy or 0.0,
        protein_excess_g=protein,
        passed=met,
    )


def eat(block: Block, kg_dm: dict[str, float], duals: dict[tuple[str, ...], float]) -> Eaten:
    """A ration as eaten, at its own level of feeding (None without an energy requirement)."""
    parts = [(offer.feed, kg) for offer, kg in block.fed(kg_dm)]
    level = None
    need = block.needs.energy
    if need is not None and parts:
        level = need.level_of_ration(parts)
    supply = ration_supply(parts, level, block.needs.standard)
    return Eaten(kg_dm, supply, level, duals)


def excess(block: Block, eaten: Eaten) -> tuple[float | None, float | None, bool]:
    """ME [MJ] and MP [g] over the true requirement at the ration's own q and L, and whether met."""
    needs, supply = block.needs, eaten.supply
    energy = protein = None
    met = True
    if needs.energy is not None:
        energy = supply.energy_mj - needs.energy.required_mj(eaten.q)
        met = energy >= -_ROUNDING * max(1.0, supply.energy_mj)
    if needs.mp_required_g is not None and supply.mp_g is not None:
        protein = supply.mp_g - needs.mp_required_g
        met = met and protein >= -_ROUNDING * max(1.0, needs.mp_required_g)
    return energy, protein, met


def _proof(block: Block, optimum: Optimum, eaten: Eaten) -> Proof:
    certificate = optimum.certificate
    energy, protein, met = excess(block, eaten)
    gap = max(optimum.objective - optimum.lower_bound, 0.0)
    return Proof(
        primal_residual=certificate.primal,
        dual_residual=certificate.dual,
        complementarity=certificate.complementarity,
        duality_gap=certificate.gap,
        requirement_excess_mj=energy,
        protein_excess_g=protein,
        cost=optimum.objective,
        lower_bound=optimum.lower_bound,
        gap=gap,
        gap_relative=gap / max(abs(optimum.objective), 1e-3 * optimum.model.live.unit),
        level_of_feeding=optimum.level,
        level_settled=True,
        bound_any_level=optimum.bound_any_level,
        lps=optimum.lps,
        coefficient_range=certificate.coefficient_range,
        passed=certificate.passed and met,
        verdict=_verdict(optimum, met),
    )


def _verdict(optimum: Optimum, met: bool) -> str:
    if not met:
        return "the ration misses its own requirement by more than the tolerance"
    if not optimum.certificate.passed:
        return "the last programme's optimum fails its own check"
    if not gap_closed(optimum):
        share = 100.0 * promised_gap(optimum)
        return f"adequate, but a cheaper ration is not excluded within {share:g} %"
    return "optimal and adequate"
