"""A ration already fed against what the group needs: no programme, the same sums and lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial

from rationlp.errors import Finding, InputError, refused
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.model.fed_reserve import milking_off_her_back, reserve_remark
from rationlp.model.lines import Eaten, supply_lines
from rationlp.model.ration import amounts_of, chosen_groups, eat
from rationlp.model.rows.block import Block, make_block, may_eat
from rationlp.model.words import sentences
from rationlp.needs import group_needs
from rationlp.needs.energy import plain_level
from rationlp.needs.objects import GroupNeeds
from rationlp.result import FedSupply


def fed_supply(
    farm: Farm, fed: dict[str, dict[str, float]], planned: Mapping[str, GroupNeeds] | None = None
) -> tuple[FedSupply, ...]:
    """What each fed ration supplies against what its group needs.

    fed: group id → offer id → kg DM a head a day. planned: needs by group id that a plan was made
    for, such as those of fresh cows that milk off their backs, instead of the needs of the day.
    Raises InputError for unknown groups and for figures that are missing on a feed that is fed.
    """
    answers: list[FedSupply] = []
    findings: list[Finding] = []
    for group in chosen_groups(farm, list(fed)):
        try:
            answers.append(_one(farm, group, (planned or {}).get(group.id), fed[group.id]))
        except InputError as trouble:
            findings.extend(trouble.findings)
    if findings:
        raise InputError(dict.fromkeys(findings))
    return tuple(answers)


def _one(
    farm: Farm, stated: Group, planned: GroupNeeds | None, kg_dm: dict[str, float]
) -> FedSupply:
    group, needs = stated, planned
    if needs is None:
        group = milking_off_her_back(stated, partial(_short_mj, farm, kg_dm))
        needs = group_needs(group, farm.margins)
    eaten_offers = tuple(offer for offer in farm.offers if kg_dm.get(offer.id, 0.0) > 0.0)
    if not eaten_offers:
        nothing, remedy = "no feed with an amount above zero", "give kg_fresh or kg_dm"
        raise refused("IN502", f'group "{group.id}"', nothing, remedy)
    besides = may_eat(farm, group, needs)
    block = replace(make_block(farm, group, needs, eaten_offers), besides=besides)
    eaten = eat(block, kg_dm, {})
    counted: list[str] = []
    if group.reserve_mj > 0.0:
        counted.append(reserve_remark(group, _lacking(block, eaten) > 0.0))
    amounts = amounts_of(block, kg_dm)
    return FedSupply(
        group=group.id,
        name=group.name,
        amounts=amounts,
        supply=supply_lines(block, eaten),
        feed_cost=sum(amount.cost for amount in amounts),
        dm_kg=eaten.supply.dm_kg,
        me_mj_per_kg_dm=eaten.supply.me_mj / eaten.supply.dm_kg,
        level_of_feeding=plain_level(eaten.level),
        needs=needs,
        remarks=(*counted, *needs.remarks, *sentences(block, 0.0, eaten)),
    )


def _short_mj(farm: Farm, kg_dm: dict[str, float], group: Group) -> float:
    """ME that a ration lacks of a group's need [MJ a head a day]; below 0 where it gives more."""
    offers = tuple(offer for offer in farm.offers if kg_dm.get(offer.id, 0.0) > 0.0)
    if not offers:
        return 0.0
    block = make_block(farm, group, group_needs(group, farm.margins), offers)
    return _lacking(block, eat(block, kg_dm, {}))


def _lacking(block: Block, eaten: Eaten) -> float:
    energy = block.needs.energy
    if energy is None:
        return 0.0
    return energy.required_mj(eaten.q) - eaten.supply.energy_mj
