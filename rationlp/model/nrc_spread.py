"""What analyses may hide of a ration under NRC (2001), where each feed moves all the others.

A deviation of a feed's ME moves its digestible nutrients and with them the discount of the whole
ration; one of its crude protein moves what is degraded and what passes. At a ration each of the
three sums that a need is held to is taken to grow in a straight line with every deviation, so that
the deviation of the sum is sqrt(Σ (σ_i x_i)²), σ_i with what the feed does to the others counted
in. How good that line is is counted on drawn analyses, each a whole ration worked out anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import hypot
from random import Random

from rationlp.farm.feed import Feed
from rationlp.model.points import Point
from rationlp.model.rows.block import Block
from rationlp.needs.nrc import (
    MP_OF_MICROBES,
    RUMEN_G_PER_KG_TDN,
    RUMEN_PER_RDP,
    NrcFigures,
    nrc_figures,
)
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.needs.nrc_state import NrcState
from rationlp.records import dataclass
from rationlp.rules.spreads import CP, ME, shifted

ENERGY, BY_ENERGY, BY_NITROGEN = "unsure_energy", "unsure_mp_by_energy", "unsure_mp_by_nitrogen"
"""Sums that analyses move: energy, protein where energy or where nitrogen limits the microbes."""
MET = 1.0 - 1e-9
"""Share of a need from which a drawn ration meets it [-]."""


@dataclass(frozen=True)
class FeedSpread:
    """Standard deviations of a feed [MJ/kg DM, g CP/kg DM]."""

    me_mj: float
    cp_g: float


Spreads = Mapping[str, FeedSpread]
Deviations = Mapping[str, Mapping[str, float]]
"""What a kg DM brings to the standard deviation of each sum [MJ, g], by sum and offer id."""


@dataclass(frozen=True)
class Moved:
    """What a standard deviation of one analysis is worth in a kg DM of a feed: TDN [kg], DE [Mcal]
    and crude protein [g].
    """

    tdn: float
    de: float
    cp_g: float


def moved_by(feed: Feed, spread: FeedSpread) -> tuple[Moved, ...]:
    """What a deviation of its ME, and one of its crude protein, moves in a feed."""
    own, found = nrc_figures(feed), []
    for name, deviation in ((ME, spread.me_mj), (CP, spread.cp_g)):
        value = feed.value(name) or 0.0
        if value <= 0.0 or deviation <= 0.0:
            continue
        lower = nrc_figures(shifted(feed, {name: value - deviation}))
        moved = Moved(own.tdn - lower.tdn, own.de - lower.de, own.cp_g - lower.cp_g)
        found.append(moved)
    return tuple(found)


def moves_of(block: Block, spreads: Spreads) -> dict[str, tuple[Moved, ...]]:
    """The same of every feed of a block, by offer id."""
    none = FeedSpread(0.0, 0.0)
    return {offer.id: moved_by(offer.feed, spreads.get(offer.id, none)) for offer in block.offers}


def nrc_deviations(
    block: Block, moves: Mapping[str, Sequence[Moved]], point: Point
) -> dict[str, dict[str, float]]:
    """Standard deviation that a kg DM of each feed brings to each sum at a ration."""
    state = point.state
    microbes = RUMEN_G_PER_KG_TDN * state.delta + point.microbes.tdn
    found: dict[str, dict[str, float]] = {ENERGY: {}, BY_ENERGY: {}, BY_NITROGEN: {}}
    for offer, own in zip(block.offers, block.protein, strict=True):
        assert isinstance(own, NrcFigures)
        per_de = energy_per_de(own, state)
        kp = own.passage.at(state.intake_percent, state.concentrate_percent)
        degraded = own.fractions[0] + own.slow(kp)[0]
        passing = own.digested * (1.0 - degraded)
        nitrogen = RUMEN_PER_RDP * degraded
        each = moves[offer.id]
        energy = (per_de * one.de + point.energy.tdn * one.tdn for one in each)
        by_energy = (MP_OF_MICROBES * microbes * one.tdn + passing * one.cp_g for one in each)
        by_nitrogen = ((MP_OF_MICROBES * nitrogen + passing) * one.cp_g for one in each)
        for name, parts in (
            (ENERGY, energy), (BY_ENERGY, by_energy), (BY_NITROGEN, by_nitrogen),
        ):  # fmt: skip
            found[name][offer.id] = hypot(*parts)
    return found


def energy_per_de(own: NrcFigures, state: NrcState) -> float:
    """What a Mcal more of DE in a kg DM counts for towards the need [MJ], the discount held."""
    if own.fixed is not None or own.de <= 0.0:
        return 0.0
    return own.energy_slope_mj(state) / own.de * state.delta


def brought(need: NrcEnergy, fed: Sequence[tuple[NrcFigures, float]]) -> tuple[float, float, float]:
    """(energy [MJ], protein by energy, protein by nitrogen [g MP]) of a ration at its own state."""
    state = need.state(fed)
    energy = nutrients = degraded = passing = 0.0
    for own, kg in fed:
        by_energy, by_nitrogen, through = own.at(state)
        energy += kg * own.energy_mj(state)
        nutrients += kg * by_energy
        degraded += kg * by_nitrogen
        passing += kg * through
    by_energy = MP_OF_MICROBES * RUMEN_G_PER_KG_TDN * nutrients + passing
    return energy, by_energy, MP_OF_MICROBES * degraded + passing


def nrc_drawn_shares(
    block: Block, kg_dm: Mapping[str, float], spreads: Spreads, random: Random, draws: int
) -> tuple[float, float, float]:
    """Shares of drawn analyses, each a whole ration at its own discount and passage, at which
    energy, protein and both are met.
    """
    need, wanted = block.needs.energy, block.needs.mp_required_g
    assert isinstance(need, NrcEnergy)
    fed, met = block.fed(kg_dm), [0, 0, 0]
    for _ in range(draws):
        parts = [(_drawn(offer.feed, spreads[offer.id], random), kg) for offer, kg in fed]
        energy, by_energy, by_nitrogen = brought(need, parts)
        enough = energy >= need.required_mj(0.0) * MET
        protein = wanted is None or min(by_energy, by_nitrogen) >= wanted * MET
        for number, is_met in enumerate((enough, protein, enough and protein)):
            met[number] += is_met
    return met[0] / draws, met[1] / draws, met[2] / draws


def _drawn(feed: Feed, spread: FeedSpread, random: Random) -> NrcFigures:
    """A feed as a drawn analysis has it: no figure is drawn that is blank or nought."""
    pairs = ((ME, spread.me_mj), (CP, spread.cp_g))
    drawn = [(name, random.gauss(feed.value(name) or 0.0, sd)) for name, sd in pairs]
    values = {name: value for name, value in drawn if (feed.value(name) or 0.0) > 0.0}
    return nrc_figures(shifted(feed, values))
