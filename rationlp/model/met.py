"""Whether a ration meets its needs by what its feeds are worth in it, and not by rows held."""

from __future__ import annotations

from rationlp.model.optimum import LevelRation
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel
from rationlp.model.ties import NEED_TOLERANCE
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.needs.supply import metabolisable_protein, ration_supply


def stands(model: BlockModel, values: tuple[float, ...]) -> bool:
    """A ration meets energy and protein by what its feeds are worth in it."""
    block, need = model.block, model.need
    parts = [(offer.feed, values[number]) for number, offer in enumerate(block.offers)]
    fed = [(feed, kg) for feed, kg in parts if kg > 0.0]
    assert need is not None
    supply = ration_supply(fed, need.level_of_ration(fed), block.needs.standard)
    enough = supply.energy_mj >= need.required_mj(0.0) * (1.0 - NEED_TOLERANCE)
    enough = enough and model.stands(values)
    wanted = block.needs.mp_required_g
    if wanted is None or supply.mp_g is None:
        return enough
    return enough and supply.mp_g >= wanted * (1.0 - NEED_TOLERANCE)


def protein_met(block: Block, ration: LevelRation) -> bool:
    """The ration brings the protein needed at its own level of feeding."""
    needed = block.needs.mp_required_g
    if needed is None:
        return True
    if isinstance(block.needs.energy, NrcEnergy):
        # The rows that touched at this very ration say so.
        return True
    parts = [(offer.feed, ration.values[number]) for number, offer in enumerate(block.offers)]
    brought = metabolisable_protein(parts, ration.own_level, block.needs.standard)
    return brought >= needed * (1.0 - NEED_TOLERANCE)
