"""The price of a promise over a winter: corners against independent solves, both ends, promises."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from ask_farm import small_farm

from rationlp.ask.corners import Frontier
from rationlp.ask.measures import MEAL, METHANE, NITROGEN, SOYA, Measure, Promise
from rationlp.ask.promise_winter import TOLERANCE, WinterQuestion, winter_promises
from rationlp.ask.stores import OpenWinter
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.read.farm import read_farm
from rationlp.wintering.levels import AcceptedPlan
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Farm:
    """The small farm."""
    return read_farm(small_farm(tmp_path_factory.mktemp("small")))


def question(farm: Farm) -> WinterQuestion:
    """A winter asked about, all groups counted."""
    return WinterQuestion(OpenWinter(farm), [group.id for group in farm.groups])


def weights(frontier: Frontier[AcceptedPlan], count: int) -> Iterator[float]:
    """Weights from nought to far beyond the first price."""
    first = frontier.corners[0]
    size = first.cost / first.amount
    return (0.0 if n == 0 else size * 10.0 ** (4.0 * n / count - 1.5) for n in range(count))


def by_prices(farm: Farm, waste: dict[str, float], weight: float) -> Farm:
    """The farm with the nitrogen eaten charged for in the prices of what is put out."""
    offers = []
    for offer in farm.offers:
        per_t_eaten = (offer.feed.value("cp_g_per_kg_dm") or 0.0) / 6.25e3 * offer.feed.dm_g_per_kg
        more = weight * per_t_eaten * (1.0 - waste.get(offer.id, 0.0))
        offers.append(replace(offer, price_per_t_fresh=offer.price_per_t_fresh + more))
    return replace(farm, offers=tuple(offers))


@pytest.mark.parametrize("count", [4, 24], ids=["few", "all"])
def test_corners_against_plans_made_apart(farm: Farm, count: int) -> None:
    """At each weight the corners count for what a plan made from nothing does, nitrogen in its
    prices: within both certified gaps. Such a plan may go shorter than the cheapest, where
    nitrogen is dear; then it is only a bound from below."""
    asked = question(farm)
    shortest = solve_winter(farm, WinterOptions(faces="off", tidy=False)).penalty
    assert shortest is not None
    total = asked.sum_of(NITROGEN)
    waste = {name: share for run in asked.model.runs for name, share in run.waste.items()}
    frontier = asked.frontier(total)
    assert len(frontier.corners) > 2
    gap = max(frontier.gap(place) for place in frontier.corners)
    slack, compared = TOLERANCE * frontier.corners[0].cost, 0
    for weight in weights(frontier, count):
        best = min(place.at(weight) for place in frontier.corners) - weight * total.fixed
        dear = by_prices(farm, waste, weight)
        plan = solve_winter(dear, WinterOptions(faces="off", tidy=False))
        assert plan.proof is not None
        assert best >= plan.proof.lower_bound - slack
        if plan.penalty is not None and plan.penalty <= shortest + slack:
            compared += 1
            assert best <= plan.proof.cost + gap + slack
    assert compared >= count // 2


@pytest.mark.parametrize("measure", [METHANE, MEAL], ids=lambda one: one.name)
def test_the_way_falls_rises_and_bends_one_way(farm: Farm, measure: Measure) -> None:
    """Amounts fall, costs and prices rise; every corner passed its own check; the first is the
    cheapest plan and the last has the least that a plan can have."""
    answer = winter_promises(farm, None, [measure])
    (way,) = answer.ways
    pairs = list(itertools.pairwise(way.corners))
    assert all(a.amount > b.amount and a.cost < b.cost for a, b in pairs)
    prices = [corner.next_price for corner in way.corners[:-1]]
    assert prices == sorted(prices)
    assert all(corner.passed for corner in way.corners)
    plain = solve_winter(farm, WinterOptions(faces="off", tidy=False))
    assert plain.proof is not None
    assert way.corners[0].cost == pytest.approx(plain.proof.cost, rel=1e-6)
    asked = question(farm)
    total = asked.sum_of(measure)
    alone = asked.at(total, 1e6)
    assert alone is not None
    assert way.corners[-1].amount == pytest.approx(alone.amount, rel=1e-3, abs=1.0)


def test_a_promise_over_the_winter(farm: Farm) -> None:
    """A tonne of meal a head is kept anyway; half of what is bought costs something; none cannot
    be; the amounts of one group alone are counted."""
    head = [group.id for group in farm.groups]
    (way,) = winter_promises(farm, head, [MEAL]).ways
    answer = winter_promises(farm, ["stores"], [], [Promise(MEAL, 1000.0)])
    (kept,) = answer.promised
    assert kept.extra == pytest.approx(0.0, abs=1e-2)
    assert answer.groups == ("stores",)
    assert answer.head == pytest.approx(12.0)
    assert kept.corner is not None
    between = 0.5 * (way.corners[0].amount + way.corners[-1].amount)
    whole = winter_promises(farm, None, [], [Promise(MEAL, between / 28.0)])
    (half,) = whole.promised
    assert half.corner is not None
    assert half.extra is not None
    assert half.extra > 0.0
    assert half.corner.amount <= between * (1.0 + 1e-5)
    if way.corners[-1].amount > 1.0:
        (none,) = winter_promises(farm, None, [], [Promise(MEAL, 0.0)]).promised
        assert none.corner is None


def test_what_has_no_price(tmp_path: Path, farm: Farm) -> None:
    """Whole loads, an unknown group: a reason, a finding."""
    loads = small_farm(
        tmp_path,
        ("price_per_t_fresh = 205", "price_per_t_fresh = 205\nload_t = 5\nwhole_loads = true"),
    )
    answer = winter_promises(read_farm(loads), None, [SOYA])
    assert answer.ways == ()
    assert "whole load" in answer.reason
    with pytest.raises(InputError):
        winter_promises(farm, ["nobody"], [SOYA])
