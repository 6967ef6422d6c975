"""The change that puts a fed ration right is fed again and found right; nothing is said of one that
is right already.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path

import pytest
from told import told

from rationlp.ask.fix import FedWhy, Fix, explain_fed, fix_fed
from rationlp.ask.weighable import mineral_amounts
from rationlp.farm.farm import Farm
from rationlp.model.fed import fed_supply
from rationlp.model.ration import solve_rations
from rationlp.model.rows.block import make_block
from rationlp.needs import group_needs
from rationlp.quantities import dm_from_fresh, fresh_from_dm
from rationlp.read.changed import begin, changed, parse_change
from rationlp.read.farm import read_farm
from rationlp.read.fed import read_fed
from rationlp.report.stories.ration import fed_story
from rationlp.report.tables.ration import stands_of
from rationlp.report.why import fed_lines
from rationlp.result import FedSupply
from rationlp.yard.day_facts import FedFacts

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def wrong(farm: Farm, fed: dict[str, dict[str, float]]) -> list[str]:
    """What stands short or over in a fed ration."""
    found = stands_of(fed_supply(farm, fed)[0])
    return [title for title in (*found["short"], *found["over"]) if title not in PRICED]


PRICED = {"Calcium to phosphorus"}


def steps_of(farm: Farm, fix: Fix, steps: Mapping[str, float]) -> list[float]:
    """How far each new amount is from a whole step, in steps."""
    kinds = {offer.id: offer.feed for offer in farm.offers}
    off = []
    for one in fix.changes:
        feed = kinds[one.offer]
        step = steps["forage"]
        if feed.kind == "mineral":
            step = steps["mineral"]
        elif feed.is_concentrate:
            step = steps["straight"]
        off.append(abs(one.to_kg_fresh / step - round(one.to_kg_fresh / step)))
    return off


CATTLE = {"forage": 0.5, "straight": 0.1, "mineral": 0.01}
SHEEP = {"forage": 0.1, "straight": 0.05, "mineral": 0.005}


@pytest.mark.parametrize(("name", "group"), [("dairy", "late"), ("beef", "dry_cows")])
def test_the_change_puts_it_right(name: str, group: str) -> None:
    """Two feeds at most move, and minerals, in amounts that can be weighed; afterwards nothing is
    short or over, minerals included."""
    farm = read_farm(EXAMPLES / name)
    fed = {group: read_fed(EXAMPLES / name / "fed.csv", farm)[group]}
    fix = fix_fed(farm, fed_supply(farm, fed)[0])
    assert fix is not None
    offers = {offer.id: offer for offer in farm.offers}
    feeds = [one for one in fix.changes if offers[one.offer].feed.kind != "mineral"]
    assert 1 <= len(feeds) <= 2
    assert len(feeds) < len(fix.changes)
    assert max(steps_of(farm, fix, CATTLE)) < 1e-6
    assert fix.still_short == ()
    after = dict(fed[group])
    for one in fix.changes:
        assert one.from_kg_fresh == pytest.approx(
            after.get(one.offer, 0.0) * 1000.0 / offers[one.offer].feed.dm_g_per_kg
        )
        after[one.offer] = dm_from_fresh(one.to_kg_fresh, offers[one.offer].feed.dm_g_per_kg)
    assert wrong(farm, {group: {key: kg for key, kg in after.items() if kg > 0.0}}) == []
    cost = sum(kg * offers[key].price_per_kg_dm for key, kg in after.items())
    before = sum(kg * offers[key].price_per_kg_dm for key, kg in fed[group].items())
    assert cost - before == pytest.approx(fix.cost, abs=1e-6)


def test_a_mineral_alone_is_mended() -> None:
    """Suckler cows that lack magnesium alone get their mineral at its printed rate, and no other
    feed moves; where none is on the list, nothing is said to mend it.
    """
    farm = read_farm(EXAMPLES / "hill")
    ration = solve_rations(farm, ["cows"]).groups[0]
    fed = {"cows": {amount.offer: amount.kg_dm for amount in ration.amounts}}
    del fed["cows"]["cow_minerals"]
    fed["cows"]["late_hay"] += 0.1
    assert "Magnesium" in wrong(farm, fed)
    fix = fix_fed(farm, fed_supply(farm, fed)[0])
    assert fix is not None
    (only,) = fix.changes
    assert only.from_kg_fresh == 0.0
    assert only.to_kg_fresh == pytest.approx(0.1, abs=0.005)
    dm = {offer.id: offer.feed.dm_g_per_kg for offer in farm.offers}
    fed["cows"][only.offer] = dm_from_fresh(only.to_kg_fresh, dm[only.offer])
    assert "Magnesium" not in wrong(farm, fed)
    bare = dataclasses.replace(
        farm, offers=tuple(offer for offer in farm.offers if offer.feed.kind != "mineral")
    )
    del fed["cows"][only.offer]
    assert fix_fed(bare, fed_supply(bare, fed)[0]) is None


def _fix_on_hill(fed: dict[str, dict[str, float]], **barred: str) -> tuple[FedWhy, FedSupply]:
    """What the hill example says of a ration; barred: a feed by group id."""
    farm = read_farm(EXAMPLES / "hill")
    groups = tuple(
        dataclasses.replace(group, barred=group.barred | {barred[group.id]})
        if group.id in barred
        else group
        for group in farm.groups
    )
    farm = dataclasses.replace(farm, groups=groups)
    supply = fed_supply(farm, fed)[0]
    return explain_fed(farm, supply), supply


def test_cows_that_fatten_are_put_on_leaner_forage() -> None:
    """Dry sucklers on 18 kg of good bales get four tenths more energy than they need: less of the
    bales and more of what fills, not the missing mineral alone (common practice).
    """
    farm = read_farm(EXAMPLES / "hill")
    fed = {"cows": read_fed(EXAMPLES / "hill" / "fed.csv", farm)["cows"]}
    why, supply = _fix_on_hill(fed)
    before = next(line for line in supply.supply if line.quantity == "me_mj")
    assert before.supply > 1.2 * (before.high or 0.0)
    assert why.fix is not None
    moved = {change.offer: change for change in why.fix.changes}
    assert moved["good_bales"].to_kg_fresh < 10.0
    after = dict(fed["cows"])
    for change in why.fix.changes:
        dm = farm.offer(change.offer).feed.dm_g_per_kg
        after[change.offer] = dm_from_fresh(change.to_kg_fresh, dm)
    (leaner,) = fed_supply(farm, {"cows": {name: kg for name, kg in after.items() if kg > 0.0}})
    energy = next(line for line in leaner.supply if line.quantity == "me_mj")
    assert energy.supply <= 1.05 * (energy.high or 0.0)


def test_a_little_more_hay_than_the_figure_is_not_mended() -> None:
    """Single ewes on 1.4 kg of hay, 8 % over what the levy-board figure lets them take: nothing to
    put right. At 1.6 kg, a fifth over, the limit is named beside the advice.
    """
    why, supply = _fix_on_hill({"singles": {"meadow_hay": 1.205, "sheep_minerals": 0.0147}})
    assert (why.fix, why.passed) == (None, ())
    why, supply = _fix_on_hill({"singles": {"meadow_hay": 1.376, "sheep_minerals": 0.0147}})
    assert "Meadow hay, made in July" in {limit.title for limit in why.passed}
    assert why.fix is not None
    assert why.fix.changes
    text = told(fed_story(None, FedFacts((supply,), {}, ()), {"singles": why}), 300)
    assert "Past a limit: Meadow hay, made in July 2" in text
    assert "% above its most (levy-board advice on forage intake of ewes, from memory)" in text


def test_a_barred_feed_is_named_and_not_called_no_change() -> None:
    """A feed the group may not have: which, and what to do."""
    fed = {"singles": {"meadow_hay": 0.9, "late_hay": 0.2}}
    why, supply = _fix_on_hill(fed, singles="late_hay")
    (line,) = [line for line in fed_lines(why, supply, "GBP") if "barred" in line]
    assert line.startswith("Hay of a late cut is barred for this group and fed all the same.")
    assert not any("No change" in line for line in fed_lines(why, supply, "GBP"))


def test_a_mineral_that_nothing_weighable_mends_is_told() -> None:
    """Hardly any phosphorus is lacking, and limestone is all there is: not a word was said."""
    farm = read_farm(EXAMPLES / "beef")
    short = Fix((), 0.0, ("Phosphorus 0.4 g",), minerals_only=True)
    supply = fed_supply(farm, {"bulls": {"early_bales": 6.0}})[0]
    lines = fed_lines(FedWhy(None, None, None, short), supply, "GBP")
    assert lines == (
        "No mineral of the list, in an amount that can be weighed and within its limits, mends what"
        " is short: Phosphorus 0.4 g a head a day. Ask for one that does.",
    )


def test_lime_mends_no_magnesium() -> None:
    """Dry sucklers short of magnesium on a farm whose only mineral is limestone: told, not passed
    over in silence.
    """
    farm = read_farm(EXAMPLES / "beef")
    kept = tuple(
        offer
        for offer in farm.offers
        if offer.feed.kind != "mineral" or offer.feed.key == "limestone"
    )
    farm = dataclasses.replace(farm, offers=kept)
    ration = solve_rations(farm, ["dry_cows"]).groups[0]
    kg = {amount.offer: amount.kg_dm for amount in ration.amounts}
    supply = fed_supply(farm, {"dry_cows": kg})[0]
    assert stands_of(supply)["short"] == ["Magnesium"]
    fix = fix_fed(farm, supply)
    assert fix is not None
    assert fix.minerals_only
    assert [line.split()[0] for line in fix.still_short] == ["Magnesium"]


def test_minerals_are_rounded_within_their_share() -> None:
    """Limestone of a dry cow is 0.4 % of her dry matter at most: rounded down, not up beyond it."""
    later = ("cows.calving=2027-02-01", "cows.calving_last=2027-02-28")
    farm = changed(begin(EXAMPLES / "calving"), [parse_change(text) for text in later]).farm
    group = farm.group("cows")
    block = make_block(farm, group, group_needs(group, farm.margins))
    assert block.needs.limits_key == "dairy_dry"
    wanted = {**dict.fromkeys([offer.id for offer in block.offers], 0.0), "clamp": 11.25}
    wanted["limestone"] = 0.045
    dm = farm.offer("limestone").feed.dm_g_per_kg
    rounded = fresh_from_dm(mineral_amounts(block, {}, wanted)["limestone"], dm)
    assert rounded == pytest.approx(0.04)


def test_ewes_are_put_right_in_amounts_that_can_be_weighed() -> None:
    """Ewes on hay and a handful of rolls, and too much mineral: no crumb of a feed, nothing above a
    printed limit, no mineral with copper.
    """
    farm = read_farm(EXAMPLES / "hill")
    fed = {"twins": read_fed(EXAMPLES / "hill" / "fed.csv", farm)["twins"]}
    fix = fix_fed(farm, fed_supply(farm, fed)[0])
    assert fix is not None
    assert fix.changes
    offers = {offer.id: offer for offer in farm.offers}
    for one in fix.changes:
        least = 0.005 if offers[one.offer].feed.kind == "mineral" else 0.05
        assert one.to_kg_fresh == 0.0 or one.to_kg_fresh >= least - 1e-9
        if one.to_kg_fresh > one.from_kg_fresh:
            assert offers[one.offer].feed.key != "minerals_cattle_general"
    assert max(steps_of(farm, fix, SHEEP)) < 1e-6


def test_a_ration_that_is_right_needs_no_change() -> None:
    """The answer of `ration` itself, fed: nothing to put right, and its energy carries what is
    asked.
    """
    farm = read_farm(EXAMPLES / "beef")
    ration = solve_rations(farm, ["bulls"]).groups[0]
    fed = fed_supply(farm, {"bulls": {amount.offer: amount.kg_dm for amount in ration.amounts}})[0]
    why = explain_fed(farm, fed)
    assert why.fix is None
    assert why.carried is not None
    assert why.carried.by_energy is not None
    assert why.carried.by_energy >= why.carried.asked
    assert any("the scarcer" in line for line in fed_lines(why, fed, "GBP"))


def test_where_two_feeds_are_not_enough_it_says_so() -> None:
    """A milking cow on straw alone is beyond a change of two feeds."""
    farm = read_farm(EXAMPLES / "dairy")
    fed = fed_supply(farm, {"high": {"straw": 8.0}})[0]
    fix = fix_fed(farm, fed)
    assert fix is not None
    assert fix.changes == ()
    assert any(
        "No change of two feeds" in line for line in fed_lines(explain_fed(farm, fed), fed, "GBP")
    )


def test_what_is_too_little_to_weigh_is_left_out() -> None:
    """Bulls with a pinch less concentrate than they need: no change is advised, and what is short
    without it is said.
    """
    farm = read_farm(EXAMPLES / "beef")
    ration = solve_rations(farm, ["bulls"]).groups[0]
    amounts = {amount.offer: amount.kg_dm for amount in ration.amounts}
    straights = {offer.id for offer in farm.offers if offer.feed.is_concentrate}
    most = max((name for name in amounts if name in straights), key=lambda name: amounts[name])
    amounts[most] -= 0.02
    fed = fed_supply(farm, {"bulls": amounts})[0]
    why = explain_fed(farm, fed)
    assert why.fix is not None
    assert why.fix.changes == ()
    assert any(line.startswith("ME ") for line in why.fix.still_short)
    assert any("too little to weigh" in line for line in fed_lines(why, fed, "GBP"))
