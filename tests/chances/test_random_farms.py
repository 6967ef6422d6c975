"""What must hold of the plan for the spread on random farms, and that it is the same wherever it is
worked out.
"""

from __future__ import annotations

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "model"))

from random_winters import KINDS, random_winter

from rationlp.chances.actions import SIGNED, sale_name
from rationlp.chances.course import Course, Wish, solve_course
from rationlp.chances.layout import TreeLayout
from rationlp.chances.market import Market, make_market
from rationlp.chances.template import Template, make_template
from rationlp.chances.tree import make_tree
from rationlp.chances.winters import (
    ListedWinter,
    Spreads,
    farm_spreads,
    listed_winters,
    stage_days,
)
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.farm.later import EarlySale, LaterActions, LaterPrice
from rationlp.farm.store import StoreStock
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

CLOSE = 1e-6
FULL = os.environ.get("RATIONLP_FULL") == "1"
FARMS = [(kind, seed) for kind in KINDS for seed in range(30 if FULL else 5)]
KNOWN = {"stock": 0, "turnout": 0, "price": 0}
MEAN = ListedWinter(0, 1.0, 0.0, 0, 0.0)


def _market(farm: Farm, stocks: dict[str, StoreStock], width: float) -> tuple[Market, Spreads]:
    spreads = farm_spreads(farm, stocks).times(width)
    return make_market(farm, stage_days(farm, farm.start), spreads), spreads


def _laid(kind: str, seed: int) -> tuple[Template, tuple[ListedWinter, ...]] | None:
    """The template and nine winters of a random farm; None where the mean winter cannot be fed."""
    farm, stocks = random_winter(seed, kind)
    market, spreads = _market(farm, stocks, 1.0)
    template = make_template(market, stocks)
    return None if template is None else (template, listed_winters(spreads, 3, 3))


def _course(
    template: Template,
    winters: tuple[ListedWinter, ...],
    wish: Wish | None = None,
    seen: dict[str, int] | None = None,
) -> Course | None:
    return solve_course(TreeLayout(template, make_tree(winters, seen)), wish)


@pytest.mark.parametrize(("kind", "seed"), FARMS)
def test_knowing_planning_and_not_planning(kind: str, seed: int) -> None:
    """WS ≤ RP ≤ EEV to 1e-6; every course is certified and its tonnes close in every winter; a cap
    on late buying is kept and costs no less.
    """
    laid = _laid(kind, seed)
    if laid is None:
        farm, stocks = random_winter(seed, kind)
        plain = solve_winter(farm, WinterOptions(tidy=False, prove=False, faces="off"), stocks)
        assert not plain.feeds_all, "a winter that can be fed has a template"
        return
    template, winters = laid
    plan = _course(template, winters)
    known = _course(template, winters, seen=KNOWN)
    if plan is None:
        # Some winter has no answer whatever is known of it before: never one less.
        assert known is None
        return
    assert known is not None
    slack = CLOSE * max(abs(plan.mean), 1.0)
    assert known.mean <= plan.mean + slack
    assert plan.certificate.passed
    layout = TreeLayout(template, make_tree(winters))
    for one in plan.winters:
        for store in template.yard.farm.stores:
            used = layout.used_t_dm(store.id, one.winter, plan.values)
            rescue = plan.values["rescue", store.id, f"w{one.winter.number}"]
            assert used <= layout.free_t_dm(store.id, one.winter) + rescue + 1e-5
    mean = _course(template, (MEAN,))
    assert mean is not None
    autumn = {k: v for k, v in mean.values.items() if k[-1] == "n0" and k[0] in ("feed", "buy")}
    again = _course(template, winters, wish=Wish(held=autumn))
    if again is not None:
        assert plan.mean <= again.mean + slack
    capped = _course(template, winters, wish=Wish(most_late=0.2))
    if capped is not None:
        assert capped.late_share <= 0.2 + 1e-6
        assert capped.mean >= plan.mean - 2e-4 * abs(plan.mean)


@pytest.mark.parametrize("kind", KINDS)
def test_without_a_spread_it_is_the_plain_winter(kind: str) -> None:
    """One winter costs what the winter's own programme costs, with the same feeds on offer."""
    compared = 0
    for seed in range(4):
        farm, stocks = random_winter(seed, kind)
        market, spreads = _market(farm, stocks, 0.0)
        template = make_template(market, stocks)
        if template is None:
            continue
        (only,) = listed_winters(spreads)
        course = _course(template, (only,))
        assert course is not None
        assert course.mean == pytest.approx(template.mean.cost, rel=CLOSE, abs=1e-6)
        compared += 1
    assert compared > 0


def _figures(kind: str, seed: int) -> str:
    """Every figure of a course as text."""
    laid = _laid(kind, seed)
    assert laid is not None
    course = _course(*laid)
    assert course is not None
    return repr((course.mean, sorted(course.values.items()), course.winters))


def test_the_same_bytes_from_one_process_and_from_two() -> None:
    """Worked out here one after the other, and in two new processes at once."""
    farms = [one for one in FARMS if (laid := _laid(*one)) is not None and _course(*laid)][:2]
    assert len(farms) == 2
    here = [_figures(*one) for one in farms]
    with ProcessPoolExecutor(2, get_context("spawn")) as pool:
        there = list(pool.map(_figures, *zip(*farms, strict=True)))
    assert there == here


@pytest.mark.parametrize("kind", KINDS)
def test_a_farms_actions_on_random_farms(kind: str) -> None:
    """Animals that may be sold and feed on contract never cost more than without, shutting each for
    one stage or all never less; what is still there never grows; certified every time.
    """
    compared = 0
    for seed in range(4):
        farm, stocks = random_winter(seed, kind)
        mixed = {name for mix in farm.mixes for name in mix.portions}
        groups = [group for group in farm.groups if group.id not in mixed and not _lambs(group)]
        bought = [offer for offer in farm.offers if offer.bought and not offer.feed.is_forage]
        if not groups or not bought:
            continue
        group, offer = groups[0], bought[0]
        price = offer.price_per_t_fresh
        later = LaterActions(
            (LaterPrice(offer.id, None, 1.3 * price, contract=1.02 * price, resold=0.5 * price),),
            (EarlySale(group.id, (860.0, 900.0, 950.0), 1000.0, max(group.head - 1, 1)),),
        )
        dear = LaterActions((LaterPrice(offer.id, None, 1.3 * price),))
        plain, acting = _acting(farm, stocks, dear), _acting(farm, stocks, later)
        if plain is None or acting is None:
            continue
        template, winters = acting
        course = _course(template, winters)
        without = _course(*plain)
        if course is None or without is None:
            continue
        assert course.certificate.passed
        slack = 1e-5 * max(abs(course.mean), 1.0)
        assert course.mean <= without.mean + slack
        tree = make_tree(winters)
        for node in tree.nodes[1:]:
            before = course.values["kept", group.id, tree.nodes[node.parent].mark]
            assert course.values["kept", group.id, node.mark] <= before + 1e-6
        sale = sale_name(group.id)
        for shut in ({(offer.id, SIGNED)}, {(sale, 0)}, {(sale, 0), (sale, 1), (sale, 2)}):
            closed = solve_course(TreeLayout(template, tree, frozenset(shut)))
            assert closed is None or closed.mean >= course.mean - slack
        compared += 1
    assert compared > 0


def _lambs(group: Group) -> bool:
    return group.animal_class.startswith("ewe")


def _acting(
    farm: Farm, stocks: dict[str, StoreStock], later: LaterActions
) -> tuple[Template, tuple[ListedWinter, ...]] | None:
    market, spreads = _market(replace(farm, later=later), stocks, 1.0)
    template = make_template(market, stocks)
    return None if template is None else (template, listed_winters(spreads, 3, 3))
