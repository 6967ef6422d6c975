"""A ration judged by a standard of needs: what it brings, and what the standard asks for."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from rationlp.farm.feed import Feed
from rationlp.needs.objects import GroupNeeds
from rationlp.needs.supply import protein_figures_missing, ration_supply
from rationlp.records import dataclass


@dataclass(frozen=True)
class Judgement:
    """What a ration brings and what is asked for, a head a day, margins of the standard included.

    standard: by which. energy_mj, energy_needed_mj: energy [MJ], ME or by NRC
    (2001) net energy of milk. mp_g, mp_needed_g: metabolisable protein
    [g]; CSIRO (2007) calls it protein digested in the intestine, less what eating costs. None where
    there is no such need, or a feed lacks a figure. energy_most_mj: above it the animals get too
    fat [MJ], None for classes without such a ceiling.
    """

    standard: str
    energy_mj: float
    energy_needed_mj: float | None
    mp_g: float | None
    mp_needed_g: float | None
    energy_most_mj: float | None = None

    @property
    def energy_share(self) -> float | None:
        """Energy brought over energy asked for [-]."""
        if not self.energy_needed_mj:
            return None
        return self.energy_mj / self.energy_needed_mj

    @property
    def protein_share(self) -> float | None:
        """Protein brought over protein asked for [-]."""
        if self.mp_g is None or not self.mp_needed_g:
            return None
        return self.mp_g / self.mp_needed_g


def judged(needs: GroupNeeds, parts: Sequence[tuple[Feed, float]]) -> Judgement:
    """A ration of (feed, kg DM a head a day) against needs, by the standard of these."""
    fed = [(feed, kg) for feed, kg in parts if kg > 0.0]
    me = sum(kg * (feed.value("me_mj_per_kg_dm") or 0.0) for feed, kg in fed)
    nothing = Judgement(needs.standard, me, None, None, None)
    if needs.energy is None or not fed:
        return nothing
    if any(protein_figures_missing(feed, needs.standard) for feed, _ in fed):
        return nothing
    level, asked = needs.energy.level_of_ration(fed), needs.energy.needed_mj(fed)
    if inf in (asked, level):
        return nothing
    supply = ration_supply(fed, level, needs.standard)
    most = None
    if needs.energy_ceiling is not None:
        most = needs.energy_ceiling * asked
    brought, mp, wanted = supply.energy_mj, supply.mp_g, needs.mp_required_g
    if mp is not None and wanted is not None:
        mp, wanted = mp + supply.mp_of_eating_g, wanted + supply.mp_of_eating_g
    return Judgement(needs.standard, brought, asked, mp, wanted, most)
