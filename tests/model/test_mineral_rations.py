"""Minerals of whole rations: bought before a shortage is left, said where short, never a refusal;
copper of sheep known.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from toys import solve_group

from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Figure, Offer
from rationlp.farm.group import QuantityLimit
from rationlp.model.explain import explain
from rationlp.model.fed import fed_supply
from rationlp.model.mineral_words import mineral_sentences
from rationlp.model.ration import make_blocks, solve_rations
from rationlp.model.rows.block import Block, make_block
from rationlp.needs.calendar import farm_on
from rationlp.needs.minerals import COPPER
from rationlp.read.farm import read_farm
from rationlp.report.tables.ration import SHORT, UNKNOWN, standing
from rationlp.result import FedSupply, GroupRation, SupplyLine

EXAMPLES = Path(__file__).parents[2] / "examples"
FREE = ("limestone", "salt", "calcined_magnesite")


@cache
def farm(name: str) -> Farm:
    """A packaged example, read once."""
    return read_farm(EXAMPLES / name)


def without(whole: Farm, *keys: str) -> Farm:
    """The farm without the feeds of these keys."""
    return replace(
        whole, offers=tuple(offer for offer in whole.offers if offer.feed.key not in keys)
    )


def line(answer: GroupRation | FedSupply, quantity: str) -> SupplyLine:
    """One line of an answer's supply."""
    return next(line for line in answer.supply if line.quantity == quantity)


def with_figure(offer: Offer, quantity: str, value: float | None) -> Offer:
    """The offer with a figure of its own, or without it."""
    figures = {name: figure for name, figure in offer.feed.figures.items() if name != quantity}
    if value is not None:
        figures[quantity] = Figure(value, "farm", "test")
    return replace(offer, feed=replace(offer.feed, figures=figures))


@pytest.fixture(scope="module")
def bare() -> GroupRation:
    """High yielders where no limestone, salt or magnesite is to be had."""
    return solve_rations(without(farm("dairy"), *FREE), ["high"]).groups[0]


@pytest.fixture(scope="module")
def supplied() -> GroupRation:
    """High yielders of the example, which may have all three."""
    return solve_rations(farm("dairy"), ["high"]).groups[0]


def test_limestone_salt_and_magnesite_are_bought_before_a_shortage_is_left(
    supplied: GroupRation,
) -> None:
    """At usual prices a gram from each is cheaper than the priced shortage."""
    for quantity in ("ca_g", "mg_g", "na_g"):
        found = line(supplied, quantity)
        assert found.target is not None
        assert found.supply >= found.target * (1.0 - 1e-6)


def test_a_shortage_is_an_answer_and_is_said_with_what_would_bring_it(bare: GroupRation) -> None:
    """The ration stands, proved; sodium is short in the table, in a sentence and in the penalty,
    never in the feed cost.
    """
    assert bare.proof is not None
    assert bare.proof.passed
    assert standing(line(bare, "na_g"), bare.needs.limits) == SHORT
    said = next(remark for remark in bare.remarks if remark.startswith("Sodium is "))
    assert said.endswith("nothing on this farm's list brings it at its price; salt would.")
    assert bare.penalty is not None
    assert bare.penalty > 0.0
    assert bare.feed_cost == pytest.approx(sum(amount.cost for amount in bare.amounts))
    cheapest = bare.feed_cost if bare.tidy is None else bare.tidy.cheapest_cost
    assert bare.proof.cost > cheapest


def test_what_is_too_little_to_weigh_is_told_as_that(supplied: GroupRation) -> None:
    """Magnesite and salt taken out of the high yielders' ration. What lacks of magnesium is some
    10 g of magnesite a head, less than a yard weighs out: not the price is the reason. Without the
    minerals of the class more than that of salt is wanting: that is not told so.
    """
    group = farm("dairy").group("high")
    block = make_block(farm("dairy"), group, supplied.needs)
    kg = {amount.offer: amount.kg_dm for amount in supplied.amounts}
    kg |= {"calcined_magnesite": 0.0, "salt": 0.0}
    (magnesium,) = [one for one in mineral_sentences(block, kg) if one.startswith("Magnesium is")]
    assert "g of Calcined magnesite would mend it, less than the 20 g" in magnesium
    kg["minerals"] = 0.0
    (sodium,) = [one for one in mineral_sentences(block, kg) if one.startswith("Sodium is")]
    assert "weighed out" not in sodium


def test_the_marginal_price_of_a_short_mineral_is_that_of_a_gram_in_a_mineral_feed(
    bare: GroupRation,
) -> None:
    """One gram more in the feed is worth 0.01, whatever part of it is absorbed."""
    found = line(bare, "na_g")
    assert found.price == pytest.approx(0.01)


def fresh_cows(*barred: str) -> GroupRation:
    """The cows that have just calved on the first day of the example of a herd that calves."""
    today = farm_on(without(farm("calving"), *barred), date(2026, 10, 10))
    return solve_rations(today, ["cows_fresh"]).groups[0]


def test_a_fresh_cow_without_room_to_spare_gets_her_magnesite() -> None:
    """Six of 39 g short of magnesium with magnesite on the list: a kg of it takes the place of dry
    matter worth more than itself, so it was left out while a shortage was priced as absorbed.
    """
    magnesium = line(fresh_cows(), "mg_g")
    assert magnesium.target is not None
    assert magnesium.supply >= magnesium.target - 1e-6
    remarks = fresh_cows("calcined_magnesite").remarks
    assert any(
        "Magnesium is " in words and "calcined magnesite would" in words for words in remarks
    )


def test_a_mineral_shortage_is_no_reason_for_no_ration() -> None:
    """Explained are energy and intake alone, although every mineral is short too."""
    block = make_blocks(without(farm("dairy"), *FREE), ["high"])[0]
    assert block.needs.intake is not None
    small = replace(
        block, needs=replace(block.needs, intake=replace(block.needs.intake, cap_kg_dm=11.0))
    )
    named = {shortfall.need for shortfall in explain(small).shortfalls}
    assert "metabolisable energy" in named
    assert not named & {"Calcium", "Phosphorus", "Magnesium", "Sodium", "Calcium to phosphorus"}


def test_a_dearer_shortage_leaves_less_of_it() -> None:
    """The farm's own price of a gram moves the ration."""
    whole = without(farm("dairy"), *FREE)
    shorts = []
    for price in (0.0, 0.01, 0.2):
        answer = solve_rations(replace(whole, mineral_shortage_price_per_g=price), ["high"]).groups[
            0
        ]
        found = line(answer, "na_g")
        assert found.target is not None
        shorts.append(found.target - found.supply)
    assert shorts[0] >= shorts[1] - 1e-6 >= shorts[2] - 2e-6
    assert shorts[0] > shorts[2] + 1.0


def close_up(potassium_price: float) -> GroupRation:
    """Dry cows ten days from calving, with a price on potassium above 18 g/kg DM."""
    whole = farm("dairy")
    groups = tuple(
        (
            replace(group, facts={**group.facts, "days_to_calving": 10.0})
            if group.id == "dry"
            else group
        )
        for group in whole.groups
    )
    return solve_rations(
        replace(whole, groups=groups, mineral_shortage_price_per_g=potassium_price), ["dry"]
    ).groups[0]


def test_potassium_before_calving_is_priced_and_never_forbidden() -> None:
    """A price keeps it lower than none does; above its limit it is said, and the answer stands
    either way.
    """
    free, priced = close_up(0.0), close_up(0.05)
    assert line(free, "k_g_per_kg_dm").high == 18.0
    assert line(priced, "k_g_per_kg_dm").supply < line(free, "k_g_per_kg_dm").supply
    assert any(
        remark.startswith("Potassium is ") and "above 18 g/kg DM" in remark
        for remark in free.remarks
    )
    assert free.proof is not None
    assert free.proof.passed


def test_unknown_potassium_under_its_limit_is_named_and_no_pass() -> None:
    """Dry-cow minerals have no potassium figure in the tables."""
    found = close_up(0.05)
    potassium = line(found, "k_g_per_kg_dm")
    assert potassium.unknown == ("Dry-cow minerals",)
    assert any("Potassium of Dry-cow minerals is not known" in remark for remark in found.remarks)


def hill_with(offer: Offer) -> Farm:
    """The hill farm with one more feed."""
    whole = farm("hill")
    return replace(whole, offers=(*whole.offers, offer))


def limestone() -> Offer:
    """Limestone without a copper figure; the tables have a cautious guess for it."""
    return with_figure(
        Offer("limestone", "Ground limestone", farm("hill").feeds["limestone"], True, 100.0),
        COPPER,
        None,
    )


def block_of(whole: Farm, group: str) -> Block:
    """The block of one group."""
    return make_blocks(whole, [group])[0]


def test_a_feed_of_unknown_copper_is_kept_from_sheep_and_said() -> None:
    """Never counted as none; the answer says which feed and which figure to give."""
    block = block_of(hill_with(limestone()), "twins")
    assert "limestone" not in {offer.id for offer in block.offers}
    said = next(
        remark
        for remark in solve_group(block).remarks
        if remark.startswith("Kept out because copper")
    )
    assert "Ground limestone" in said
    assert COPPER in said


def test_its_copper_from_the_label_lets_it_in() -> None:
    """With 5 mg/kg it is offered to the sheep; cattle had it all along."""
    assert "limestone" in {
        o.id for o in block_of(hill_with(with_figure(limestone(), COPPER, 5.0)), "twins").offers
    }
    assert "limestone" in {o.id for o in block_of(hill_with(limestone()), "cows").offers}


def test_a_group_whose_only_mineral_has_unknown_copper_is_told_so() -> None:
    """Without the other minerals nothing is left for it."""
    bare_hill = without(
        farm("hill"),
        "minerals_sheep_no_copper",
        "minerals_cattle_general",
        "minerals_suckler_high_mg",
    )
    alone = replace(bare_hill, offers=(*bare_hill.offers, limestone()))
    remarks = solve_group(block_of(alone, "twins")).remarks
    assert any(remark.startswith("No mineral feed is left for this group") for remark in remarks)


def test_copper_holds_a_sheep_ration_below_15_mg() -> None:
    """A cheap feed of 60 mg/kg is fed to the limit and no further."""
    whole = farm("hill")
    soya = next(offer for offer in whole.offers if offer.feed.key == "soya_meal_48")
    barley = next(offer for offer in whole.offers if offer.feed.key == "barley")
    rich = [
        replace(with_figure(offer, COPPER, 120.0), price_per_t_fresh=1.0)
        for offer in (soya, barley)
    ]
    others = tuple(offer for offer in whole.offers if offer not in (soya, barley))
    found = line(
        solve_rations(replace(whole, offers=(*others, *rich)), ["twins"]).groups[0], COPPER
    )
    assert found.high == 15.0
    assert found.supply == pytest.approx(15.0, abs=1e-6)
    assert found.at_limit


def limited(at_most: float) -> Block:
    """Twin ewes whose farm has a copper limit of its own."""
    whole = farm("hill")
    own = (QuantityLimit(COPPER, "kg_dm", at_most=at_most),)
    groups = tuple(
        replace(group, quantity_limits=own) if group.id == "twins" else group
        for group in whole.groups
    )
    return block_of(replace(whole, groups=groups), "twins")


def test_a_farm_may_tighten_the_copper_limit_and_not_loosen_it() -> None:
    """10 mg is taken, 25 mg refused by its code."""
    assert limited(10.0).needs.own_limits[0].at_most == 10.0
    with pytest.raises(InputError, match=r"IN503 .*twins.*cu_mg_per_kg_dm"):
        limited(25.0)


def test_a_fed_ration_of_unknown_copper_is_no_pass() -> None:
    """The line shows what is known and names the feed that is not; it stands as not known."""
    fed = {"twins": {"good_bales": 0.9, "ewe_rolls": 0.4, "limestone": 0.01}}
    answer = fed_supply(hill_with(limestone()), fed)[0]
    found = line(answer, COPPER)
    assert found.unknown == ("Ground limestone",)
    assert standing(found, answer.needs.limits) == UNKNOWN


def test_the_cation_balance_is_shown_only_where_every_feed_was_analysed() -> None:
    """With chloride and sulphur of the one feed that is fed the line is there; without them it is
    not.
    """
    whole = farm("dairy")
    pit = next(offer for offer in whole.offers if offer.id == "first_cut")
    known = with_figure(with_figure(pit, "cl_g_per_kg_dm", 6.0), "s_g_per_kg_dm", 2.0)
    others = tuple(offer for offer in whole.offers if offer.id != "first_cut")
    fed = {"dry": {"first_cut": 10.0}}
    analysed = fed_supply(replace(whole, offers=(known, *others)), fed)[0]
    assert line(analysed, "dcad_meq_per_kg_dm").supply > 0.0
    assert "dcad_meq_per_kg_dm" not in {
        found.quantity for found in fed_supply(whole, fed)[0].supply
    }


def test_a_blank_counts_as_nought_and_is_said_where_the_mineral_is_short() -> None:
    """Silage without a sodium figure leaves the cows shorter, and the answer names it."""
    whole = without(farm("dairy"), *FREE)
    offers = tuple(
        with_figure(offer, "na_g_per_kg_dm", None) if offer.id == "first_cut" else offer
        for offer in whole.offers
    )
    remarks = solve_rations(replace(whole, offers=offers), ["high"]).groups[0].remarks
    assert any(
        remark.startswith("Sodium of First-cut clamp") and "counts as none" in remark
        for remark in remarks
    )


@pytest.mark.parametrize("barred", [False, True])
def test_what_a_fed_ration_lacks_is_looked_for_in_the_whole_list(barred: bool) -> None:
    """Limestone is on the list though it is not fed; where the group may not have it, it is
    something to buy or to allow.
    """
    whole = farm("dairy")
    keys = {"limestone", "dicalcium_phosphate"}
    names = tuple(
        offer.id
        for offer in whole.offers
        if offer.feed.kind == "mineral" and (barred or offer.feed.key not in keys)
    )
    groups = tuple(replace(group, barred=(*group.barred, *names)) for group in whole.groups)
    listed = replace(whole, groups=groups)
    barley = next(offer.id for offer in listed.offers if offer.feed.key == "barley")
    forage = next(offer.id for offer in listed.offers if offer.feed.is_forage)
    fed = fed_supply(listed, {"high": {barley: 6.0, forage: 10.0}})[0]
    said = next(remark for remark in fed.remarks if remark.startswith("Calcium is "))
    if barred:
        assert said.endswith(
            "nothing on this farm's list that this group may eat is meant to bring it; ground"
            " limestone would."
        )
    else:
        assert "which is on this farm's list, would bring it" in said
