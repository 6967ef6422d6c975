"""A ration that meets energy and protein with a chosen chance under NRC (2001).

As in sure.py each row has a cone taken off it, but rows and cones both move with the ration: at
every pass the rows are tangents at the last answer, and what the analyses may hide is told there.
Where the passes stand still the ration meets its own cones.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from rationlp.model.lp import Key
from rationlp.model.nrc_spread import (
    BY_ENERGY,
    BY_NITROGEN,
    ENERGY,
    Spreads,
    brought,
    moves_of,
    nrc_deviations,
)
from rationlp.model.points import Held, Point, nrc_fed, point_at, point_rows
from rationlp.model.rows.block import Block
from rationlp.model.sure import Chances, SureModel, chance_of, spread_over
from rationlp.needs.nrc import MP_OF_MICROBES
from rationlp.needs.nrc_energy import NrcEnergy

MOST_CUTS = 120
"""Cuts of cones that are kept from pass to pass."""
SURE_TOLERANCE = 1e-4
"""Share of a need by which a ration may miss it at the chance asked for [-]."""


class NrcSureModel(SureModel):
    """A block under NRC (2001) whose energy and protein rows hold with a chance."""

    def first_deviations(self) -> dict[str, dict[str, float]]:
        """Nothing is hidden until a ration is known."""
        self.moves = moves_of(self.block, self.spreads)
        return {cone: dict.fromkeys(self.moves, 0.0) for cone in self.cones}

    def hold_level(self, number: int, low: Held, high: Held | None = None) -> None:
        """The rows as they stand at a ration, and what its analyses may hide."""
        held = self.levels[number][0]
        super().hold_level(number, low, high)
        if isinstance(low, Point) and low != held:
            self._hold_sure(low)

    def _hold_sure(self, point: Point) -> None:
        block, live = self.block, self.live
        self.drop_cuts(MOST_CUTS)
        self.take_deviations(nrc_deviations(block, self.moves, point))
        if block.needs.mp_g is None:
            return
        rows = {row.key: row for row in point_rows(block, point)}
        passing = rows[block.key("protein")]
        for cone, name in ((BY_ENERGY, "microbes_energy"), (BY_NITROGEN, "microbes_nitrogen")):
            microbes, key = rows[block.key(name)], block.key("sure", cone)
            coefs: dict[Key, float] = {
                column: passing.coefs.get(column, 0.0)
                - MP_OF_MICROBES * microbes.coefs.get(column, 0.0)
                for column in {**passing.coefs, **microbes.coefs}
            }
            live.set_coefficients(key, coefs)
            live.set_row_bounds(key, passing.low - MP_OF_MICROBES * microbes.high, inf)

    def stands(self, values: Sequence[float]) -> bool:
        """A ration meets every row with the chance asked for, by what its feeds are worth in it."""
        block = self.block
        found = hidden(block, self.amounts_of(values), self.spreads)
        if found is None:
            return False
        need = block.needs.energy
        assert isinstance(need, NrcEnergy)
        wanted = [need.required_mj(0.0), block.needs.mp_required_g, block.needs.mp_required_g]
        return all(
            asked is None or sum_ - self.z * sd >= asked * (1.0 - SURE_TOLERANCE)
            for asked, (sum_, sd) in zip(wanted, found, strict=True)
        )


def hidden(
    block: Block, kg_dm: Mapping[str, float], spreads: Spreads
) -> tuple[tuple[float, float], ...] | None:
    """(what a ration brings, its standard deviation) of energy [MJ] and of both sums of protein
    [g]; None where next to nothing is eaten.
    """
    kg = [kg_dm.get(offer.id, 0.0) for offer in block.offers]
    need, point = block.needs.energy, point_at(block, kg)
    assert isinstance(need, NrcEnergy)
    if point is None:
        return None
    found = nrc_deviations(block, moves_of(block, spreads), point)
    wide = (spread_over(found[cone], block.fed(kg_dm)) for cone in (ENERGY, BY_ENERGY, BY_NITROGEN))
    return tuple(zip(brought(need, nrc_fed(block, kg)), wide, strict=True))


def nrc_chances(block: Block, kg_dm: Mapping[str, float], spreads: Spreads) -> Chances:
    """Chance of each row for a ration, against the block's need as it stands."""
    need, wanted = block.needs.energy, block.needs.mp_required_g
    assert isinstance(need, NrcEnergy)
    found = hidden(block, kg_dm, spreads)
    if found is None:
        return Chances(0.0, None, None, 0.0, None)
    energy, by_energy, by_nitrogen = found
    met = chance_of(energy[0] - need.required_mj(0.0), energy[1])
    if wanted is None:
        return Chances(met, None, None, energy[1], None)
    return Chances(
        met,
        chance_of(by_energy[0] - wanted, by_energy[1]),
        chance_of(by_nitrogen[0] - wanted, by_nitrogen[1]),
        energy[1],
        max(by_energy[1], by_nitrogen[1]),
    )
