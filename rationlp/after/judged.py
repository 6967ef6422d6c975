"""A ration judged by a standard of needs: what it brings by that standard's figures, and what the
standard asks for.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from rationlp.farm.feed import Feed
from rationlp.farm.group import NRC, Group
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.nrc_cow import judged_by_nrc
from rationlp.needs.objects import GroupNeeds
from rationlp.needs.supply import ration_supply
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


def judged_cow(group: Group, parts: Sequence[tuple[Feed, float]]) -> Judgement | None:
    """A dairy cow's ration by NRC (2001), which plans none here; None as `judged_by_nrc`."""
    figures = judged_by_nrc(group, parts)
    if figures is None:
        return None
    return Judgement(NRC, *figures)


def judged(needs: GroupNeeds, parts: Sequence[tuple[Feed, float]]) -> Judgement:
    """A ration of (feed, kg DM a head a day) against needs, by the standard of these."""
    dm = sum(kg for _, kg in parts)
    me = sum(kg * (feed.value("me_mj_per_kg_dm") or 0.0) for feed, kg in parts)
    if needs.energy is None or dm <= 0.0:
        return Judgement(needs.standard, me, None, None, None)
    q = me / dm / GE_MJ_PER_KG_DM
    level, asked = needs.energy.feeding_level(q), needs.energy.required_mj(q)
    if asked == inf or level == inf:
        return Judgement(needs.standard, me, None, None, None)
    mp = ration_supply(parts, level, needs.standard).mp_g
    most = None
    if needs.energy_ceiling is not None:
        most = needs.energy_ceiling * asked
    return Judgement(needs.standard, me, asked, mp, needs.mp_required_g, most)
