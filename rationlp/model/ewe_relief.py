"""What gives way where a ewe's need cannot be eaten: weight of a ewe in milk, part of the flushing
of a thin one. `ration` and `winter` ask here both, so that what one feeds the other can.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.halving import halve_whole
from rationlp.model.block_ration import settle_levels
from rationlp.model.rows.block import Block
from rationlp.model.search import opened
from rationlp.needs import group_needs
from rationlp.needs.ewe_year import FLUSHING, FLUSHING_FACTOR, flushed, most_loss_kg

CHANGE = "live_weight_change_kg_per_day"
STEPS = 15
"""Loss is found in fifteenths of the most allowed: 0.01 kg a day in the first four weeks."""


def can_be_fed(block: Block) -> bool:
    """Whether a block by itself, stores full, has any ration."""
    model = opened(block)
    if model.infeasible:
        return False
    answer = settle_levels(model, ties=False).answer
    return answer is not None and answer.adequate


def may_give_way(block: Block) -> bool:
    """Whether a loss that she may have and the farm does not state, or flushing, can give way."""
    facts = block.group.facts
    if block.group.animal_class == "ewe_milking":
        return most_loss_kg(facts) > 0.0 and float(facts.get(CHANGE, 0.0)) >= 0.0
    return flushed(facts)


def relieved(farm: Farm, block: Block) -> Block | None:
    """The block with the least relief at which it can be fed; None where no relief is meant for it
    or none is enough.

    A ewe in milk loses weight (needs/ewe_year.py, `most_loss_kg`) unless the farm states a loss of
    its own; a thin ewe around tupping is flushed less. The caller has seen that the block cannot be
    fed as it is.
    """
    if not may_give_way(block):
        return None
    if block.group.animal_class == "ewe_milking":
        most = most_loss_kg(block.group.facts)
        return _least(lambda share: _losing(farm, block, share * most))
    more = FLUSHING_FACTOR - 1.0
    return _least(lambda share: _less_flushed(farm, block, FLUSHING_FACTOR - share * more))


def _least(eased: Callable[[float], Block]) -> Block | None:
    """The block of the least share of relief [-] that can be fed, by halving over `STEPS` steps."""
    if not can_be_fed(eased(1.0)):
        return None
    _, steps = halve_whole(lambda step: not can_be_fed(eased(step / STEPS)), 0, STEPS)
    return eased(steps / STEPS)


def _with_facts(farm: Farm, block: Block, **facts: float) -> Block:
    group: Group = replace(block.group, facts={**block.group.facts, **facts})
    needs = group_needs(group, farm.margins)
    before = group_needs(block.group, farm.margins).remarks
    kept = (text for text in block.needs.remarks if text not in before)
    return replace(block, group=group, needs=replace(needs, remarks=(*needs.remarks, *kept)))


def _losing(farm: Farm, block: Block, loss_kg: float) -> Block:
    eased = _with_facts(farm, block, **{CHANGE: -loss_kg})
    text = (
        f"Her need cannot be eaten so soon after lambing: she loses {loss_kg:.2f} kg a day,"
        f" {7.0 * loss_kg:.1f} kg a week, the least at which a ration exists (published practice:"
        f" at most {7.0 * most_loss_kg(block.group.facts):.1f} kg a week, from ewes at score 3)."
        " Score them at lambing and at week 4: thin ewes have nothing to lose."
    )
    return replace(eased, needs=replace(eased.needs, remarks=(text, *eased.needs.remarks)))


def _less_flushed(farm: Farm, block: Block, factor: float) -> Block:
    eased = _with_facts(farm, block, **{FLUSHING: factor})
    text = (
        "These feeds do not carry the full flushing of thin ewes: better forage, or grass, would."
    )
    return replace(eased, needs=replace(eased.needs, remarks=(text, *eased.needs.remarks)))
