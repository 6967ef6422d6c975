"""What must not change an answer, and which way a change may move it: rations of examples and of
random groups.

Prices in another unit of money change nothing but the money. Groups, feeds and stores in another
order change nothing. A feed more, or room for more dry matter, never makes the cheapest ration
dearer (by more than its proved gap). RATIONLP_FULL=1 runs ten times as many random groups.
"""

from __future__ import annotations

import os
import random
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from random_groups import BY_NRC, BY_STANDARD, random_block

from rationlp.farm.farm import Farm
from rationlp.farm.group import NRC
from rationlp.farm.penalties import penalties, price_of_a_mj
from rationlp.model.block_ration import NoOptimum, Optimum, solve_block
from rationlp.model.ration import solve_rations
from rationlp.model.rows.block import Block
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm
from rationlp.result import Rations

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SIZE = 10 if os.environ.get("RATIONLP_FULL") == "1" else 1
GAP = 1e-4
EVERY_STANDARD = (*BY_STANDARD, *BY_NRC)
FACTORS = (0.01, 2.0, 12.0, 1000.0)


def in_money(block: Block, factor: float) -> Block:
    """The block with its money counted in another unit: prices of feeds, and penalties as a farm
    would derive or state them.
    """
    offers = tuple(
        replace(offer, price_per_t_fresh=factor * offer.price_per_t_fresh) for offer in block.offers
    )
    return replace(
        block,
        offers=offers,
        over_energy_price=factor * block.over_energy_price,
        mineral_shortage_price=factor * block.mineral_shortage_price,
        mj_price=factor * block.mj_price,
    )


def gap_of(standard: str) -> float:
    """To which an answer is proved [share of its cost]."""
    return 2e-3 if standard == NRC else GAP


def same_amounts(first: Optimum, second: Optimum, where: str) -> None:
    """The same kilograms to a milligram in a kilogram."""
    for name, kg in first.values.items():
        assert second.values[name] == pytest.approx(kg, rel=1e-5, abs=1e-5), f"{where}: {name}"


@pytest.mark.parametrize(("standard", "animal_class"), EVERY_STANDARD)
def test_prices_in_another_money_change_nothing_but_the_money(
    standard: str, animal_class: str
) -> None:
    """The same kilograms, the cost times the factor, the same verdict."""
    for seed in range(3 * SIZE):
        block = random_block(31_000 + seed, animal_class, standard)
        answer = solve_block(block)
        for factor in FACTORS:
            where = f"{standard}, {animal_class}, seed {seed}, prices times {factor:g}"
            other = solve_block(in_money(block, factor))
            assert type(other) is type(answer), where
            if isinstance(answer, NoOptimum) or isinstance(other, NoOptimum):
                continue
            cost, same = factor * answer.objective, 1e-7
            if standard == NRC:
                # Two rations within its gap may both be proved.
                same = gap_of(standard)
            assert other.objective == pytest.approx(cost, rel=same), where
            bound = factor * answer.lower_bound
            assert other.lower_bound == pytest.approx(bound, rel=gap_of(standard)), where
            if standard != NRC:
                same_amounts(answer, other, where)


def farm_in_money(farm: Farm, factor: float) -> Farm:
    """The farm with every price in another unit of money; its own penalties go with them."""
    offers = tuple(
        replace(offer, price_per_t_fresh=factor * offer.price_per_t_fresh) for offer in farm.offers
    )
    return replace(
        farm,
        offers=offers,
        over_energy_price_per_mj=factor * farm.over_energy_price_per_mj,
        mineral_shortage_price_per_g=factor * farm.mineral_shortage_price_per_g,
        mj_price=price_of_a_mj(offers),
    )


@cache
def plain_rations(example: str) -> tuple[Rations, Farm]:
    """The rations of an example, and the farm as it is on its day."""
    farm = farm_on(read_farm(EXAMPLES / example))
    return solve_rations(farm), farm


@pytest.mark.parametrize("example", ["dairy", "beef", "hill", "short"])
@pytest.mark.parametrize("factor", FACTORS)
def test_an_example_in_another_money(example: str, factor: float) -> None:
    """Rations as they are shown, made fit to mix, with their penalties: the same but for the
    money.
    """
    plain, farm = plain_rations(example)
    other = solve_rations(farm_in_money(farm, factor))
    for first, second in zip(plain.groups, other.groups, strict=True):
        where = f"{example}, {first.group}, prices times {factor:g}"
        assert second.status == first.status, where
        assert [amount.offer for amount in second.amounts] == [
            amount.offer for amount in first.amounts
        ], where
        for a, b in zip(first.amounts, second.amounts, strict=True):
            assert b.kg_dm == pytest.approx(a.kg_dm, rel=1e-5, abs=1e-5), where
        if first.feed_cost is not None and first.penalty is not None:
            assert second.feed_cost == pytest.approx(factor * first.feed_cost, rel=1e-6), where
            assert second.penalty == pytest.approx(
                factor * first.penalty, rel=1e-5, abs=1e-7 * factor
            ), where


def test_penalties_follow_the_prices_unless_the_farm_states_them() -> None:
    """Twelve times the prices, twelve times every penalty that is not stated."""
    offers = random_block(1, "dairy_cow_milking").offers
    dearer = in_money(random_block(1, "dairy_cow_milking"), 12.0).offers
    plain, times_12 = penalties(None, None, offers), penalties(None, None, dearer)
    assert times_12 == pytest.approx([12.0 * price for price in plain])
    stated = penalties(0.2, 0.03, dearer)
    assert stated[1:] == (0.2, 0.03)
    cheapest = min(
        offer.price_per_kg_dm / (offer.feed.value("me_mj_per_kg_dm") or 1.0)
        for offer in offers
        if offer.bought and offer.feed.is_concentrate and offer.feed.value("me_mj_per_kg_dm")
    )
    assert plain == pytest.approx((cheapest, 5.5 * cheapest, 0.55 * cheapest))
    assert price_of_a_mj(()) > 0.0


@pytest.mark.parametrize(("standard", "animal_class"), EVERY_STANDARD)
def test_feeds_in_another_order_change_nothing(standard: str, animal_class: str) -> None:
    """The same cost to the proved gap, whatever the order of the feeds; unlike costs would be a
    search that missed something.
    """
    for seed in range(4 * SIZE):
        block = random_block(32_000 + seed, animal_class, standard)
        mixed = random.Random(seed).sample(block.offers, len(block.offers))
        answer, other = solve_block(block), solve_block(replace(block, offers=tuple(mixed)))
        where = f"{standard}, {animal_class}, seed {seed}"
        assert type(other) is type(answer), where
        if isinstance(answer, Optimum) and isinstance(other, Optimum):
            apart = gap_of(standard) if standard == NRC else 2e-6
            assert other.objective == pytest.approx(answer.objective, rel=apart, abs=1e-9), where


@pytest.mark.parametrize("example", ["dairy", "hill"])
def test_groups_and_stores_in_another_order_change_nothing(example: str) -> None:
    """Every group keeps its ration."""
    farm = plain_rations(example)[1]
    turned = replace(farm, groups=farm.groups[::-1], stores=farm.stores[::-1])
    plain = {group.group: group for group in plain_rations(example)[0].groups}
    for other in solve_rations(turned).groups:
        assert other.amounts == plain[other.group].amounts
        assert other.feed_cost == plain[other.group].feed_cost


@pytest.mark.parametrize(("standard", "animal_class"), EVERY_STANDARD)
def test_a_feed_more_never_makes_it_dearer(standard: str, animal_class: str) -> None:
    """Penalties held; a feed that brings a row of its own (urea needs room for it) is left out of
    the test.
    """
    for seed in range(4 * SIZE):
        block = random_block(33_000 + seed, animal_class, standard)
        extra = next((offer for offer in block.offers[::-1] if offer.feed.kind != "npn"), None)
        if extra is None:
            continue
        fewer = replace(block, offers=tuple(offer for offer in block.offers if offer is not extra))
        without, whole = solve_block(fewer), solve_block(block)
        where = f"{standard}, {animal_class}, seed {seed}, {extra.id}"
        if isinstance(without, Optimum):
            assert isinstance(whole, Optimum), where
            assert whole.objective <= without.objective * (1.0 + gap_of(standard)) + 1e-9, where
            assert whole.lower_bound <= without.objective + 1e-9, where


@pytest.mark.parametrize(("standard", "animal_class"), EVERY_STANDARD)
def test_room_for_more_dry_matter_never_makes_it_dearer(standard: str, animal_class: str) -> None:
    """The intake cap raised with the appetite floor held, in steps: where M* bends (lambs) answers
    were once lost on the way.
    """
    for seed in range(4 * SIZE):
        block = random_block(34_000 + seed, animal_class, standard)
        cap = block.needs.intake
        if cap is None:
            continue
        share = block.needs.appetite_floor_share
        floor = block.needs.appetite_floor_kg_dm if share is None else None
        before: Optimum | NoOptimum | None = None
        for step in (1.0, 1.1, 1.3, 1.6):
            needs = replace(
                block.needs,
                intake=replace(cap, cap_kg_dm=step * cap.cap_kg_dm),
                appetite_floor_share=None if share is None else share / step,
                appetite_floor_kg_dm=floor,
            )
            answer = solve_block(replace(block, needs=needs))
            where = f"{standard}, {animal_class}, seed {seed}, cap times {step:g}"
            if isinstance(before, Optimum):
                assert isinstance(answer, Optimum), where
                assert answer.objective <= before.objective * (1.0 + gap_of(standard)) + 1e-9, where
            before = answer
