"""Sheep in the model: the rules of practice that are rows hold in every answer, the others are said
where they show.
"""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from random_groups import SHEEP, random_block, tables

from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Offer
from rationlp.farm.feed_table import is_silage
from rationlp.farm.group import Group
from rationlp.model.block_ration import NoOptimum, Optimum, solve_block
from rationlp.model.ration import eat, solve_rations
from rationlp.model.rows.block import TODAY, Block
from rationlp.model.rows.practice import printed_limits
from rationlp.model.tidy import faults
from rationlp.model.words import better_forage_below, sentences
from rationlp.needs import group_needs
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.result import Amount, GroupRation

TWINS = {"live_weight_kg": 70.0, "lambs_carried": 2.0, "days_to_lambing": 14.0, "kept": "housed"}
MILKING = {
    "live_weight_kg": 70.0,
    "lambs_suckled": 2.0,
    "week_of_lactation": 3.0,
    "flock": "lowland",
    "kept": "housed",
}
DRY = {"live_weight_kg": 70.0, "kept": "housed"}
LAMBS = {"live_weight_kg": 34.0, "gain_kg_per_day": 0.15, "sex": "castrate", "kept": "housed"}
LEAST_FORAGE = {
    "ewe_dry": 0.40,
    "ewe_pregnant": 0.40,
    "ewe_milking": 0.35,
    "lamb": 0.08,
    "ewe_lamb": 0.08,
    "ram": 0.40,
}
MOST_SILAGE_KG = {"ewe_dry": 5.0, "ewe_pregnant": 5.0, "ewe_milking": 7.0, "ram": 5.0}


def block(animal_class: str, facts: dict[str, Any], *feeds: str) -> Block:
    """A block of a class of sheep with feeds of the packaged tables."""
    group = Group("g", "Group", animal_class, 60, "to_appetite", dict(facts))
    offers = tuple(
        Offer(key, tables()[key].name, tables()[key], not tables()[key].is_forage, 100.0)
        for key in feeds
    )
    return Block(group, TODAY, group_needs(group, Margins()), offers, {}, 0.1)


def said(b: Block, **kg_dm: float) -> str:
    """Everything said of a ration."""
    return " ".join(sentences(b, 0.0, eat(b, kg_dm, {})))


def found(b: Block, **kg_dm: float) -> list[str]:
    """Ids of the feeds at fault."""
    return [fault.offer.id for fault in faults(b, kg_dm)]


ANSWERS = [(seed, animal_class) for seed in range(6) for animal_class in SHEEP]


@pytest.mark.parametrize(("seed", "animal_class"), ANSWERS)
def test_every_sheep_ration_keeps_the_rows_of_practice(seed: int, animal_class: str) -> None:
    """Long fibre, silage, forage NDF, oil, urea, copper and every printed limit, in any answer
    (signs 1, 2, 6, 8, 9 and 12).
    """
    b = random_block(4000 + seed, animal_class)
    answer = solve_block(b)
    if isinstance(answer, NoOptimum):
        return
    kg = answer.values
    dm = sum(kg.values())
    fed = [(offer, kg[offer.id]) for offer in b.offers]
    share = sum(amount for offer, amount in fed if offer.feed.is_forage) / dm
    least = 0.40 if b.needs.limits_key == "ewe_late_pregnant" else LEAST_FORAGE[animal_class]
    assert share >= least - 1e-6
    silage = sum(
        amount * 1000.0 / offer.feed.dm_g_per_kg for offer, amount in fed if is_silage(offer.feed)
    )
    assert silage <= MOST_SILAGE_KG.get(animal_class, 1e9) + 1e-6
    for quantity, most in (("oil_g_per_kg_dm", 50.0), ("cu_mg_per_kg_dm", 15.0)):
        assert (
            sum(amount * (offer.feed.value(quantity) or 0.0) for offer, amount in fed) / dm
            <= most + 1e-4
        )
    assert sum(amount for offer, amount in fed if offer.feed.kind == "npn") <= 1e-9
    weight = b.needs.live_weight_kg
    for offer, limit in printed_limits(b):
        own = [one for one in b.group.feed_limits if one.offer == offer.id]
        if not own:
            assert kg[offer.id] <= (limit.most_kg_dm(weight) or 1e9) * (1.0 + 1e-6) + 1e-9


def test_late_twins_and_triplets_are_never_below_their_energy() -> None:
    """In the last four weeks every ration covers the need with its margin; where there is none, the
    answer says what is short.
    """
    answered = 0
    for seed in range(40):
        b = random_block(5000 + seed, "ewe_pregnant")
        rng = random.Random(seed)
        facts = {
            **b.group.facts,
            "lambs_carried": float(rng.choice([2, 3])),
            "days_to_lambing": rng.uniform(0.0, 28.0),
        }
        group = replace(b.group, facts=facts)
        b = replace(b, group=group, needs=group_needs(group, Margins()))
        answer = solve_block(b)
        if isinstance(answer, Optimum):
            answered += 1
            energy = b.needs.energy
            assert energy is not None
            q = answer.me_mj / answer.dm_kg / GE_MJ_PER_KG_DM
            assert answer.me_mj >= energy.required_mj(q) * (1.0 - 1e-7)
    assert answered >= 10


def test_colostrum_protein_is_said_where_it_is_short() -> None:
    """Hay and barley leave udder and colostrum short, wool first; soya beside them does not."""
    b = block("ewe_pregnant", TWINS, "hay_average", "barley", "soya_meal_48")
    assert "Protein for udder and colostrum is" in said(b, hay_average=0.9, barley=0.5)
    assert "Protein for wool is" in said(b, hay_average=0.9, barley=0.5)
    fed = said(b, hay_average=0.9, barley=0.4, soya_meal_48=0.3)
    assert "udder and colostrum" not in fed
    assert "Protein for wool" not in fed


def test_a_trough_needs_enough_to_spread() -> None:
    """0.07 kg of barley is enough to weigh and too little to spread; 0.15 kg is neither."""
    b = block("ewe_pregnant", TWINS, "hay_good", "barley")
    assert found(b, hay_good=1.2, barley=0.07 * 0.86) == ["barley"]
    assert found(b, hay_good=1.2, barley=0.15 * 0.86) == []


def test_a_handful_of_hay_is_not_fed() -> None:
    """0.05 kg of hay beside silage is a fault, 0.3 kg is none; neither is silage itself."""
    b = block("ewe_dry", DRY, "grass_silage_big_bale", "hay_average")
    assert found(b, grass_silage_big_bale=0.9, hay_average=0.05) == ["hay_average"]
    assert found(b, grass_silage_big_bale=0.7, hay_average=0.3) == []


def test_meals_of_a_ewe() -> None:
    """1.3 kg of rolls is more than two meals of half a kilo; 0.9 kg is not."""
    b = block("ewe_milking", MILKING, "grass_silage_1st_typical", "ewe_rolls_18")
    assert "more than 2 meals of 0.5 kg" in said(
        b, grass_silage_1st_typical=1.2, ewe_rolls_18=1.3 * 0.86
    )
    assert "more than 2 meals" not in said(b, grass_silage_1st_typical=1.2, ewe_rolls_18=0.9 * 0.86)


def test_three_bought_feeds_are_enough_for_sheep() -> None:
    """A fourth straight is one too many."""
    b = block(
        "ewe_milking", MILKING, "hay_good", "barley", "soya_meal_48", "soya_hulls", "wheatfeed"
    )
    fed = {"hay_good": 1.2, "barley": 0.3, "soya_meal_48": 0.2, "soya_hulls": 0.25}
    assert found(b, **fed) == []
    assert found(b, **fed, wheatfeed=0.15) == ["wheatfeed"]


def test_expected_gain_of_lambs_is_shown_with_higher_maintenance() -> None:
    """At factors 1.00 and 1.15, in that order, for lambs and for no ewe."""
    b = block("lamb", LAMBS, "grass_silage_1st_typical", "barley")
    text = said(b, grass_silage_1st_typical=0.7, barley=0.4)
    plain, higher = (
        float(text.split(mark)[1].split()[0]) for mark in ("would carry: ", "by the equations, ")
    )
    assert "15 % higher" in text
    assert 0.0 < higher < plain
    assert "would carry" not in said(block("ewe_dry", DRY, "hay_good"), hay_good=1.1)


def flock(lambs: float, week: float, loss: float = 0.0) -> Farm:
    """Ewes in milk on hay and barley alone, for which much milk is too much."""
    facts = {
        **MILKING,
        "lambs_suckled": lambs,
        "week_of_lactation": week,
        "live_weight_change_kg_per_day": loss,
    }
    facts["milk_kg_per_day"] = 2.4
    feeds = (
        "grass_silage_1st_typical",
        "barley",
        "soya_meal_48",
        "beet_pulp_molassed_dry",
        "minerals_sheep_no_copper",
    )
    b = block("ewe_milking", facts, *feeds)
    when = date(2026, 10, 1), date(2027, 4, 1)
    return Farm("", "Test", "GBP", *when, Margins(), "cost", 0.1, b.offers, (), (b.group,), {})


def test_a_ewe_in_milk_is_let_lose_what_she_must() -> None:
    """The least loss, at most 0.15 kg a day in the first four weeks and never after week six, said
    by the week in the answer.
    """
    ewe = solve_rations(_with_milk(flock(2.0, 3.0), 3.1)).groups[0]
    assert ewe.proof is not None
    assert "she loses " in ewe.remarks[0]
    assert 0.0 < float(ewe.remarks[0].split("she loses ")[1].split()[0]) <= 0.15
    assert not any(
        "she loses" in text
        for text in solve_rations(_with_milk(flock(2.0, 3.0), 1.8)).groups[0].remarks
    )
    assert solve_rations(_with_milk(flock(2.0, 9.0), 3.6)).groups[0].proof is None


def test_a_thin_ewe_in_milk_loses_less_or_nothing() -> None:
    """Half at score 2.5, nil below: there the answer is that no ration exists."""
    farm = _with_milk(flock(2.0, 3.0), 3.1)
    scored = {
        score: solve_rations(_with_fact(farm, "condition_score", score)).groups[0].proof is not None
        for score in (2.0, 2.5, 3.0)
    }
    assert scored[3.0]
    assert not scored[2.0]


def test_what_the_farm_states_is_not_added_to() -> None:
    """A loss of the farm's own stands; no second one is found."""
    farm = _with_fact(_with_milk(flock(2.0, 3.0), 3.1), "live_weight_change_kg_per_day", -0.02)
    assert not any("she loses" in text for text in solve_rations(farm).groups[0].remarks)


def _with_fact(farm: Farm, key: str, value: float) -> Farm:
    group = replace(farm.groups[0], facts={**farm.groups[0].facts, key: value})
    return replace(farm, groups=(group,))


def _with_milk(farm: Farm, milk: float) -> Farm:
    group = replace(farm.groups[0], facts={**farm.groups[0].facts, "milk_kg_per_day": milk})
    return replace(farm, groups=(group,))


def test_the_best_forage_to_the_dry_ewes_is_said() -> None:
    """Better forage for dry ewes than for those with twins before lambing, a leaner one on the
    farm; not the other way round.
    """
    good, lean = "grass_silage_1st_early", "hay_poor"
    dry = block("ewe_dry", DRY, good, lean)
    twins = block("ewe_pregnant", TWINS, good, lean)
    groups = (replace(dry.group, id="dry"), replace(twins.group, id="twins"))
    when = date(2026, 10, 1), date(2027, 4, 1)
    farm = Farm("", "T", "GBP", *when, Margins(), "cost", 0.1, dry.offers, (), groups, {})

    def eating(b: Block, name: str, key: str) -> GroupRation:
        amounts = (Amount(key, key, 1.0, 3.0, 0.1, None),)
        return GroupRation(name, name, 1, "proven", b.needs, amounts, (), 0.1, 0.0, 1.0, 10.0, None)

    assert set(
        better_forage_below(farm, (eating(dry, "dry", good), eating(twins, "twins", lean)))
    ) == {"dry"}
    assert better_forage_below(farm, (eating(dry, "dry", lean), eating(twins, "twins", good))) == {}
