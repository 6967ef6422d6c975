"""The rows of the rumen: nitrogen for the energy its microbes have, and urea only beside quick
energy.

MP already counts the microbes that are not made; what it does not count is that forage is then
digested less and eaten less.
"""

from __future__ import annotations

from collections.abc import Iterator

from rationlp.model.lp import Column, Row, Words, at_least, at_most
from rationlp.model.rows.block import Block
from rationlp.needs.energy import Level
from rationlp.needs.standards import STANDARDS
from rationlp.needs.supply import RationSupply
from rationlp.rules.limits import practice_figure

RUMEN_MJ = 0.165
"""Price of a gram of ERDP short of the least share, as MJ of bought energy [MJ/g]: above what urea,
rapeseed and soya bean meal ask for it, below what rolls of 18 % do. It is no money; common
practice, no source (c).
"""

UREA_PER_STARCH_AND_SUGAR = 0.10
"""Most urea [g] for each gram of starch and sugar in the ration: the linear form of "only where
starch and sugar are 100 g/kg DM", which binds only where urea is fed; common practice, no source
(c).
"""

COMMON = "common practice, no source"


def least_share(block: Block) -> float | None:
    """Least of ERDP/(y · FME) for the class [-]: 0.85 milking and finishing, 0.80 dry and growing
    (recycling); None without one.
    """
    if block.needs.mp_g is None:
        return None
    return practice_figure(block.needs.limits_key, "rumen_protein_least")


def rumen_columns(block: Block) -> Iterator[Column]:
    """The priced way out [g ERDP a head a day]."""
    if least_share(block) is not None:
        price, title = RUMEN_MJ * block.mj_price, "protein short for the rumen"
        yield Column(block.key("short_rumen"), price, unit="g", title=title)


def rumen_coefficients(block: Block, level: Level) -> dict[tuple[str, ...], float]:
    """ERDP − share · y · FME of a kg DM of each feed at a level of feeding [g]; ERDP falls and y
    rises with the level.
    """
    share = least_share(block)
    if share is None:
        return {}
    used, coefs = share * _yield(block, level), {}
    passage = STANDARDS[block.needs.standard].passage(level)
    for key, figures in zip(block.feed_keys, block.protein, strict=True):
        fme, erdp, _ = figures.at(passage)
        coefs[key] = erdp - used * fme
    return coefs


def rumen_protein(block: Block) -> Iterator[Row]:
    """Nitrogen for the microbes: Σ (ERDP_i − share · y · FME_i) x_i + short ≥ 0 [g], at a level of
    feeding held while a search runs.
    """
    if least_share(block) is not None:
        level = STANDARDS[block.needs.standard].middling
        coefs = {**rumen_coefficients(block, level), block.key("short_rumen"): 1.0}
        title, why = "protein for the rumen", f"{STANDARDS[block.needs.standard].title}; {COMMON}"
        words = Words(need="its protein for the rumen")
        yield at_least(block.key("rumen"), coefs, 0.0, "g", title, why, words, "priced")


def _yield(block: Block, level: Level) -> float:
    return STANDARDS[block.needs.standard].microbial_yield(level)


def rumen_share(supply: RationSupply) -> float | None:
    """ERDP over what the microbes could use with the energy of a ration [-]: AFRC (1993) wants 1 or
    more (from memory, b); None where it cannot be told.
    """
    if supply.erdp_g is None or not supply.microbes_by_energy_g:
        return None
    return supply.erdp_g / supply.microbes_by_energy_g


def rumen_short(block: Block, supply: RationSupply) -> float:
    """ERDP short of the least share of the class [g a head a day]."""
    share, used = least_share(block), supply.microbes_by_energy_g
    if share is None or supply.erdp_g is None or used is None:
        return 0.0
    return max(0.0, share * used - supply.erdp_g)


def urea_carried(block: Block) -> Iterator[Row]:
    """Urea only beside quick energy: Σ urea_i x_i ≤ 0.10 Σ (starch_i + sugar_i) x_i [g]; a blank
    figure counts as none.
    """
    urea = {offer.id for offer in block.offers if offer.feed.kind == "npn"}
    if not urea:
        return
    coefs = {}
    for offer in block.offers:
        quick = block.content(offer, "starch_and_sugar_g_per_kg_dm") or 0.0
        coefs[block.feed(offer)] = 1000.0 * (offer.id in urea) - UREA_PER_STARCH_AND_SUGAR * quick
    title, why = "urea beside starch and sugar", f"{COMMON}: urea needs quick energy"
    yield at_most(block.key("urea_carried"), coefs, 0.0, "g", title, why)
