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
from winter_plans import made_plan

from rationlp.farm.farm import Farm, YardRules
from rationlp.farm.feed import Offer
from rationlp.folders import feeds_folder
from rationlp.planned import PlanRation, PlanShortfall, WinterPlan
from rationlp.read.farm import read_farm
from rationlp.read.yard_rules import shut_days
from rationlp.result import Shortfall
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.rule_costs import opened_if_short
from rationlp.wintering.yard import WinterOptions

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
    assert plan.tidy.above_least <= 0.006
    check_rules(plan)


def check_rules(plan: WinterPlan) -> None:
    """What each rule costs is there, in words too, and sums up to what practice costs in all."""
    assert plan.tidy is not None
    rules = {rule.rule: rule.cost for rule in plan.tidy.rules}
    shut = rules.pop("shut_stores", 0.0)
    order = ["steady", "held_weeks", "least_amounts", "one_way", "bought_feeds", "orders"]
    assert list(rules) == order
    assert sum(rules.values()) == pytest.approx(plan.tidy.extra_cost, abs=0.01)
    assert shut >= -0.01
    for rule in plan.tidy.rules:
        money = f"{plan.farm.currency} {abs(rule.cost):,.2f}"
        assert ("nothing" if abs(rule.cost) < 0.005 else money) in rule.words


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


SHUT = WinterOptions(faces="off", prove=False, tidy=False)


def with_rules(farm: Farm, rules: YardRules) -> WinterPlan:
    """The cheapest plan of a farm with its own rules of the yard."""
    return solve_winter(replace(farm, yard_rules=rules), SHUT)


def test_a_clamp_filled_in_september_stays_shut_for_four_weeks() -> None:
    """Filled on 28 September: ready on 26 October, opened with the fortnight from 29 October. The
    plan says so. UK advice on the feed-out of silage (a). A farm that says 0 days opens it at once.
    """
    farm = read_farm(EXAMPLES / "dairy")
    shut = solve_winter(farm, SHUT)
    firsts = [period.first.isoformat() for period in shut.periods]
    maize = next(store for store in shut.stores if store.store == "maize")
    opening = firsts.index("2026-10-29")
    assert sum(maize.used_t_dm[:opening]) == 0.0
    assert sum(maize.used_t_dm) > 0.0
    assert any("fed from 2026-10-29" in remark for remark in shut.remarks)
    assert not any("keep it shut" in remark for remark in shut.remarks)
    opened = with_rules(farm, YardRules(shut_days=0))
    used = next(store for store in opened.stores if store.store == "maize").used_t_dm
    assert used[0] > 0.0
    assert not any("shut for 28 days" in remark for remark in opened.remarks)
    assert any("keep it shut" in remark for remark in opened.remarks)


def test_a_clamp_is_opened_sooner_where_animals_would_go_short() -> None:
    """With maize silage alone the cows cannot wait for it: three weeks after filling where that is
    enough, else at once unless the farm states its days; the plan says so.
    """
    farm = read_farm(EXAMPLES / "dairy")
    filled = {"2026-09-24": "21 days", "2026-10-10": "0 days"}
    for day, words in filled.items():
        maize = next(store for store in farm.stores if store.id == "maize")
        maize = replace(maize, size={**maize.size, "filled": day, "measured": "2026-10-15"})
        cows = tuple(group for group in farm.groups if group.id == "late")
        offers = tuple(o for o in farm.offers if o.id not in ("first_cut", "second_cut", "straw"))
        alone = replace(farm, stores=(maize,), groups=cows, offers=offers, beddings=())
        plan = solve_winter(alone, SHUT)
        assert plan.feeds_all
        assert any(f"shut for {words} in place of 28" in remark for remark in plan.remarks)
    stated = with_rules(alone, YardRules(shut_days=28))
    assert not stated.feeds_all


def test_a_store_opens_before_its_days_where_that_leaves_less_short() -> None:
    """Not every need can be met on any day of opening: the plan with least short is taken."""
    farm = read_farm(EXAMPLES / "dairy")
    energy = Shortfall("metabolisable energy", 5.0, 100.0, "MJ", "AFRC (1993)")
    short_t = {28: 9.0, 21: 8.8, 0: 2.0}

    def planned_so(one: Farm) -> WinterPlan:
        t = short_t[shut_days(one.yard_rules)]
        plan = replace(made_plan(), farm=one)
        return replace(plan, shortfalls=(PlanShortfall("young", 0, energy, t),))

    best = opened_if_short(farm, planned_so)
    assert shut_days(best.farm.yard_rules) == 0
    assert best.remarks[0] == "Stores stay shut for 0 days in place of 28: else more is short."
    short_t[0] = 8.9
    assert shut_days(opened_if_short(farm, planned_so).farm.yard_rules) == 28


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


@pytest.mark.parametrize("name", ["beef", "hill"])
def test_every_group_of_a_farm_of_many_groups_is_held(name: str) -> None:
    """No group with a ration that may change is left out: its forages are those of the fortnight
    before, but where four weeks begin or a store is opened.
    """
    plan = solve_winter(read_farm(EXAMPLES / name))
    assert plan.tidy is not None
    changing = set()
    for group in {one.group for one in plan.rations}:
        rations = [one for one in plan.rations if one.group == group]
        forages = [
            tuple(round(amount.kg_fresh, 3) for amount in one.amounts if amount.offer in STORED)
            for one in rations
        ]
        if len(set(forages)) > 0.5 * len(forages) + 1.0:
            changing.add(group)
    assert not changing
    assert not any("not for" in rule.words for rule in plan.tidy.rules)


STORED = {store.id for name in ("beef", "hill") for store in read_farm(EXAMPLES / name).stores}
