"""What must hold for any stated group, whatever the numbers: linear-programming duality and plain
bookkeeping.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_stated_farms import QUANTITIES, stated_farms, with_limits, with_prices

from rationlp.farm.farm import Farm
from rationlp.farm.group import QuantityLimit
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.fed import fed_supply
from rationlp.model.ration import make_blocks, solve_rations
from rationlp.result import GroupRation

SOME = settings(max_examples=20)
CLOSE = 1e-7


def solved(farm: Farm) -> GroupRation:
    """The one group's answer; every farm of these tests has one, proved."""
    (answer,) = solve_rations(farm).groups
    assert answer.status == "proven"
    assert answer.proof is not None
    assert answer.proof.passed
    return answer


def cost(farm: Farm) -> float:
    """Least cost a head a day."""
    answer = solved(farm)
    assert answer.proof is not None
    return answer.proof.cost


def kg(answer: GroupRation) -> dict[str, float]:
    """kg DM by offer."""
    return {amount.offer: amount.kg_dm for amount in answer.amounts}


def tightened(farm: Farm, factor: float) -> Farm:
    """The farm with its protein floor multiplied."""
    limits = farm.groups[0].quantity_limits
    return with_limits(
        farm,
        tuple(
            (
                replace(limit, at_least=factor * limit.at_least)
                if limit.quantity == "protein" and limit.at_least is not None
                else limit
            )
            for limit in limits
        ),
    )


@SOME
@given(stated_farms())
def test_doubled_prices_double_the_cost(farm: Farm) -> None:
    """All prices times two: the same ration at twice the cost, and every marginal cost doubled."""
    before = solved(farm)
    after = solved(
        with_prices(farm, {offer.id: 2.0 * offer.price_per_t_fresh for offer in farm.offers})
    )
    assert after.feed_cost == pytest.approx(2.0 * (before.feed_cost or 0.0), rel=CLOSE)
    assert kg(after) == pytest.approx(kg(before), rel=1e-4, abs=1e-4)
    prices = [(line.price or 0.0) * 2.0 for line in before.supply]
    assert [line.price or 0.0 for line in after.supply] == pytest.approx(prices, rel=1e-6, abs=1e-9)


@SOME
@given(stated_farms())
def test_a_row_that_does_not_bind_changes_nothing(farm: Farm) -> None:
    """A ceiling far above what is eaten leaves cost and ration alone."""
    idle = QuantityLimit("fibre", "head_day", at_most=1e6)
    before, after = solved(farm), solved(with_limits(farm, (*farm.groups[0].quantity_limits, idle)))
    assert after.feed_cost == pytest.approx(before.feed_cost, rel=CLOSE)
    assert kg(after) == pytest.approx(kg(before), rel=1e-4, abs=1e-4)


@SOME
@given(stated_farms())
def test_the_same_feed_twice_changes_no_cost(farm: Farm) -> None:
    """A second offer of a feed without a ceiling, at the same price, may share its place but saves
    nothing.
    """
    twin = replace(farm.offers[-1], id="twin", name="Twin")
    assert cost(replace(farm, offers=(*farm.offers, twin))) == pytest.approx(cost(farm), rel=CLOSE)


@SOME
@given(stated_farms(), st.integers(0, 60), st.integers(1, 400))
def test_one_more_feed_never_costs_more(farm: Farm, content: int, price: int) -> None:
    """Whatever it holds, an offer can be left out."""
    first = farm.offers[0]
    figures = {**first.feed.figures, **{name: replace(first.feed.figures[name],
    value=float(content))
                                        for name in QUANTITIES}}  # fmt: skip
    more = replace(
        first,
        id="more",
        feed=replace(first.feed, key="more", figures=figures),
        price_per_t_fresh=float(price),
    )
    assert cost(replace(farm, offers=(*farm.offers, more))) <= cost(farm) * (1.0 + CLOSE)


@SOME
@given(stated_farms(), st.floats(1.001, 1.1))
def test_a_tighter_floor_costs_at_least_its_price(farm: Farm, factor: float) -> None:
    """Cost is convex in a need: a higher floor costs at least the marginal cost times the change,
    or cannot be met.
    """
    before = solved(farm)
    line = next(line for line in before.supply if line.quantity == "protein")
    assert line.low is not None
    assert line.price is not None
    assert line.price >= -1e-12
    (after,) = solve_rations(tightened(farm, factor)).groups
    if after.status == "none_exists":
        assert {short.need for short in after.shortfalls} & {"energy", "protein"}
    else:
        rise = (after.feed_cost or 0.0) - (before.feed_cost or 0.0)
        assert rise >= line.price * (factor - 1.0) * line.low - CLOSE * (before.feed_cost or 0.0)


@SOME
@given(stated_farms(), st.floats(1.05, 3.0))
def test_a_dearer_feed_is_not_eaten_more(farm: Farm, factor: float) -> None:
    """When one price rises, the use of that feed cannot rise."""
    before = solved(farm)
    dearest = max(before.amounts, key=lambda amount: amount.cost)
    price = {
        offer.id: factor * offer.price_per_t_fresh
        for offer in farm.offers
        if offer.id == dearest.offer
    }
    after = kg(solved(with_prices(farm, price)))
    assert after.get(dearest.offer, 0.0) <= dearest.kg_dm * (1.0 + 1e-4) + 1e-4


@SOME
@given(stated_farms(), st.floats(0.3, 3.0))
def test_cost_is_concave_in_prices(farm: Farm, factor: float) -> None:
    """At the mean of two price lists the least cost is at least the mean of the two least costs."""
    first = {offer.id: offer.price_per_t_fresh for offer in farm.offers}
    second = {**first, "f0": factor * first["f0"], "f1": first["f1"] / factor}
    middle = {name: 0.5 * (first[name] + second[name]) for name in first}
    mean = 0.5 * (cost(farm) + cost(with_prices(farm, second)))
    assert cost(with_prices(farm, middle)) >= mean * (1.0 - CLOSE)


@SOME
@given(stated_farms())
def test_a_feed_left_out_saves_nothing_until_its_price_falls_by_its_reduced_cost(
    farm: Farm,
) -> None:
    """For every feed that is not eaten, a price just above its worth leaves the least cost where it
    was.
    """
    (block,) = make_blocks(farm)
    optimum = solve_block(block)
    assert isinstance(optimum, Optimum)
    for offer in farm.offers:
        reduced = optimum.reduced_costs[offer.id]
        if optimum.values[offer.id] <= 1e-6 and 0.0 < reduced < offer.price_per_kg_dm:
            worth = (offer.price_per_kg_dm - 0.999 * reduced) * offer.feed.dm_g_per_kg
            assert cost(with_prices(farm, {offer.id: worth})) == pytest.approx(
                optimum.objective, rel=CLOSE
            )


@SOME
@given(stated_farms(), st.integers(150, 1000))
def test_water_changes_the_weight_and_not_the_cost(farm: Farm, dm: int) -> None:
    """A feed with another dry matter at the same price per kg DM: same cost, same kg DM."""
    last = farm.offers[-1]
    figures = {
        **last.feed.figures,
        "dm_g_per_kg": replace(last.feed.figures["dm_g_per_kg"], value=float(dm)),
    }
    wet = replace(
        last, feed=replace(last.feed, figures=figures), price_per_t_fresh=last.price_per_kg_dm * dm
    )
    assert cost(replace(farm, offers=(*farm.offers[:-1], wet))) == pytest.approx(
        cost(farm), rel=CLOSE
    )


@SOME
@given(stated_farms(), st.integers(2, 500))
def test_head_do_not_change_a_heads_ration(farm: Farm, head: int) -> None:
    """Where no stock is shared, a group of any size has the ration of one animal."""
    group = replace(farm.groups[0], head=head)
    after = solved(replace(farm, groups=(group,)))
    assert after.head == head
    assert after.amounts == solved(farm).amounts


@SOME
@given(stated_farms())
def test_the_order_of_the_feeds_changes_no_cost(farm: Farm) -> None:
    """Offers in reverse cost the same."""
    assert cost(replace(farm, offers=farm.offers[::-1])) == pytest.approx(cost(farm), rel=CLOSE)


@SOME
@given(stated_farms())
def test_the_ration_fed_supplies_what_was_promised(farm: Farm) -> None:
    """The optimiser's own ration, entered as a ration already fed, gives the same lines at the same
    cost.
    """
    answer = solved(farm)
    (fed,) = fed_supply(farm, {"animals": kg(answer)})
    assert fed.feed_cost == pytest.approx(answer.feed_cost)
    assert [line.quantity for line in fed.supply] == [line.quantity for line in answer.supply]
    promised = [line.supply for line in answer.supply]
    assert [line.supply for line in fed.supply] == pytest.approx(promised, rel=1e-9)


amount_lists = st.lists(st.integers(1, 200), min_size=5, max_size=5)


@SOME
@given(stated_farms(), amount_lists, amount_lists)
def test_supply_adds_up_and_shares_are_worked_out_afresh(
    farm: Farm, one: list[int], other: list[int]
) -> None:
    """Amounts of two rations add up in their sum; a share lies between theirs, weighted by dry
    matter.
    """
    rations = []
    for amounts in (one, other, [a + b for a, b in zip(one, other, strict=True)]):
        fed = {offer.id: 0.1 * kg for offer, kg in zip(farm.offers, amounts, strict=False)}
        (answer,) = fed_supply(farm, {"animals": fed})
        rations.append(
            ({(line.quantity, line.unit): line.supply for line in answer.supply}, answer.dm_kg)
        )
    (first, first_dm), (second, second_dm), (both, both_dm) = rations
    assert both_dm == pytest.approx(first_dm + second_dm)
    for key, value in both.items():
        if "/" in key[1]:
            weighted = (first[key] * first_dm + second[key] * second_dm) / both_dm
            assert value == pytest.approx(weighted)
        else:
            assert value == pytest.approx(first[key] + second[key])
