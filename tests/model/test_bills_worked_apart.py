"""Bills and frontiers of a cow, a steer, a ewe and a heifer that were worked out apart from this
program by AFRC (1993), NRC (2001) and CSIRO (2007): own arithmetic on our feed table; status (c).

They were worked out with fewer rows than a farm's ration keeps: energy, protein, the shares of the
diet without crude protein, single feeds of the list below, dry matter, and of the cow 8.3 kg NDF at
most. So rows of appetite for forage, of practice, of minerals and the priced rumen shortage are
taken off here; equations, supply, levels of feeding and proof are the program's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from itertools import pairwise
from types import MappingProxyType

import pytest
from random_groups import tables

from rationlp.ask.measures import METHANE, NITROGEN, SOYA, Amounts, Measure, amounts_of
from rationlp.farm.farm import Margins
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import AFRC, CSIRO, NRC, FeedLimit, Group
from rationlp.model.block_ration import Optimum, optimum_of
from rationlp.model.lp import Column, Program, Row
from rationlp.model.rows import build
from rationlp.model.rows.block import TODAY, Block
from rationlp.needs import group_needs
from rationlp.needs.cattle_classes import growing_cattle_as_published
from rationlp.needs.csiro import CATTLE, KP, SHEEP, CsiroEnergy, fasting
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.nrc import MJ_PER_MCAL, nrc_figures
from rationlp.needs.nrc_state import NrcState
from rationlp.needs.supply import RationSupply, ration_supply

PRICES = {
    "grass_silage_1st_typical": 36.0,
    "maize_silage_typical": 42.0,
    "barley": 195.0,
    "wheat": 205.0,
    "soya_meal_48": 415.0,
    "rapeseed_meal_extracted": 275.0,
    "beet_pulp_molassed_dry": 245.0,
    "hay_average": 105.0,
    "straw_barley": 85.0,
    "grass_silage_2nd": 33.0,
    "grass_silage_1st_late": 30.0,
}
"""Currency a tonne fresh."""
GRASS = "grass_silage_1st_typical"
OF_THE_COW = tuple(key for key in PRICES if key == GRASS or not key.startswith("grass"))
MOST_KG_DM = {"soya_meal_48": 3.0, "rapeseed_meal_extracted": 3.0, "beet_pulp_molassed_dry": 4.0}
COW_NDF_KG = 8.3
COW_LEVEL = 3.45
"""Level of feeding that her methane was worked out at [-]."""
OFF = ("stomach", "practice", "families", "forage_appetite", "mineral_needs", "priced_limits")
COW = {
    "live_weight_kg": 650.0,
    "milk_kg_per_day": 30.9,
    "milk_fat_g_per_kg": 40.0,
    "milk_protein_g_per_kg": 33.0,
    "week_of_lactation": 15.0,
    "days_pregnant": 0.0,
    "live_weight_change_kg_per_day": 0.0,
}
STEER = {
    "live_weight_kg": 400.0,
    "gain_kg_per_day": 0.9,
    "sex": "steer",
    "maturity": "medium",
    "system": "silage_based",
}
EWE = {
    "live_weight_kg": 70.0,
    "lambs_carried": 2.0,
    "days_to_lambing": 14.0,
    "litter_weight_kg": 8.0,
    "kept": "housed",
}
EWE_MP_G = {AFRC: 112.4, CSIRO: 76.54}
"""Protein of the ewe, by CSIRO (2007) beside what goes with eating [g]: check figure S2."""
EWE_AFRC_MJ = 16.06
"""ME of the ewe by AFRC (1993) at 10.5 MJ/kg DM [MJ]: check figure S2."""
EWE_LAMBS_NET_MJ = 1.013
"""What her lambs lay down by CSIRO (2007) [MJ net]: check figure S1."""
HEIFER = {"live_weight_kg": 350.0, "gain_kg_per_day": 0.75, "sex": "heifer", "maturity": "medium"}


def offers_of(keys: tuple[str, ...]) -> tuple[Offer, ...]:
    """Feeds of our table at the prices above."""
    found = [(key, tables()[key]) for key in keys]
    return tuple(
        Offer(key, feed.name, feed, not feed.is_forage, PRICES[key]) for key, feed in found
    )


def block_of(
    animal: tuple[str, Mapping[str, float | str]],
    standard: str,
    margin: float,
    cap_kg: float | None,
    keys: tuple[str, ...] = OF_THE_COW,
) -> Block:
    """An animal with these feeds, dry matter and margin on energy and protein."""
    limits = tuple(
        FeedLimit(key, max_kg_fresh=1000.0 * most / tables()[key].dm_g_per_kg)
        for key, most in MOST_KG_DM.items()
    )
    animal_class, facts = animal
    group = Group(
        *("g", "g", animal_class, 1, "rationed", dict(facts)),
        feed_limits=limits,
        intake_kg_dm=cap_kg,
        standard=standard,
    )
    needs = group_needs(group, Margins(margin, margin, margin))
    return Block(group, TODAY, needs, offers_of(keys), {}, 0.05)


def fewer_rows(block: Block) -> tuple[Row, ...]:
    """The rows that the figures were worked out with."""
    crude_protein = ("diet", "cp_g_per_kg_dm")
    return tuple(
        row for row in build([block]).rows if row.family not in OFF and row.key[:2] != crude_protein
    )


def widened(row: Row, wider: Mapping[str, float]) -> Row:
    """A most of the whole diet moved up by so much [kg/kg DM], other rows as they are."""
    if row.key[:1] != ("diet",) or row.key[2] != "most" or row.key[1] not in wider:
        return row
    coefs = {key: each - wider[row.key[1]] for key, each in row.coefs.items()}
    return replace(row, coefs=coefs)


def cheapest(
    block: Block,
    amounts: Amounts | None = None,
    weight: float = 0.0,
    wider: Mapping[str, float] = MappingProxyType({}),
) -> Optimum:
    """Its least cost, or least cost and weight times a measure [currency a unit of it]. wider: by
    how much limits of the whole diet are moved up [kg/kg DM].
    """
    columns: list[Column] = []
    for column in build([block]).columns:
        cost = 0.0 if column.key[0] == "short_rumen" else column.cost
        if amounts is not None:
            cost += weight * amounts.of_column(column.key)
        columns.append(replace(column, cost=cost))
    rows = tuple(widened(row, wider) for row in fewer_rows(block))
    answer = optimum_of(block, Program(tuple(columns), rows))
    assert answer is not None
    assert answer.certificate.passed
    return answer


def fed(block: Block, answer: Optimum) -> dict[str, float]:
    """The ration as kg DM by feed."""
    return {offer.id: answer.values[offer.id] for offer in block.offers}


def bill(kg_dm: Mapping[str, float]) -> float:
    """What a ration costs [currency a head a day]."""
    return sum(PRICES[key] * kg / tables()[key].dm_g_per_kg for key, kg in kg_dm.items())


NRC_MEALS = {"soya_meal_48": 3.0, "rapeseed_meal_extracted": 0.63}


@cache
def cow(standard: str, margin: float) -> Block:
    """A cow of 650 kg that gives 30.9 kg of milk of 4.0 % fat and 3.3 % protein."""
    block = block_of(("dairy_cow_milking", COW), standard, margin, 21.5)
    return replace(block, needs=replace(block.needs, ndf_fill_kg=COW_NDF_KG))


@pytest.mark.parametrize(
    ("standard", "margin", "cost", "ration"),
    [
        (AFRC, 1.05, 3.1753, {GRASS: 16.39, "wheat": 3.73, "soya_meal_48": 0.54}),
        (AFRC, 1.0, 2.9471, {GRASS: 16.64, "wheat": 2.87, "soya_meal_48": 0.42}),
        (NRC, 1.0, 3.6720, {GRASS: 16.45, "wheat": 0.08, **NRC_MEALS}),
    ],
)
def test_the_bill_of_the_cow(
    standard: str, margin: float, cost: float, ration: dict[str, float]
) -> None:
    """Cost to 0.02 %, every feed to 0.01 kg DM, and by NRC (2001) to its gap of 0.02 %."""
    block = cow(standard, margin)
    answer = cheapest(block)
    kg = fed(block, answer)
    assert bill(kg) == pytest.approx(cost, rel=2e-4)
    assert answer.lower_bound <= cost + 1e-4
    told = {key: round(amount, 2) for key, amount in kg.items() if round(amount, 2) > 0.0}
    assert told == pytest.approx(ration, abs=0.0101)


def parts_of(block: Block, kg_dm: Mapping[str, float]) -> list[tuple[Feed, float]]:
    """A ration as its feeds."""
    return [(offer.feed, kg_dm[offer.id]) for offer in block.offers if offer.id in kg_dm]


def nrc_of(block: Block, kg_dm: Mapping[str, float]) -> tuple[NrcState, RationSupply]:
    """Of a ration of the cow by NRC (2001): what feeds are valued by, and what it brings."""
    energy = block.needs.energy
    assert energy is not None
    state = energy.level_of_ration(parts_of(block, kg_dm))
    assert isinstance(state, NrcState)
    return state, ration_supply(parts_of(block, kg_dm), state, NRC)


def test_what_nrc_makes_of_its_own_ration_and_of_the_other() -> None:
    """Its ration: intake, TDN, share of concentrate, discount, net energy and MP. In the ration by
    AFRC (1993) with margins it finds 33.12 of 33.22 Mcal, but 1,686 of 2,187 g of MP.
    """
    block = cow(NRC, 1.0)
    kg = fed(block, cheapest(block))
    state, supply = nrc_of(block, kg)
    eaten = sum(kg.values())
    tdn = sum(nrc_figures(feed).tdn * each for feed, each in parts_of(block, kg))
    told = (eaten, 100.0 * tdn / eaten, state.concentrate_percent, state.delta)
    assert told == pytest.approx((20.17, 72.77, 18.4, 0.9093), rel=1e-3)
    assert supply.energy_mj / MJ_PER_MCAL == pytest.approx(33.22, rel=5e-4)
    assert (supply.mp_g or 0.0) + supply.mp_of_eating_g == pytest.approx(2173.0, rel=5e-4)
    _, other = nrc_of(block, fed(cow(AFRC, 1.05), cheapest(cow(AFRC, 1.05))))
    assert other.energy_mj / MJ_PER_MCAL == pytest.approx(33.12, rel=5e-4)
    assert (other.mp_g or 0.0) + other.mp_of_eating_g == pytest.approx(1686.0, rel=1e-3)
    asked = (block.needs.mp_required_g or 0.0) + other.mp_of_eating_g
    assert asked == pytest.approx(2187.0, rel=5e-4)


def test_the_cow_by_nrc_without_limits_on_feeds() -> None:
    """3.6310, proved to 0.02 %."""
    block = cow(NRC, 1.0)
    free = replace(block, group=replace(block.group, feed_limits=()))
    answer = cheapest(free)
    assert bill(fed(free, answer)) == pytest.approx(3.6310, rel=2e-4)
    assert answer.lower_bound <= 3.6310


METHANE_CORNERS = [(0.0, 3.1753, 480.5), (0.01, 3.1913, 476.3), (0.0184, 3.2367, 473.4)]
METHANE_CORNERS += [(0.04, 3.4874, 463.5)]
NITROGEN_CORNERS = [(0.0, 3.1753, 490.2), (0.0075, 3.2197, 483.6), (0.012, 3.4181, 459.9)]


@pytest.mark.parametrize(
    ("measure", "weight", "cost", "amount"),
    [(METHANE, *corner) for corner in METHANE_CORNERS]
    + [(NITROGEN, *corner) for corner in NITROGEN_CORNERS],
    ids=lambda one: getattr(one, "name", None),
)
def test_corners_of_the_cow(measure: Measure, weight: float, cost: float, amount: float) -> None:
    """At a weight [currency a gram] between two corners the one that is cheapest there: grams of
    methane, and of nitrogen eaten, against its cost."""
    block = cow(AFRC, 1.05)
    amounts = amounts_of(measure, block, COW_LEVEL)
    kg = fed(block, cheapest(block, amounts, weight))
    assert bill(kg) == pytest.approx(cost, abs=2e-4)
    assert amounts.of(kg) - amounts.fixed == pytest.approx(amount, abs=0.15)


def test_the_last_corner_of_nitrogen_had_less_sugar_and_no_hay() -> None:
    """457.6 g at 3.4531 was worked out with at most 260 g/kg DM of starch and sugar and without
    hay; ours allow 280 g and hay, so that the cheapest line goes on from 460.0 g to 452.3.
    """
    block = cow(AFRC, 1.05)
    amounts = amounts_of(NITROGEN, block, COW_LEVEL)
    ours = fed(block, cheapest(block, amounts, 0.0155))
    assert amounts.of(ours) - amounts.fixed == pytest.approx(452.3, abs=0.15)
    assert ours["hay_average"] > 0.5
    no_hay = replace(block, offers=tuple(o for o in block.offers if o.id != "hay_average"))
    less = {"starch_and_sugar_g_per_kg_dm": -0.020}
    kg = fed(no_hay, cheapest(no_hay, amounts, 0.0155, less))
    assert bill(kg) == pytest.approx(3.4531, abs=2e-4)
    assert amounts.of(kg) - amounts.fixed == pytest.approx(457.6, abs=0.15)


def test_where_methane_turns() -> None:
    """From soya to rapeseed at 3.8 a kg, to barley for wheat at 16.4; worked out were 8.60 and
    18.3, the weights that were asked there. No corner is passed over.
    """
    lines = [(cost, gas) for _, cost, gas in METHANE_CORNERS]
    turns = [1000.0 * (b[0] - a[0]) / (a[1] - b[1]) for a, b in pairwise(lines)]
    assert turns == sorted(turns)
    block = cow(AFRC, 1.05)
    amounts = amounts_of(METHANE, block, COW_LEVEL)
    for weight in (8.60, 18.3):
        expected = min(cost + weight / 1000.0 * gas for cost, gas in lines)
        kg = fed(block, cheapest(block, amounts, weight / 1000.0))
        assert bill(kg) + weight / 1000.0 * amounts.of(kg) == pytest.approx(expected, rel=2e-4)


def test_no_soya_costs_the_cow_1_6_pence() -> None:
    """0.54 kg DM of soya to none: rapeseed in its place."""
    block = cow(AFRC, 1.05)
    amounts = amounts_of(SOYA, block, None)
    with_soya, without = fed(block, cheapest(block)), fed(block, cheapest(block, amounts, 1.0))
    assert without["soya_meal_48"] == pytest.approx(0.0, abs=1e-9)
    assert without["rapeseed_meal_extracted"] == pytest.approx(1.04, abs=0.01)
    assert bill(without) - bill(with_soya) == pytest.approx(0.016, abs=2e-4)


def as_printed(block: Block) -> Block:
    """Growing cattle by the printed equations, without what trials put right (honest_gain.py)."""
    margins = Margins(*[block.needs.mp_margin] * 3)
    printed = growing_cattle_as_published(block.group, margins)
    return replace(block, needs=replace(block.needs, energy=printed.energy, mp_g=printed.mp_g))


def of_an_age(block: Block, fasting_mj: float, margin: float) -> Block:
    """Needs by CSIRO (2007) of an animal of another age, and with a margin besides."""
    energy = block.needs.energy
    assert isinstance(energy, CsiroEnergy)
    aged = replace(energy, em=fasting_mj, margin=margin)
    return replace(block, needs=replace(block.needs, energy=aged))


@pytest.mark.parametrize(
    ("standard", "margin", "cost", "silage_kg", "barley_kg"),
    [
        (AFRC, 1.05, 0.9550, 8.68, 0.0),
        (AFRC, 1.0, 0.9095, 8.27, 0.0),
        (CSIRO, 1.0, 0.9726, 8.84, 0.0),
        (CSIRO, 1.05, 1.0353, 9.00, 0.20),
    ],
)
def test_the_bill_of_the_steer(
    standard: str, margin: float, cost: float, silage_kg: float, barley_kg: float
) -> None:
    """400 kg, 480 days old, of medium maturity, 0.9 kg a day, on second cut and barley."""
    keys = ("grass_silage_2nd", "barley", "soya_meal_48", "hay_average")
    block = block_of(("finishing_cattle", STEER), standard, margin, 9.2, keys)
    if standard == AFRC:
        block = as_printed(block)
    else:
        block = of_an_age(block, fasting(CATTLE, 400.0, 480.0), margin)
    kg = fed(block, cheapest(block))
    assert bill(kg) == pytest.approx(cost, abs=2e-4)
    assert kg["grass_silage_2nd"] == pytest.approx(silage_kg, abs=0.006)
    assert kg["barley"] == pytest.approx(barley_kg, abs=0.006)
    me = sum(each * (feed.value("me_mj_per_kg_dm") or 0.0) for feed, each in parts_of(block, kg))
    if margin == 1.0:
        assert me == pytest.approx({AFRC: 86.82, CSIRO: 92.84}[standard], rel=2e-4)


@pytest.mark.parametrize(
    ("standard", "cost", "silage_kg", "meal_kg"),
    [(AFRC, 0.8819, 7.94, 0.0), (NRC, 0.8930, 7.35, 0.25)],
)
def test_the_bill_of_the_heifer(
    standard: str, cost: float, silage_kg: float, meal_kg: float
) -> None:
    """350 of 650 kg, 0.75 kg a day, on late first cut with rapeseed meal."""
    keys = ("grass_silage_1st_late", "barley", "rapeseed_meal_extracted")
    facts = HEIFER if standard == AFRC else {**HEIFER, "mature_weight_kg": 650.0}
    block = block_of(("growing_cattle", facts), standard, 1.0, 9.0, keys)
    if standard == AFRC:
        block = as_printed(block)
    kg = fed(block, cheapest(block))
    assert bill(kg) == pytest.approx(cost, abs=2e-4)
    assert kg["grass_silage_1st_late"] == pytest.approx(silage_kg, abs=0.006)
    assert kg["rapeseed_meal_extracted"] == pytest.approx(meal_kg, abs=0.006)


EWE_FEEDS = ("grass_silage_2nd", "hay_average", "barley", "soya_meal_48")


def ewe(standard: str, margin: float) -> Block:
    """70 kg, 1,300 days old, twins of 8 kg a fortnight before lambing, by the energy and protein
    that she was worked out with: her lambs ask 0.02 to 0.03 MJ more ME of that than of ours, whose
    constants are printed to three figures; udder and colostrum were not in it.
    """
    block = block_of(("ewe_pregnant", EWE), standard, margin, 1.55, EWE_FEEDS)
    if standard == CSIRO:
        block = of_an_age(block, fasting(SHEEP, 70.0, 1300.0), margin)
    energy = block.needs.energy
    assert energy is not None
    lambs_me = EWE_LAMBS_NET_MJ / KP
    if standard == AFRC:
        bare = replace(energy, margin=1.0).required_mj(10.5 / GE_MJ_PER_KG_DM)
        lambs_me = energy.fixed_me + EWE_AFRC_MJ - bare
    assert lambs_me == pytest.approx(energy.fixed_me, rel=4e-3)
    energy = replace(energy, fixed_me=lambs_me)
    plain = replace(
        block.needs, energy=energy, mp_g=EWE_MP_G[standard], wool_mp_g=0.0, colostrum_mp_g=0.0
    )
    return replace(block, needs=plain)


@pytest.mark.parametrize(
    ("standard", "margin", "cost", "ration"),
    [
        (AFRC, 1.05, 0.2016, (1.37, 0.0, 0.15, 0.04)),
        (AFRC, 1.0, 0.1782, (1.39, 0.14, 0.0, 0.02)),
        (CSIRO, 1.0, 0.2081, (1.23, 0.0, 0.32, 0.0)),
    ],
)
def test_the_bill_of_the_ewe(
    standard: str, margin: float, cost: float, ration: tuple[float, ...]
) -> None:
    """Cost to 0.1 % and every feed to 0.01 kg DM, on second cut, hay, barley and soya."""
    kg = fed(ewe(standard, margin), cheapest(ewe(standard, margin)))
    assert bill(kg) == pytest.approx(cost, rel=1e-3)
    assert [kg[key] for key in EWE_FEEDS] == pytest.approx(ration, abs=0.0101)


def test_the_ewe_with_a_margin_by_csiro() -> None:
    """0.2419 was worked out with the shares of starch of a milking cow's diet, 250 g/kg DM and with
    sugar 280: 0.2400 by ours, 0.8 % less, for a reason not found. With those of a ewe near lambing,
    200 g/kg DM of starch, barley stops at 0.54 kg and soya makes it 0.2505.
    """
    block = ewe(CSIRO, 1.05)
    with_hers = fed(block, cheapest(block))
    assert bill(with_hers) == pytest.approx(0.2505, abs=2e-4)
    assert with_hers["barley"] == pytest.approx(0.542, abs=0.002)
    wider = {"starch_g_per_kg_dm": 0.050, "starch_and_sugar_g_per_kg_dm": 0.030}
    kg = fed(block, cheapest(block, wider=wider))
    assert bill(kg) == pytest.approx(0.2419, rel=1e-2)
    assert bill(kg) == pytest.approx(0.2400, abs=2e-4)
