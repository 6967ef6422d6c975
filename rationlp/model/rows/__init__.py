"""EVERY variable and constraint of the model. This is the contents page; a single ration is the
winter of one group, one day.

Variables, per group and period (a *block*), a head a day:
    feed             x_i: kg DM of feed i (animal.feed_columns)
    microbes         m: g microbial crude protein (animal.sum_columns, as all down to short_energy)
    dm, me           D, E: kg DM and MJ ME (NRC 2001: net energy); a pass can move these sums
    tdn, concentrate what of a ration the value of its feeds goes by, by NRC (2001) [kg]
    short_protein    g MP short, only opened while a search looks for a start, by NRC (2001)
    over_energy      MJ ME above the ceiling, priced (groups fed to appetite)
    short_colostrum  g MP short of what udder and colostrum want, priced (ewes in the last weeks)
    short_wool       g MP short of what the wool of dry and pregnant ewes and rams wants, priced
    short_last       g MP short for the last of a ewe's milk or a calf's gain, priced
    short_energy     MJ ME short, only opened while a search looks for a start
    short_rumen      g ERDP short of what the rumen's microbes should have, priced (rumen)
    short_mineral    g short of a mineral, priced (mineral.mineral_columns)
    over_limit       g above a limit that may be passed at a price (mineral.mineral_columns)

Constraints, per block, in the order of `FAMILIES`:
    totals           D = Σ x_i, E = Σ ME_i x_i (NRC 2001: of net energy), N = Σ TDN_i x_i
    energy           E ≥ M*(D) as one linear row that a pass moves (model/energy.py)
    density          ME per kg DM within the range of the equations
    intake           what the animal can eat, and the least that a group fed to appetite will eat
    fibre_fill       NDF that the rumen holds
    forage_appetite  what fills the appetite for forage, and how concentrate pushes it out
    protein          microbial protein limited by FME and by ERDP; MP ≥ requirement
    rumen_protein    ERDP for the energy that microbes have; short at a price
    urea_carried     urea only beside starch and sugar
    diet_limits      NDF, forage, starch, sugar, oil, CP, straw, urea …: shares of the diet
    own_limits       needs and limits on any quantity that the farm states itself
    feed_limits      kg or share of one feed, floors and ceilings
    practice         each feed within its printed limit for the class
    families         near-identical feeds together within theirs
    minerals         the fixed mineral of the class, less what compounds bring
    mineral_needs    Ca, P, Mg and Na absorbed, calcium to phosphorus; short at a price
    priced_limits    limits of the diet that may be passed at a price: potassium before calving
    held_feeds       feeds that an analysis holds to a share of the dry matter
    asked            two forages held to a share of both, where a question asks for it
    stomach          forage share, silage, forage NDF and dry matter that an animal can really take

To add a constraint: one generator in this folder, one line in `FAMILIES`, one toy case in
tests/model/test_rows.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.rows import animal, asked, cautions, diet, forage, mineral, practice, rumen
from rationlp.model.rows.block import Block

Family = Callable[[Block], Iterator[Row]]

FAMILIES: dict[str, Family] = {
    "totals": animal.totals,
    "energy": animal.energy,
    "density": animal.density,
    "intake": animal.intake,
    "fibre_fill": animal.fibre_fill,
    "forage_appetite": forage.forage_appetite,
    "protein": animal.protein,
    "rumen_protein": rumen.rumen_protein,
    "urea_carried": rumen.urea_carried,
    "diet_limits": diet.diet_limits,
    "own_limits": diet.own_limits,
    "feed_limits": diet.feed_limits,
    "practice": practice.practice,
    "families": practice.families,
    "minerals": practice.minerals,
    "held_feeds": cautions.held_feeds,
    "asked": asked.asked,
    "stomach": practice.stomach,
    "mineral_needs": mineral.mineral_needs,
    "priced_limits": mineral.priced_limits,
}


def block_columns(block: Block) -> Iterator[Column]:
    """All variables of a block: its feeds in the farm's order, its sums, its priced ways out."""
    yield from animal.feed_columns(block)
    yield from animal.sum_columns(block)
    yield from rumen.rumen_columns(block)
    yield from mineral.mineral_columns(block)


def block_costs(block: Block) -> dict[Key, float]:
    """What each column of a block costs [currency a head a day]; the others cost nothing."""
    return {column.key: column.cost for column in block_columns(block) if column.cost}


def block_rows(block: Block) -> Iterator[Row]:
    """All constraints of a block, family by family."""
    for name, family in FAMILIES.items():
        for row in family(block):
            yield row.of_family(name)


def build(blocks: Iterable[Block]) -> Program:
    """The programme of any number of blocks. Raises InputError for a figure that is missing."""
    kept = tuple(blocks)
    return Program(
        tuple(column for block in kept for column in block_columns(block)),
        tuple(row for block in kept for row in block_rows(block)),
    )
