"""Plans that a yard can feed: no amount and no order below its least, few bought feeds, and what
that costs.

Least amounts are common practice, no source (c): read here from feeds/practice.csv by themselves.
"""

from __future__ import annotations

import csv
import os
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest
from random_winters import KINDS, random_winter
from winter_farms import PLENTY, stocks, winter_farm

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.yard_keys import YardRules
from rationlp.folders import feeds_folder
from rationlp.planned import PlanRation, WinterPlan
from rationlp.read.farm import read_farm
from rationlp.winter.plan import WinterOptions, solve_winter

FULL = os.environ.get("RATIONLP_FULL") == "1"
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
WINTERS = [(kind, seed) for kind in KINDS for seed in range(17 if FULL else 2)]
SHOWN = EXAMPLES.glob("*/farm.toml") if FULL else [EXAMPLES / "dairy" / "farm.toml"]
HAIR = 1e-5


@lru_cache(maxsize=1)
def figures() -> dict[tuple[str, str], float]:
    """feeds/practice.csv by class and figure."""
    with (feeds_folder() / "practice.csv").open(encoding="utf-8") as lines:
        return {
            (row["limits_key"], row["figure"]): float(row["value"]) for row in csv.DictReader(lines)
        }


def least_kg_fresh(ration: PlanRation, offer: Offer) -> float:
    """Least useful amount of dry straights and dry long forage [kg fresh a head a day], 0 for
    everything else.
    """
    key, feed = ration.needs.limits_key or "", offer.feed
    if feed.kind in ("fat", "npn", "mineral", "root") or feed.key.startswith("molasses"):
        return 0.0
    if feed.is_concentrate and feed.dm_g_per_kg >= 400.0:
        return figures().get((key, "least_straight_kg_fresh"), 0.0)
    return figures().get((key, "least_long_forage_kg_fresh"), 0.0) if feed.kind == "straw" else 0.0


def check_amounts(plan: WinterPlan) -> None:
    """No amount of any period is below its least, but for those that the plan names with a
    reason.
    """
    offers = {offer.id: offer for offer in plan.farm.offers}
    limited = {(group.id, limit.offer) for group in plan.farm.groups for limit in group.feed_limits}
    stays = set() if plan.tidy is None else {(one.group, one.offer) for one in plan.tidy.stays}
    for ration in plan.rations:
        for amount in ration.amounts:
            mark = (ration.group, amount.offer)
            if (
                mark in stays
                or (ration.origin, amount.offer) in limited
                or amount.offer not in offers
            ):
                continue
            least = least_kg_fresh(ration, offers[amount.offer])
            assert amount.kg_fresh >= least * (1.0 - HAIR), (
                ration.group,
                ration.period,
                amount.offer,
            )


def check_orders(plan: WinterPlan, tote_t: float = 0.5, bag_t: float = 0.025) -> None:
    """No order below a bag or a tote, but for those that the plan names with what they cost."""
    small = set() if plan.tidy is None else {one.offer for one in plan.tidy.small_orders}
    for purchase in plan.purchases:
        offer = next(offer for offer in plan.farm.offers if offer.id == purchase.offer)
        least = (
            bag_t
            if offer.feed.kind in ("mineral", "npn", "fat")
            else min(tote_t, offer.load_t or tote_t)
        )
        assert purchase.offer in small or sum(purchase.t_fresh) >= least * (1.0 - HAIR), (
            purchase.offer
        )


@pytest.mark.parametrize(("kind", "seed"), WINTERS)
def test_random_winters_have_no_small_amounts_and_no_small_orders(kind: str, seed: int) -> None:
    """Where a plan was made practical at all: some of these winters have nothing to put right or
    cannot be fed.
    """
    farm, held = random_winter(seed, kind)
    plan = solve_winter(farm, WinterOptions(faces="off"), held)
    if plan.tidy is not None:
        assert plan.tidy.passed
        check_amounts(plan)
        check_orders(plan)


@pytest.mark.parametrize("path", list(SHOWN), ids=lambda path: path.parent.name)
def test_the_examples_have_no_small_amounts_and_no_small_orders(path: Path) -> None:
    plan = solve_winter(read_farm(path.parent))
    assert plan.tidy is not None
    assert plan.tidy.passed
    check_amounts(plan)
    check_orders(plan)
    assert plan.tidy.above_least is not None
    assert plan.tidy.above_least < 0.01


def planned(farm: Farm) -> WinterPlan:
    """The plan of the invented farm with plenty in store."""
    plan = solve_winter(farm, WinterOptions(faces="off"), stocks(PLENTY))
    assert plan.tidy is not None
    return plan


def bought(plan: WinterPlan) -> set[str]:
    """Bought feeds besides minerals."""
    kinds = {offer.id: offer.feed.kind for offer in plan.farm.offers}
    return {one.offer for one in plan.purchases if kinds[one.offer] != "mineral"}


def test_a_farm_with_one_bin_buys_one_feed_and_the_plan_costs_no_less() -> None:
    farm = winter_farm()
    free, few = planned(farm), planned(replace(farm, yard_rules=YardRules(most_bought_feeds=1)))
    assert len(bought(few)) <= 1
    assert few.cost is not None
    assert free.cost is not None
    assert few.cost >= free.cost - 0.002 * free.cost
    assert few.tidy is not None
    assert few.tidy.too_many == 0


def test_an_order_too_small_is_dropped_brought_up_or_said() -> None:
    """A least order that nothing reaches: every feed that is still bought is named with its way and
    what that costs.
    """
    farm = winter_farm()
    plan = planned(replace(farm, yard_rules=YardRules(least_order_t=90.0, bag_kg=1000.0)))
    check_orders(plan, 90.0, 1.0)
    assert plan.tidy is not None
    for one in plan.tidy.small_orders:
        assert one.way in ("bags", "left_over")
        assert one.extra_cost > 0.0
    assert planned(farm).tidy is not None


def test_a_clamp_stays_shut_for_the_days_that_the_farm_states() -> None:
    """Filled on 28 September and shut for four weeks: opened on 26 October, where a period begins;
    without the key it is not.
    """
    farm = read_farm(EXAMPLES / "dairy")
    options = WinterOptions(faces="off", prove=False, tidy=False)
    shut = solve_winter(replace(farm, yard_rules=YardRules(shut_days=28)), options)
    firsts = [period.first.isoformat() for period in shut.periods]
    assert "2026-10-26" in firsts
    maize = next(store for store in shut.stores if store.store == "maize")
    opening = firsts.index("2026-10-26")
    assert sum(maize.used_t_dm[:opening]) == 0.0
    assert sum(maize.used_t_dm) > 0.0
    assert not any("keep it shut" in one for one in shut.remarks)
    assert "2026-10-26" not in [
        period.first.isoformat() for period in solve_winter(farm, options).periods
    ]


def held_pairs(plan: WinterPlan, group: str) -> list[tuple[float, float]]:
    """Amounts of silage of a group in the two fortnights of every four weeks [kg fresh a head a
    day].
    """
    rations = [one for one in plan.rations if one.group == group]
    silage = [
        sum(a.kg_fresh for a in one.amounts if a.offer in ("first_cut", "second_cut", "maize"))
        for one in rations
    ]
    return list(zip(silage[0::2], silage[1::2], strict=False))


def test_forages_are_held_for_four_weeks_unless_that_costs_too_much() -> None:
    """Young stock grow, so that every fortnight has its own ration: held in pairs by default, not
    where the farm holds none.
    """
    farm = read_farm(EXAMPLES / "dairy")
    held = solve_winter(farm)
    assert held.tidy is not None
    assert "young" in held.tidy.steady_groups
    assert all(
        first == pytest.approx(second, abs=1e-4) for first, second in held_pairs(held, "young")
    )
    free = solve_winter(replace(farm, yard_rules=YardRules(hold_days=0)))
    assert free.tidy is not None
    assert free.tidy.steady_groups == ()
    assert any(abs(first - second) > 0.01 for first, second in held_pairs(free, "young"))
