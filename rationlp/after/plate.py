"""What a head eats in a day, as cautions look at it: shares, contents and ratios of a whole ration.

A figure that a feed lacks is never taken as nought: a sum over the feeds that have it is a least
value, good enough to say that too much is eaten, never that too little is.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from functools import cached_property

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import NRC, Group
from rationlp.model.rows.block import content
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.objects import GroupNeeds
from rationlp.needs.standards import ENERGY_TITLES
from rationlp.needs.supply import protein_figures_missing, ration_supply
from rationlp.records import dataclass
from rationlp.result import FedSupply, GroupRation, Shortfall
from rationlp.rules.cautions import CautionRow

NA_EQ, K_EQ, CL_EQ, S_EQ = 0.023, 0.039, 0.0355, 0.016
"""g in a milliequivalent, for (Na/0.023 + K/0.039) − (Cl/0.0355 + S/0.016): with per cent of DM the
sum is meq per 100 g, with g/kg DM it is meq per kg, ten times as much. US feed supplier's page of
2020; status (a).
"""

K_G_PER_EQ, CA_G_PER_EQ, MG_G_PER_EQ = 39.10, 20.04, 12.15
"""g in an equivalent of potassium, calcium and magnesium, by atomic weights; status (a)."""

DAYS_AFTER_GRASS = 21
"""So long after housing a ration is a change from grass [days]: about 21 days for a full change by
a brassica grower's welfare page, as in feeds/cautions.csv (a).
"""

_ANALYSED = frozenset({"lab", "farm"})


@dataclass(frozen=True)
class Plate:
    """A ration of a group, solved or fed. parts: each feed eaten with kg DM a head a day; none, and
    needs None, for a group that could not be fed. before: kg DM of what was fed before by offer id,
    None where that is not known. shortfalls: of an unfed group.
    """

    farm: Farm
    group: Group
    needs: GroupNeeds | None
    parts: tuple[tuple[Offer, float], ...]
    before: Mapping[str, float] | None = None
    shortfalls: tuple[Shortfall, ...] = ()

    @cached_property
    def dm_kg(self) -> float:
        """kg DM a head a day."""
        return sum(kg for _, kg in self.parts)

    def total(
        self, quantity: str, complete: bool = True, feeds: Callable[[Feed], bool] = bool
    ) -> float | None:
        """Σ content · kg DM; None where a figure is missing and it must be complete."""
        sum_of = 0.0
        for offer, kg in self.parts:
            if feeds(offer.feed):
                value = content(offer.feed, quantity, self.farm.own_quantities)
                if value is None and complete:
                    return None
                sum_of += (value or 0.0) * kg
        return sum_of

    def share(self, feeds: Callable[[Feed], bool]) -> float | None:
        """Share of the dry matter that the feeds chosen make up [-]."""
        return sum(kg for offer, kg in self.parts if feeds(offer.feed)) / self.dm_kg


def make_plate(
    farm: Farm, ration: GroupRation | FedSupply, before: Mapping[str, float] | None = None
) -> Plate | None:
    """The plate of a ration; without parts where nothing is eaten, None for a group that the farm
    does not have.

    before: kg DM fed before by offer id, where that is known.
    """
    offers = {offer.id: offer for offer in farm.offers}
    groups = {group.id: group for group in farm.groups}
    if ration.group not in groups:
        return None
    eaten = [amount for amount in ration.amounts if amount.kg_dm > 0.0]
    parts = tuple((offers[amount.offer], amount.kg_dm) for amount in eaten)
    short = getattr(ration, "shortfalls", ())
    return Plate(farm, groups[ration.group], ration.needs, parts, before, short)


def figure(plate: Plate, row: CautionRow, name: str = "") -> float | None:
    """The figure of a row, or the one named, in the row's unit; None where not known."""
    name = name or row.quantity
    if name in OF_GROUP:
        return OF_GROUP[name](plate)
    fact = plate.group.nearest_fact(name)
    if fact is not None and name not in MEASURES:
        if isinstance(fact, str):
            return None
        return float(fact)
    if not plate.parts:
        return None
    if name in MEASURES:
        return MEASURES[name](plate, row)
    total = plate.total(name, complete=row.comparison in ("below", "at_most"))
    if total is None:
        return None
    return total / plate.dm_kg


def _share_of_dm(plate: Plate, row: CautionRow) -> float | None:
    return plate.share(row.covers)


def _of_live_weight(plate: Plate, row: CautionRow) -> float | None:
    share = plate.share(row.covers)
    if share is None or plate.needs is None or plate.needs.live_weight_kg is None:
        return None
    return share * plate.dm_kg / plate.needs.live_weight_kg


def _concentrate_kg_fresh(plate: Plate, row: CautionRow) -> float | None:
    """kg fresh of concentrates; the cautions of this figure are about meals, whatever the feeds."""
    return sum(
        kg * 1000.0 / offer.feed.dm_g_per_kg
        for offer, kg in plate.parts
        if offer.feed.is_concentrate
    )


def _ration_dm(plate: Plate, row: CautionRow) -> float | None:
    fresh = sum(kg * 1000.0 / offer.feed.dm_g_per_kg for offer, kg in plate.parts)
    return plate.dm_kg * 1000.0 / fresh


def _over(part: float | None, whole: float | None) -> float | None:
    """One figure over another; None where one of them is not known, or the other nought."""
    if part is None or not whole:
        return None
    return part / whole


def _urea_share_of_cp(plate: Plate, row: CautionRow) -> float | None:
    protein = plate.total("cp_g_per_kg_dm")
    urea = plate.total("cp_g_per_kg_dm", feeds=lambda feed: feed.kind == "npn")
    return _over(urea, protein)


def _copper_unknown(plate: Plate, row: CautionRow) -> float | None:
    return plate.share(lambda feed: feed.value("cu_mg_per_kg_dm") is None)


def _forage_k(plate: Plate, row: CautionRow) -> float | None:
    forage = sum(kg for offer, kg in plate.parts if offer.feed.is_forage)
    potassium = plate.total("k_g_per_kg_dm", feeds=lambda feed: feed.is_forage)
    if forage <= 0.0:
        return 0.0
    return _over(potassium, forage)


def _k_to_ca_mg(plate: Plate, row: CautionRow) -> float | None:
    k, ca, mg = (plate.total(f"{name}_g_per_kg_dm") for name in ("k", "ca", "mg"))
    if k is None or ca is None or mg is None or ca + mg <= 0.0:
        return None
    return (k / K_G_PER_EQ) / (ca / CA_G_PER_EQ + mg / MG_G_PER_EQ)


def _ca_to_p(plate: Plate, row: CautionRow) -> float | None:
    calcium, phosphorus = plate.total("ca_g_per_kg_dm"), plate.total("p_g_per_kg_dm")
    return _over(calcium, phosphorus)


def _dcad(plate: Plate, row: CautionRow) -> float | None:
    """meq per kg DM; only with chloride and sulphur of every feed analysed or stated."""
    for offer, _ in plate.parts:
        for name in ("cl_g_per_kg_dm", "s_g_per_kg_dm"):
            known = offer.feed.figures.get(name)
            if known is None or known.origin not in _ANALYSED:
                return None
    na, k, cl, s = (plate.total(f"{name}_g_per_kg_dm") for name in ("na", "k", "cl", "s"))
    if na is None or k is None or cl is None or s is None:
        return None
    return dcad_meq(na, k, cl, s) / plate.dm_kg


def dcad_meq(na_g: float, k_g: float, cl_g: float, s_g: float) -> float:
    """Cation-anion balance [meq] of so many g of sodium, potassium, chloride and sulphur: (Na/0.023
    + K/0.039) − (Cl/0.0355 + S/0.016). US feed supplier's page of 2020 on balancing before calving;
    status (a).
    """
    return (na_g / NA_EQ + k_g / K_EQ) - (cl_g / CL_EQ + s_g / S_EQ)


def _starch_step(plate: Plate, row: CautionRow) -> float | None:
    """g starch per kg DM more than in what was fed before; all of it in the first weeks after
    housing, when grass was fed before; None later on where nothing is known of the ration before: a
    herd goes on as it is.
    """
    starch = plate.total("starch_g_per_kg_dm", complete=False)
    share = (starch or 0.0) / plate.dm_kg
    if plate.before is not None:
        offers = {offer.id: offer for offer in plate.farm.offers}
        parts = [
            (offers[key], kg) for key, kg in plate.before.items() if kg > 0.0 and key in offers
        ]
        earlier = replace(plate, parts=tuple(parts))
        had = earlier.total("starch_g_per_kg_dm", complete=False)
        return share - (had or 0.0) / (earlier.dm_kg or 1.0)
    day = plate.farm.day or plate.farm.start
    housed = max(plate.farm.start, plate.group.housed or plate.farm.start)
    if (day - housed).days >= DAYS_AFTER_GRASS:
        return None
    return share


def _mixer_wagon(plate: Plate) -> float:
    """1 where the group is fed from a mixer wagon, else 0."""
    feeding = plate.group.feeding or plate.farm.feeding
    return float(feeding.wagon != "none")


def _me_cover(plate: Plate) -> float | None:
    """ME eaten as a multiple of the requirement without margin, at the ration's own q; of a group
    that could not be fed, what is left of the need when its shortage is taken off.
    """
    if not plate.parts:
        short = [
            shortfall
            for shortfall in plate.shortfalls
            if shortfall.need in ENERGY_TITLES and shortfall.needed > 0.0
        ]
        margin = plate.farm.margins.me
        return min(
            (margin * (1.0 - energy.short / energy.needed) for energy in short), default=None
        )
    eaten = plate.total("me_mj_per_kg_dm")
    if plate.needs is None or plate.needs.energy is None or not eaten:
        return None
    need = replace(plate.needs.energy, margin=1.0)
    if plate.needs.standard != NRC:
        return eaten / need.required_mj(eaten / plate.dm_kg / GE_MJ_PER_KG_DM)
    fed = [(offer.feed, kg) for offer, kg in plate.parts if kg > 0.0]
    if any(protein_figures_missing(feed, NRC) for feed, _ in fed):
        return None
    brought = ration_supply(fed, need.level_of_ration(fed), NRC).energy_mj
    return brought / need.needed_mj(fed)


def _a_day(quantity: str) -> Callable[[Plate, CautionRow], float | None]:
    return lambda plate, row: plate.total(quantity)


MEASURES: dict[str, Callable[[Plate, CautionRow], float | None]] = {
    "share_of_dm": _share_of_dm,
    "kg_dm_per_kg_live_weight": _of_live_weight,
    "concentrate_kg_fresh": _concentrate_kg_fresh,
    "ration_dm_g_per_kg": _ration_dm,
    "urea_share_of_cp": _urea_share_of_cp,
    "copper_unknown_share": _copper_unknown,
    "forage_k_g_per_kg_dm": _forage_k,
    "k_to_ca_mg_meq": _k_to_ca_mg,
    "ca_to_p": _ca_to_p,
    "dcad_meq_per_kg_dm": _dcad,
    "starch_step_g_per_kg_dm": _starch_step,
    "mg_g": _a_day("mg_g_per_kg_dm"),
    "cp_g": _a_day("cp_g_per_kg_dm"),
}


OF_GROUP: dict[str, Callable[[Plate], float | None]] = {
    "head": lambda plate: float(plate.group.head),
    "mixer_wagon": _mixer_wagon,
    "me_cover": _me_cover,
}
"""Figures that a group has without a ration too."""


def eats(plate: Plate, offers: Collection[str]) -> list[Offer]:
    """The feeds eaten that are among these offers, in the farm's order."""
    return [offer for offer, kg in plate.parts if offer.id in offers and kg > 0.0]
