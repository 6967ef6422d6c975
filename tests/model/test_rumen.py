"""The rumen: nitrogen for its microbes asked for at a price and said; urea only beside quick
energy, never for some.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from rationlp.ask.fix import fix_fed
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Offer
from rationlp.farm.group import Group
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.fed import fed_supply
from rationlp.model.ration import solve_rations
from rationlp.model.rows.block import Block, make_block
from rationlp.model.rows.practice import printed_limits
from rationlp.model.rows.rumen import (
    UREA_PER_STARCH_AND_SUGAR,
    least_share,
    rumen_share,
    rumen_short,
)
from rationlp.needs import group_needs
from rationlp.needs.energy import microbial_yield
from rationlp.needs.supply import RationSupply, ration_supply
from rationlp.read.feeds import read_feed_tables
from rationlp.result import FedSupply, GroupRation
from rationlp.rules.blanks import complete

PRICES = {"straw_barley": 60.0, "hay_average": 95.0, "grass_silage_1st_late": 30.0,
"barley": 190.0, "feed_urea": 550.0,
          "rapeseed_meal_extracted": 280.0, "soya_meal_48": 400.0,
          "minerals_suckler_high_mg": 650.0, "ewe_rolls_18": 320.0,
          "minerals_cattle_general": 600.0, "grass_silage_1st_typical": 35.0,
          "molasses_cane": 260.0}  # fmt: skip
SUCKLER: dict[str, float | str] = {
    "live_weight_kg": 640.0,
    "days_to_calving": 80.0,
    "live_weight_change_kg_per_day": 0.0,
}
STEER: dict[str, float | str] = {
    "live_weight_kg": 330.0,
    "gain_kg_per_day": 0.5,
    "sex": "steer",
    "maturity": "medium",
}


def farm(animal_class: str, facts: dict[str, float | str], *keys: str) -> Farm:
    """One group and feeds of the tables."""
    table = read_feed_tables()
    offers = tuple(
        Offer(key, table[key].name, complete(table[key]), not table[key].is_forage, PRICES[key])
        for key in keys
    )
    group = Group("g", "Group", animal_class, 10, "to_appetite", facts)
    when = date(2026, 11, 1), date(2027, 4, 20)
    return Farm(
        "", "T", "GBP", *when, Margins(1.05, 1.05), "cost", 0.1, offers, (), (group,), table
    )


def ration(given: Farm) -> GroupRation:
    """The ration of its only group."""
    return solve_rations(given).groups[0]


def block(given: Farm) -> Block:
    """The block of its only group."""
    return make_block(given, given.groups[0], group_needs(given.groups[0], given.margins))


def share_of(answer: GroupRation | FedSupply) -> float:
    """The printed share of what the microbes could use."""
    return next(line.supply for line in answer.supply if line.quantity == "rumen_protein_share")


def test_the_printed_share_is_that_of_the_supply() -> None:
    """ERDP over y · FME at the ration's own level of feeding, by the lines that stand beside it."""
    answer = ration(
        farm("suckler_cow_dry", SUCKLER, "hay_average", "barley", "minerals_suckler_high_mg")
    )
    erdp = next(line for line in answer.supply if line.quantity == "erdp_g")
    could_use = float(erdp.whose.split("could use ")[1].split()[0])
    assert share_of(answer) == pytest.approx(erdp.supply / could_use, abs=0.002)
    supply = supplied(500.0)
    assert rumen_share(supply) == pytest.approx(500.0 / (microbial_yield(1.0) * 50.0))
    assert rumen_share(replace(supply, erdp_g=None)) is None


def supplied(erdp_g: float) -> RationSupply:
    """A supply of so much ERDP beside 50 MJ of FME at maintenance, by AFRC (1993)."""
    used = microbial_yield(1.0) * 50.0
    empty = ration_supply((), None)
    return replace(empty, erdp_g=erdp_g, microbes_by_energy_g=used)


def test_nitrogen_is_bought_where_a_feed_brings_it_cheaply() -> None:
    """Straw and barley alone starve the rumen and say so; with rapeseed meal on the list the share
    is kept, without a refusal.
    """
    alone = ration(
        farm("growing_cattle", STEER, "hay_average", "barley", "minerals_cattle_general")
    )
    given = farm(
        "growing_cattle",
        STEER,
        "hay_average",
        "barley",
        "rapeseed_meal_extracted",
        "minerals_cattle_general",
    )
    helped = ration(given)
    assert alone.proof is not None or alone.status == "none_exists"
    assert helped.proof is not None
    assert share_of(helped) >= 0.80 - 1e-6
    least = least_share(block(given))
    assert least == 0.80


def test_a_shortage_is_priced_and_said_never_refused() -> None:
    """A fed ration of straw and barley: the rumen is short, in plain words; with soya beside it it
    is not.
    """
    given = farm(
        "suckler_cow_dry",
        SUCKLER,
        "straw_barley",
        "barley",
        "soya_meal_48",
        "minerals_suckler_high_mg",
    )
    starved = fed_supply(given, {"g": {"straw_barley": 7.5, "barley": 2.0}})[0]
    assert share_of(starved) < 0.90
    assert any("The rumen is short of protein" in text for text in starved.remarks)
    fed = fed_supply(given, {"g": {"straw_barley": 7.5, "barley": 1.0, "soya_meal_48": 1.5}})[0]
    assert share_of(fed) >= 0.90
    assert not any("The rumen is short of protein" in text for text in fed.remarks)
    used = microbial_yield(1.0) * 50.0
    assert rumen_short(block(given), supplied(300.0)) == pytest.approx(0.80 * used - 300.0)
    assert rumen_short(block(given), supplied(4000.0)) == 0.0


def urea_and_quick(given: Farm, kg_dm: dict[str, float]) -> tuple[float, float]:
    """(urea, starch and sugar) of a ration [g a head a day]."""
    urea = quick = 0.0
    for offer in given.offers:
        kg = kg_dm.get(offer.id, 0.0)
        urea += 1000.0 * kg * (offer.feed.kind == "npn")
        quick += kg * (
            (offer.feed.value("starch_g_per_kg_dm") or 0.0)
            + (offer.feed.value("sugar_g_per_kg_dm") or 0.0)
        )
    return urea, quick


def test_urea_is_fed_only_beside_starch_and_sugar() -> None:
    """Sucklers on straw with urea on the list: never more than a tenth of the starch and sugar of
    the ration (c).
    """
    keys = ("straw_barley", "hay_average", "barley", "feed_urea", "minerals_suckler_high_mg")
    given = farm("suckler_cow_dry", SUCKLER, *keys)
    dear = tuple(
        replace(o, price_per_t_fresh=400.0) if o.id == "hay_average" else o for o in given.offers
    )
    given = replace(given, offers=dear)
    answer = solve_block(block(given))
    assert isinstance(answer, Optimum)
    urea, quick = urea_and_quick(given, answer.values)
    assert 0.0 < urea <= UREA_PER_STARCH_AND_SUGAR * quick * (1.0 + 1e-6)


@pytest.mark.parametrize(
    ("animal_class", "facts"),
    [
        ("calf", {**STEER, "live_weight_kg": 150.0, "gain_kg_per_day": 0.6}),
        ("ewe_pregnant", {"live_weight_kg": 70.0, "lambs_carried": 2.0, "days_to_lambing": 30.0,
        "kept": "housed"}),
        ("dairy_cow_milking", {"live_weight_kg": 620.0, "milk_kg_per_day": 26.0,
        "week_of_lactation": 20.0,
                               "milk_fat_g_per_kg": 40.0, "milk_protein_g_per_kg": 33.0,
                               "milk_lactose_g_per_kg": 46.0}),
    ],
)  # fmt: skip
def test_no_urea_for_calves_sheep_and_cows_above_25_litres(
    animal_class: str, facts: dict[str, float | str]
) -> None:
    """The row stands at nought, whatever the price is; a cow at 20 litres may have some."""
    needs = group_needs(Group("g", "g", animal_class, 1, "to_appetite", facts), Margins())
    urea = [
        limit.at_most
        for limit in needs.limits
        if limit.quantity == "urea_g_per_kg_dm" and limit.kind == "row"
    ]
    assert urea == [0.0]


def test_a_cow_at_20_litres_may_have_urea() -> None:
    """The other direction of the rule of 25 litres."""
    facts: dict[str, float | str] = {
        "live_weight_kg": 620.0,
        "milk_kg_per_day": 20.6,
        "week_of_lactation": 20.0,
        "milk_fat_g_per_kg": 40.0,
        "milk_protein_g_per_kg": 33.0,
        "milk_lactose_g_per_kg": 46.0,
    }
    needs = group_needs(Group("g", "g", "dairy_cow_milking", 1, "to_appetite", facts), Margins())
    assert any(
        (limit.at_most or 0.0) > 0.0
        for limit in needs.limits
        if limit.quantity == "urea_g_per_kg_dm"
    )


@pytest.mark.parametrize("quick", ["barley", "hay_average"])
def test_the_cheapest_change_keeps_the_rule_of_urea(quick: str) -> None:
    """Sucklers fed straw alone: the change advised brings urea only with as much starch and sugar
    as `ration` asks beside it.
    """
    given = farm(
        "suckler_cow_dry", SUCKLER, "straw_barley", quick, "feed_urea", "minerals_suckler_high_mg"
    )
    fed = fed_supply(given, {"g": {"straw_barley": 9.0, "minerals_suckler_high_mg": 0.1}})[0]
    fix = fix_fed(given, fed)
    assert fix is not None
    after = {amount.offer: amount.kg_dm for amount in fed.amounts}
    dm = {offer.id: offer.feed.dm_g_per_kg / 1000.0 for offer in given.offers}
    after |= {one.offer: one.to_kg_fresh * dm[one.offer] for one in fix.changes}
    urea, carried = urea_and_quick(given, after)
    assert urea <= UREA_PER_STARCH_AND_SUGAR * carried * (1.0 + 1e-6)


def test_the_cheapest_change_keeps_limits_and_species() -> None:
    """Ewes short of energy: no cattle mineral, no urea and no more of a feed than its printed
    limit.
    """
    facts: dict[str, float | str] = {
        "live_weight_kg": 70.0,
        "lambs_carried": 2.0,
        "days_to_lambing": 28.0,
        "kept": "housed",
    }
    given = farm(
        "ewe_pregnant",
        facts,
        "hay_average",
        "barley",
        "soya_meal_48",
        "feed_urea",
        "minerals_cattle_general",
    )
    fed = fed_supply(given, {"g": {"hay_average": 1.0}})[0]
    fix = fix_fed(given, fed)
    assert fix is not None
    assert fix.changes
    assert {one.offer for one in fix.changes} <= {"hay_average", "barley", "soya_meal_48"}
    most = {one.offer: one.to_kg_fresh for one in fix.changes}
    limits = {offer.id: limit for offer, limit in printed_limits(block(given))}
    for offer, kg in most.items():
        allowed = limits[offer].most_kg_dm(70.0)
        assert allowed is None or kg * 0.86 <= allowed * 1.03


def test_the_proof_holds_with_the_row() -> None:
    """Cheapest to within the gap at every level: urea cheap enough to press the rumen row, level of
    feeding settled.
    """
    given = farm(
        "suckler_cow_dry",
        SUCKLER,
        "straw_barley",
        "grass_silage_1st_late",
        "barley",
        "feed_urea",
        "minerals_suckler_high_mg",
    )
    cheap = replace(
        given,
        offers=tuple(
            replace(o, price_per_t_fresh=100.0) if o.id == "feed_urea" else o for o in given.offers
        ),
    )
    answer = ration(cheap)
    assert answer.proof is not None
    assert answer.proof.passed
    assert answer.proof.bound_any_level is not None
    assert answer.proof.bound_any_level <= answer.proof.cost + 1e-9
