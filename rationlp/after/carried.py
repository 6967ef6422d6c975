"""What a ration would carry: the milk or gain that its energy and its protein each suffice for, and
what of it is wasted.

The exact equations are asked the other way round, by halving, at the ration's own metabolisability;
no margin is taken.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import inf

from rationlp.errors import InputError
from rationlp.farm.farm import Margins
from rationlp.farm.feed import Feed
from rationlp.farm.group import AFRC, NRC, Group
from rationlp.farm.traits import traits
from rationlp.halving import halve
from rationlp.needs import requirement_of, standard_of
from rationlp.needs.objects import GroupNeeds, Requirement
from rationlp.needs.produced import is_sheep, milk_of
from rationlp.needs.supply import metabolisable_protein, protein_figures_missing, ration_supply
from rationlp.records import dataclass

MOST_MILK_KG, MOST_EWE_MILK_KG, MOST_GAIN_KG = 90.0, 8.0, 3.0
_STEPS = 60
Parts = Sequence[tuple[Feed, float]]


@dataclass(frozen=True)
class CarriedProduct:
    """Milk or gain [kg a head a day] that a ration suffices for, without margins.

    product: `milk` or `gain`. asked: what the group is to make. by_energy, by_protein: None where
    the ration does not even cover what the animal needs besides (`by_protein` also where a feed
    lacks protein figures). limited_by: `energy` or `protein`. standard: whose equations.
    """

    product: str
    asked: float
    by_energy: float | None
    by_protein: float | None
    limited_by: str
    standard: str = AFRC


@dataclass(frozen=True)
class Waste:
    """What a ration brings and the animal cannot use, a head a day; 0 where nothing is over.

    erdp_g: rumen-degradable protein beyond what microbes can use with the energy of this ration.
    me_mj: ME (by NRC net energy) over the need, margin included. mp_g: the same of MP, burnt as
    energy.
    """

    erdp_g: float
    me_mj: float
    mp_g: float


def carried(group: Group, parts: Parts) -> CarriedProduct | None:
    """The milk or gain a ration carries by the group's standard; None for a group of neither."""
    milk = milk_of(group)
    if milk is not None:
        most = MOST_MILK_KG
        if is_sheep(group):
            most = MOST_EWE_MILK_KG
        return _carried(group, parts, "milk", most, milk)
    if traits(group.animal_class).growing:
        gain = float(group.facts.get("gain_kg_per_day", 0.0))
        return _carried(group, parts, "gain", MOST_GAIN_KG, gain)
    return None


def _carried(
    group: Group, parts: Parts, product: str, most: float, asked: float
) -> CarriedProduct | None:
    fact = f"{product}_kg_per_day"
    fed = [(feed, kg) for feed, kg in parts if kg > 0.0]
    dm = sum(kg for _, kg in fed)
    if dm <= 0.0:
        return None
    standard = standard_of(group)
    blank = any(protein_figures_missing(feed, standard) for feed, _ in fed)
    if blank and standard == NRC:
        return None

    def need(amount: float) -> Requirement | None:
        try:
            return requirement_of(group)(
                replace(group, facts={**group.facts, fact: amount}), Margins(1.0, 1.0)
            )
        except InputError:
            return None

    def energy(amount: float) -> bool:
        required = need(amount)
        if required is None:
            return False
        own, asked = required.energy.level_of_ration(fed), required.energy.needed_mj(fed)
        return asked <= ration_supply(fed, None if own == inf else own, standard).energy_mj

    def protein(amount: float) -> bool:
        required = need(amount)
        if required is None:
            return False
        level = required.energy.level_of_ration(fed)
        if level == inf:
            return False
        brought = metabolisable_protein(fed, level, standard)
        return brought >= required.mp_g + required.priced_mp_g

    by_energy, by_protein, scarcer = _most(energy, most), None, "energy"
    if not blank:
        by_protein = _most(protein, most)
        if by_energy is not None and (by_protein is None or by_protein < by_energy):
            scarcer = "protein"
    return CarriedProduct(product, asked, by_energy, by_protein, scarcer, standard)


def _most(covered: Callable[[float], bool], most: float) -> float | None:
    """The largest amount covered, by halving; None where nothing at all is."""
    if not covered(0.0):
        return None
    return halve(covered, 0.0, most, times=_STEPS)[0]


def wasted(needs: GroupNeeds, parts: Parts) -> Waste | None:
    """What of a ration is over; None without an energy requirement or a protein figure."""
    need = needs.energy
    fed = [(feed, kg) for feed, kg in parts if kg > 0.0]
    standard = needs.standard
    if need is None or not fed or any(protein_figures_missing(feed, standard) for feed, _ in fed):
        return None
    level = need.level_of_ration(fed)
    if level == inf:
        return None
    own = ration_supply(fed, level, standard)
    assert own.erdp_g is not None and own.mp_g is not None
    return Waste(
        max(own.erdp_g - (own.microbes_by_energy_g or 0.0), 0.0),
        max(own.energy_mj - need.needed_mj(fed), 0.0),
        max(own.mp_g - needs.mp_wanted_g, 0.0),
    )
