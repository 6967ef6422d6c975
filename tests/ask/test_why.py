"""Why a ration is what it is: every sentence is checked by solving something else again."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

from rationlp.ask.why import Reasons, why_ration
from rationlp.farm.farm import Farm
from rationlp.farm.group import FeedLimit
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.energy import EnergyCurve
from rationlp.model.ration import make_blocks, solve_rations
from rationlp.model.rows.block import Block
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm
from rationlp.report.why import leaves_line, why_line

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
GROUPS = [
    ("dairy", "high"),
    ("dairy", "dry"),
    ("dairy", "young"),
    ("beef", "bulls"),
    ("beef", "autumn_cows"),
    ("hill", "store_lambs"),
]


@lru_cache(maxsize=8)
def farm(name: str) -> Farm:
    """An example on its first day."""
    return farm_on(read_farm(EXAMPLES / name))


@lru_cache(maxsize=16)
def why(name: str, group: str) -> Reasons:
    """The reasons of one group's ration."""
    found = why_ration(farm(name), solve_rations(farm(name), [group]).groups[0])
    assert found is not None
    return found


def block(name: str, group: str) -> Block:
    """The block of a group."""
    return make_blocks(farm(name), [group])[0]


def optimum(of: Block) -> Optimum:
    """The cheapest ration of a block that has one."""
    found = solve_block(of)
    assert isinstance(found, Optimum)
    return found


def priced(of: Block, offer: str, factor: float) -> Block:
    """The block with one price multiplied."""
    offers = tuple(
        replace(one, price_per_t_fresh=factor * one.price_per_t_fresh) if one.id == offer else one
        for one in of.offers
    )
    return replace(of, offers=offers)


@pytest.mark.parametrize(("name", "group"), GROUPS)
def test_feeds_come_in_and_go_out_where_it_is_said(name: str, group: str) -> None:
    """Half a percent past the price said the feed is in (or out); half a percent before it, it is
    still out.
    """
    for near in why(name, group).near:
        at = 1.0 + near.change
        if near.within:
            assert optimum(priced(block(name, group), near.offer, at)).values[near.offer] <= 1e-6
            continue
        assert optimum(priced(block(name, group), near.offer, at - 0.005)).values[near.offer] > 1e-6
        assert (
            optimum(priced(block(name, group), near.offer, at + 0.005)).values[near.offer] <= 1e-6
        )


@pytest.mark.parametrize(("name", "group"), GROUPS)
def test_ranges_are_within_one_percent_and_no_wider(name: str, group: str) -> None:
    """Held at the most said, a feed makes the ration at most 1 % dearer; a fifth beyond what it
    could move, dearer than that.
    """
    least_cost = optimum(block(name, group)).objective
    wide = 0
    for one in why(name, group).ranges:
        moved = one.most_kg_fresh - one.kg_fresh
        if moved < 0.05 or any(
            limit.offer == one.offer for limit in block(name, group).group.feed_limits
        ):
            continue
        wide += 1
        cost = optimum(held(block(name, group), one.offer, one.most_kg_fresh)).objective
        assert cost <= least_cost + 0.0101 * abs(least_cost)
        if cost < least_cost + 0.0095 * abs(least_cost):
            # Drawn back to a ration that is adequate at its own level of feeding: further may still
            # be cheap.
            continue
        further = solve_block(held(block(name, group), one.offer, one.most_kg_fresh + 0.2 * moved))
        assert not isinstance(further, Optimum) or further.objective > least_cost + 0.0098 * abs(
            least_cost
        )
    assert wide >= 1


def held(of: Block, offer: str, kg_fresh: float) -> Block:
    """The block with a floor under one feed."""
    limits = (*of.group.feed_limits, FeedLimit(offer, min_kg_fresh=kg_fresh))
    return replace(of, group=replace(of.group, feed_limits=limits))


def test_the_price_of_energy_is_what_more_of_it_costs() -> None:
    """The requirement a little higher, by so many MJ at the ration's own dry matter, costs its
    marginal value, to a tenth.
    """
    of = block("beef", "bulls")
    energy = next(one for one in why("beef", "bulls").binding if one.what == "its energy")
    need = of.needs.energy
    assert need is not None
    before = optimum(of)
    after = optimum(
        replace(of, needs=replace(of.needs, energy=replace(need, margin=need.margin * 1.0001)))
    )
    at_same_dm = [
        EnergyCurve(need, factor, 0.0, 99.0).value(before.dm_kg) for factor in (1.0, 1.0001)
    ]
    more_mj = at_same_dm[1] - at_same_dm[0]
    assert (after.objective - before.objective) / more_mj == pytest.approx(energy.cost, rel=0.1)


def test_the_price_of_protein_is_what_more_of_it_costs() -> None:
    """A gram more metabolisable protein costs what is said of it."""
    of = block("dairy", "high")
    protein = next(one for one in why("dairy", "high").binding if one.what == "its protein")
    assert of.needs.mp_g is not None
    more = replace(of.needs, mp_g=of.needs.mp_g + 1.0 / of.needs.mp_margin)
    rise = optimum(replace(of, needs=more)).objective - optimum(of).objective
    assert rise == pytest.approx(protein.cost, rel=0.1)


def test_a_litre_more_costs_about_its_energy_and_protein() -> None:
    """The litre of the high yielders lies between what its energy alone and thrice that would
    cost.
    """
    found = why("dairy", "high")
    assert found.more_product is not None
    energy = next(one for one in found.binding if one.what == "its energy")
    assert 5.0 * energy.cost < found.more_product.cost < 15.0 * energy.cost


def test_the_sentences_name_what_was_found() -> None:
    """The paragraph holds what binds with its price, the litre, and the feed next in line; sources
    stand under methane.
    """
    found = why("dairy", "high")
    text = why_line(found, "GBP")
    assert "its energy (1 MJ more costs GBP" in text
    assert "Within the same limits a litre of milk more costs GBP" in text
    assert all(near.words in text for near in found.near)
    assert "IPCC" in leaves_line(found.leaves)
    assert "Blaxter and Clapperton (1965)" in leaves_line(found.leaves)


def test_a_group_without_a_ration_has_no_why() -> None:
    """Nothing is explained where there is nothing."""
    small = farm("dairy")
    groups = tuple(
        replace(group, facts={**group.facts, "milk_kg_per_day": 70.0, "milk_fat_g_per_kg": 60.0})
        for group in small.groups
        if group.id == "late"
    )
    changed = replace(small, groups=groups)
    ration = solve_rations(changed).groups[0]
    assert ration.proof is None
    assert why_ration(changed, ration) is None
    assert ration.clash is not None
    assert ration.remedies


@pytest.mark.parametrize(("name", "group"), [("dairy", "young"), ("beef", "bulls")])
def test_the_readme_quotes_what_is_said(name: str, group: str) -> None:
    """The two paragraphs of the guide are the ones that the program writes, word for word."""
    readme = (
        (EXAMPLES.parent / "rationlp" / "guide" / "why.md")
        .read_text(encoding="utf-8")
        .replace("> ", "")
    )
    assert " ".join(why_line(why(name, group), "GBP").split()) in " ".join(readme.split())
