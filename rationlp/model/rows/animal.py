"""The rows of an animal: what she eats, her energy and protein. Amounts are a head a day."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from rationlp.model.energy import ME_DENSITY_MOST
from rationlp.model.lp import Column, Row, Words, at_least, at_most
from rationlp.model.rows.block import Block
from rationlp.model.rows.practice import free_minerals
from rationlp.needs.energy import GE_MJ_PER_KG_DM, Level
from rationlp.needs.nrc import NrcFigures
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.needs.nrc_state import NrcState
from rationlp.needs.standards import STANDARDS
from rationlp.records import dataclass

COLOSTRUM_MJ = 0.55
"""What a gram of MP short for udder and colostrum counts for, in MJ of bought feed: about five
times what it costs in soya bean meal, so that it is met wherever a feed brings it. A penalty, not a
cost; common practice, no source (c).
"""

WOOL_MJ = 0.055
"""What a gram of MP short for the wool of a dry or pregnant ewe or a ram counts for, in MJ of
bought feed: below what soya bean meal asks for it, so that no feed is bought for it alone. Wool
gives way first: published advice on rolls beside silage leaves it out, and silage alone keeps dry
ewes. A penalty, not a cost; common practice, no source (c).
"""

LAST_MJ = 0.09
"""The same for the last of a ewe's milk or a calf's gain: about what soya bean meal asks for it, so
that soya brings it where it is cheap and no ration is pressed to 220 g of crude protein for it. A
penalty, not a cost; chosen (c).
"""


@dataclass(frozen=True)
class ProteinShort:
    """MP short of what is wanted besides the requirement [g a head a day]."""

    wool: float = 0.0
    last: float = 0.0
    colostrum: float = 0.0


def _protein_wanted(block: Block) -> list[tuple[str, float, float, str]]:
    """(column, most [g], price, title) of protein wanted besides the requirement."""
    needs, price = block.needs, block.mj_price
    udder, last = "protein short for udder and colostrum", "protein short for milk or gain"
    return [
        ("short_colostrum", needs.colostrum_mp_g, COLOSTRUM_MJ * price, udder),
        ("short_wool", needs.wool_wanted_g, WOOL_MJ * price, "protein short for wool"),
        ("short_last", needs.priced_wanted_g, _last_mj(block) * price, last),
    ]


def _last_mj(block: Block) -> float:
    """What a gram short of the last of milk or gain counts for: a fresh dairy cow's is met wherever
    a feed brings it.
    """
    return LAST_MJ if block.needs.milker is None else COLOSTRUM_MJ


def protein_short(block: Block, supplied_g: float | None) -> ProteinShort:
    """What is short by the protein supplied [g MP a head a day]: wool gives way first."""
    needs = block.needs
    if supplied_g is None:
        return ProteinShort()
    short = max(0.0, needs.mp_wanted_g - supplied_g)
    wool = min(short, needs.wool_wanted_g)
    last = min(short - wool, needs.priced_wanted_g)
    return ProteinShort(wool, last, min(short - wool - last, needs.colostrum_mp_g))


def protein_penalty(block: Block, supplied_g: float | None) -> float:
    """What protein short for wool, the last of milk or gain, udder and colostrum adds [currency a
    head a day]; a penalty, not a cost.
    """
    short = protein_short(block, supplied_g)
    mj = short.wool * WOOL_MJ + short.last * _last_mj(block) + short.colostrum * COLOSTRUM_MJ
    return mj * block.mj_price


def feed_columns(block: Block) -> Iterator[Column]:
    """x_i [kg DM a head a day] of every feed that the group may eat, priced per kg DM."""
    for offer in block.offers:
        yield Column(block.feed(offer), offer.price_per_kg_dm, unit="kg DM", title=offer.name)


def sum_columns(block: Block) -> Iterator[Column]:
    """m [g], D [kg DM], E [MJ], the priced excess over the ceiling and the shortage [MJ]."""
    needs = block.needs
    yield Column(block.key("dm"), unit="kg DM", title="dry matter eaten")
    if isinstance(needs.energy, NrcEnergy):
        yield Column(block.key("tdn"), unit="kg", title="digestible nutrients eaten")
        yield Column(block.key("concentrate"), unit="kg DM", title="concentrate eaten")
    if needs.energy is not None:
        title = f"{STANDARDS[needs.standard].energy_title} eaten"
        yield Column(block.key("me"), unit="MJ", title=title)
        yield Column(block.key("short_energy"), high=0.0, unit="MJ", title="energy short")
        if needs.energy_ceiling is not None and needs.ceiling_priced:
            title = "energy above the ceiling"
            yield Column(block.key("over_energy"), block.over_energy_price, unit="MJ", title=title)
    if needs.mp_g is not None:
        yield Column(block.key("microbes"), unit="g", title="microbial crude protein")
    if needs.mp_g is not None and isinstance(needs.energy, NrcEnergy):
        yield Column(block.key("short_protein"), high=0.0, unit="g", title="protein short")
    for name, most, price, title in _protein_wanted(block):
        if most > 0.0:
            yield Column(block.key(name), price, 0.0, most, unit="g", title=title)


def totals(block: Block) -> Iterator[Row]:
    """What is eaten in all. D − Σ x_i = 0 [kg DM]; E − Σ ME_i x_i = 0 [MJ]; by NRC (2001) E − Σ
    NE_i x_i = 0, NE_i of a ration held while a search runs, N − Σ TDN_i x_i = 0 and concentrate
    [kg].
    """
    coefs = {block.feed(offer): -1.0 for offer in block.offers}
    yield Row(block.key("dm_sum"), {**coefs, block.key("dm"): 1.0}, 0.0, 0.0, "definition", "kg DM")
    if block.needs.energy is None:
        return
    if isinstance(block.needs.energy, NrcEnergy):
        yield from _nutrients(block)
        coefs = {key: -mj for key, mj in net_energies_at(block, middling(block)).items()}
    else:
        coefs = {block.feed(offer): -me for offer, me in block.contents("me_mj_per_kg_dm")}
    yield Row(block.key("me_sum"), {**coefs, block.key("me"): 1.0}, 0.0, 0.0, "definition", "MJ")


def _nutrients(block: Block) -> Iterator[Row]:
    tdn: dict[tuple[str, ...], float] = {}
    concentrate: dict[tuple[str, ...], float] = {}
    for key, figures in zip(block.feed_keys, block.protein, strict=True):
        assert isinstance(figures, NrcFigures)
        tdn[key] = -figures.tdn
        concentrate[key] = -float(figures.concentrate)
    for name, coefs in (("tdn", tdn), ("concentrate", concentrate)):
        sums = {key: value for key, value in coefs.items() if value}
        own = {block.key(name): 1.0}
        yield Row(block.key(f"{name}_sum"), {**sums, **own}, 0.0, 0.0, "definition", "kg")


def middling(block: Block) -> Level:
    """The level of feeding at which rows are built, before a search holds it."""
    return STANDARDS[block.needs.standard].middling


def net_energies_at(block: Block, level: Level) -> dict[tuple[str, ...], float]:
    """Net energy of a kg DM of each feed [MJ] by its column, as a ration makes it."""
    assert isinstance(level, NrcState)
    return {
        key: figures.energy_mj(level)
        for key, figures in zip(block.feed_keys, block.protein, strict=True)
        if isinstance(figures, NrcFigures)
    }


def energy(block: Block) -> Iterator[Row]:
    """Enough energy. E + short − s·D ≥ h [MJ]; a pass sets s and h to stand for E ≥ M*(D)."""
    if block.needs.energy is not None:
        coefs = {block.key("me"): 1.0, block.key("dm"): 0.0, block.key("short_energy"): 1.0}
        words = Words(need="its energy", part_of="energy")
        standard = STANDARDS[block.needs.standard]
        title, why = standard.energy_title, standard.requirement
        yield at_least(block.key("energy"), coefs, 0.0, "MJ", title, why, words, "need")


def density(block: Block) -> Iterator[Row]:
    """Equations hold to q = 0.80: Σ (ME_i − 15.04) x_i ≤ 0 [MJ], richer feeds only; not for NRC."""
    if block.needs.energy is None or isinstance(block.needs.energy, NrcEnergy):
        return
    contents = block.contents("me_mj_per_kg_dm")
    if max(me for _, me in contents) > ME_DENSITY_MOST:
        coefs = {block.feed(offer): me - ME_DENSITY_MOST for offer, me in contents}
        why = f"range of the energy equations (q up to {ME_DENSITY_MOST / GE_MJ_PER_KG_DM:.2f})"
        bound = f"{ME_DENSITY_MOST:.1f} MJ ME in a kg of dry matter"
        words = Words(bound=bound, part_of="energy")
        title = "energy density of the ration"
        yield at_most(block.key("density"), coefs, 0.0, "MJ", title, why, words)


def intake(block: Block) -> Iterator[Row]:
    """What can be eaten: Σ x − c Σ x_concentrate ≤ cap; fed to appetite also at least a share of it
    [kg DM].

    A mineral whose amount is free does not fill: it counts for the cap, never for the appetite, or
    limestone would be the cheapest dry matter.
    """
    needs = block.needs
    cap = needs.intake
    if cap is not None:
        coefs = {
            block.feed(offer): 1.0 - cap.per_kg_concentrate * offer.feed.is_concentrate
            for offer in block.offers
        }
        words = Words(of="dry matter", whole="the limit on dry matter intake", order=2)
        title = "dry matter intake"
        yield at_most(block.key("intake"), coefs, cap.cap_kg_dm, "kg DM", title, cap.source, words)
        if needs.appetite_floor_share is not None:
            floor = needs.appetite_floor_share * cap.cap_kg_dm
            why = f"{100 * needs.appetite_floor_share:.0f} % of what can be eaten"
            yield _appetite(block, coefs, floor, why)
    if needs.appetite_floor_kg_dm is not None:
        coefs = {block.key("dm"): 1.0}
        why = "least that this class eats when fed to appetite"
        yield _appetite(block, coefs, needs.appetite_floor_kg_dm, why)


def _appetite(block: Block, coefs: dict[tuple[str, ...], float], floor: float, why: str) -> Row:
    free = {block.feed(offer): -1.0 for offer in free_minerals(block)}
    filling = {key: coefs.get(key, 0.0) + free.get(key, 0.0) for key in {**coefs, **free}}
    why = f"{why} (common practice, no source)"
    words = Words(of="dry matter", whole="the least of dry matter", part_of="appetite", order=5)
    return at_least(block.key("appetite"), filling, floor, "kg DM", "appetite", why, words)


def fibre_fill(block: Block) -> Iterator[Row]:
    """What the rumen holds. Σ NDF_i x_i ≤ f·W [kg NDF]."""
    fill = block.needs.ndf_fill_kg
    if fill is not None:
        contents = block.contents("ndf_g_per_kg_dm")
        coefs = {block.feed(offer): ndf / 1000.0 for offer, ndf in contents}
        why, words = "NDF that the rumen holds", Words(of="NDF", order=5)
        yield at_most(block.key("ndf_fill"), coefs, fill, "kg", "NDF eaten", why, words)


def protein(block: Block) -> Iterator[Row]:
    """Enough protein, at a level of feeding held while a search runs [g].

    m − y Σ FME_i x_i ≤ 0; m − Σ ERDP_i x_i ≤ 0; 0.6375 m (CSIRO: 0.6 m, NRC: 0.72 m) + Σ DUP_i x_i
    + short ≥ MP requirement with margin + colostrum.
    No whole number is needed: microbial protein is only ever wanted larger.
    """
    needs = block.needs
    if needs.mp_g is None:
        return
    level = middling(block)
    supply = protein_coefficients(block, level, level, level)
    m = block.key("microbes")
    may_lack = {block.key(name): 1.0 for name, most, _, _ in _protein_wanted(block) if most > 0.0}
    if isinstance(needs.energy, NrcEnergy):
        may_lack[block.key("short_protein")] = 1.0
    yield Row(block.key("microbes_energy"), {**supply[0], m: 1.0}, -inf, 0.0, "definition", "g")
    yield Row(block.key("microbes_nitrogen"), {**supply[1], m: 1.0}, -inf, 0.0, "definition", "g")
    standard, title = STANDARDS[needs.standard], "metabolisable protein"
    coefs = {**supply[2], m: standard.mp_per_microbial_cp, **may_lack}
    wanted, why = needs.mp_wanted_g, standard.requirement
    words = Words(need="its protein", unit="g MP", part_of="protein")
    yield at_least(block.key("protein"), coefs, wanted, "g", title, why, words, "need")


Coefs = dict[tuple[str, ...], float]


def protein_coefficients(
    block: Block, yield_level: Level, erdp_level: Level, dup_level: Level
) -> tuple[Coefs, ...]:
    """Coefficients of the feeds in the three protein rows, each taken at its own level of feeding L
    [-].

    One L everywhere is the requirement at that L; y at the highest L, ERDP at the lowest and DUP at
    the highest make a row that no L could ask less of, and the other way round one that is enough
    at every L between.
    """
    standard = STANDARDS[block.needs.standard]
    y = standard.microbial_yield(yield_level)
    by_energy: Coefs = {}
    by_nitrogen: Coefs = {}
    by_passing: Coefs = {}
    slow, fast = standard.passage(erdp_level), standard.passage(dup_level)
    for key, figures in zip(block.feed_keys, block.protein, strict=True):
        fme, erdp, dup = figures.at(slow)
        if fast != slow:
            dup = figures.at(fast)[2]
        by_energy[key] = -y * fme
        by_nitrogen[key] = -erdp
        by_passing[key] = dup
    return by_energy, by_nitrogen, by_passing
