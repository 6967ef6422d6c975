"""The money of a plan, by hand from the round figures of the plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from winter_plans import STORES, made_plan

from rationlp.after.money import Money, buying_list, feed_of, money
from rationlp.farm.group import Grazing
from rationlp.planned import Purchase
from rationlp.result import Amount


def by_group() -> dict[str, Money]:
    """The money of the hand-made plan by group."""
    return {one.group: one for one in money(made_plan())}


def test_cost_of_each_group_and_of_all() -> None:
    """Cows: 1200 head-days, 1 a head a day of silage and 0.6, then 1.2 of meal; stores 450
    head-days at 0.5.
    """
    found = by_group()
    assert found["cows"].head_days == 1200.0
    assert found["cows"].feed_cost == pytest.approx(600 * 1.6 + 600 * 2.2)
    assert found["cows"].bought_cost == pytest.approx(600 * 0.6 + 600 * 1.2)
    assert (found["stores"].head_days, found["stores"].feed_cost) == (450.0, pytest.approx(225.0))
    assert found[""].feed_cost == pytest.approx(2280.0 + 225.0)
    assert found["cows"].per_head_day == pytest.approx(1.9)


def test_the_parts_add_up_to_the_plan() -> None:
    """Bought and own feed of all groups are those of the plan."""
    total, plan = by_group()[""], made_plan()
    assert total.bought_cost == pytest.approx(plan.bought_cost)
    assert total.feed_cost - total.bought_cost == pytest.approx(plan.own_cost)


def test_milk_and_its_margins() -> None:
    """20.6 kg are 20 litres at 1.03 kg (c): 24 000 l at 0.40; none for the stores, and the farm's
    litre is the cows' own.
    """
    found = by_group()
    assert found["cows"].milk_litres == pytest.approx(24_000.0)
    assert found["cows"].per_litre == pytest.approx(2280.0 / 24_000.0)
    assert found["cows"].margin_over_bought == pytest.approx(9600.0 - 1080.0)
    assert found["cows"].margin_over_feed == pytest.approx(9600.0 - 2280.0)
    assert (found["stores"].per_litre, found["stores"].margin_over_feed) == (None, None)
    assert found[""].per_litre == pytest.approx(found["cows"].per_litre)


def test_no_margin_without_a_price_of_milk() -> None:
    """The cost of a litre is there all the same."""
    plan = made_plan()
    cows = money(replace(plan, farm=replace(plan.farm, milk_price_per_litre=None)))[0]
    assert (cows.milk_income, cows.margin_over_bought) == (None, None)
    assert cows.per_litre == pytest.approx(0.095)


def test_gain_and_what_a_kg_of_it_costs() -> None:
    """450 head-days at 0.8 kg: 360 kg for 225."""
    stores = by_group()["stores"]
    assert stores.gain_kg == pytest.approx(360.0)
    assert stores.per_kg_gain == pytest.approx(0.625)


def test_home_grown_shares() -> None:
    """Cows: 18 of 22.8 kg DM, and 180 of 240 MJ; stores all."""
    found = by_group()
    assert found["cows"].home_share_of_dm == pytest.approx(18.0 / 22.8)
    assert found["cows"].home_share_of_me == pytest.approx(180.0 / 240.0)
    assert found["stores"].home_share_of_me == 1.0


def test_grass_counts_as_home_grown() -> None:
    """What is grazed is no offer of the farm, and its ME is that of its own feed."""
    plan = made_plan()
    silage = plan.farm.offers[0].feed
    grass = Grazing(date(2026, 11, 10), date(2026, 12, 10), 2.0, silage)
    group = replace(STORES, grazing=(grass,))
    ration = replace(
        plan.rations[2], amounts=(Amount("grazed_grass", "Grass", 2.0, 8.0, 0.0, None),)
    )
    changed = replace(plan, farm=replace(plan.farm, groups=(group,)), rations=(ration,))
    (stores,) = money(changed)
    assert (stores.home_share_of_dm, stores.home_share_of_me) == (1.0, 1.0)
    assert feed_of(changed, group, ration, "grazed_grass") is silage
    assert feed_of(changed, STORES, ration, "grazed_grass") is None


def test_the_buying_list_by_month() -> None:
    """1.2 t in November and 2.4 t in December, at 300 a tonne, in loads of 2 t: the last one in
    part.
    """
    months = [(one.month, one.t_fresh, one.loads, one.cost) for one in buying_list(made_plan())]
    november, december = pytest.approx(360.0), pytest.approx(720.0)
    assert months == [("2026-11", 1.2, 1.0, november), ("2026-12", 2.4, 1.0, december)]


def test_whole_loads_are_bought_whole() -> None:
    """Two loads in November, one in December: 4 t and 2 t, whatever is fed; nothing where no load
    comes.
    """
    plan = made_plan()
    loads = replace(plan, purchases=(Purchase("meal", "Meal", (3.4, 1.8), 1800.0, (2, 1)),))
    assert [(one.t_fresh, one.loads, one.cost) for one in buying_list(loads)] == [
        (4.0, 2.0, 1200.0),
        (2.0, 1.0, 600.0),
    ]
    early = replace(plan, purchases=(Purchase("meal", "Meal", (3.4, 0.5), 1200.0, (2, 0)),))
    assert [one.month for one in buying_list(early)] == ["2026-11"]
