"""A fed ration against its need, every figure added up by hand from the feeds of the example."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.model.fed import fed_supply
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm

FARM = farm_on(read_farm(Path(__file__).resolve().parents[2] / "examples" / "dairy"))


def fed() -> dict[str, float]:
    """Seven kg of the first store, three of the first bought concentrate, none of the second [kg
    DM].
    """
    store = next(offer for offer in FARM.offers if not offer.bought and offer.feed.is_forage)
    first, second = [offer for offer in FARM.offers if offer.bought and offer.feed.is_concentrate][
        :2
    ]
    return {store.id: 7.0, first.id: 3.0, second.id: 0.0}


def offer_of(name: str) -> Offer:
    """An offer of the farm."""
    return next(offer for offer in FARM.offers if offer.id == name)


def test_sums_of_a_fed_ration() -> None:
    """Dry matter, energy density, cost, fresh weight and level of feeding; a feed of which nothing
    is fed is no part of it.
    """
    amounts = fed()
    (answer,) = fed_supply(FARM, {"high": amounts})
    eaten = {name: kg for name, kg in amounts.items() if kg > 0.0}
    me = sum(
        kg * (offer_of(name).feed.value("me_mj_per_kg_dm") or 0.0) for name, kg in eaten.items()
    )
    assert {amount.offer: amount.kg_dm for amount in answer.amounts} == eaten
    assert answer.dm_kg == pytest.approx(10.0)
    assert answer.me_mj_per_kg_dm == pytest.approx(me / 10.0)
    cost = sum(
        kg * offer_of(name).price_per_t_fresh / offer_of(name).feed.dm_g_per_kg
        for name, kg in eaten.items()
    )
    assert answer.feed_cost == pytest.approx(cost)
    for amount in answer.amounts:
        assert amount.kg_fresh == pytest.approx(
            1000.0 * amount.kg_dm / offer_of(amount.offer).feed.dm_g_per_kg
        )
        assert amount.marginal is None
    assert answer.needs.energy is not None
    assert answer.level_of_feeding == pytest.approx(
        answer.needs.energy.feeding_level(me / 10.0 / 18.8)
    )
    lines = {line.quantity: line for line in answer.supply}
    assert lines["me_mj"].supply == pytest.approx(me)
    assert answer.group == "high"


def test_every_group_that_is_fed_nothing_is_named_at_once() -> None:
    """Two groups without an amount above zero: two findings; a group in order beside them gives no
    answer.
    """
    nothing = dict.fromkeys(fed(), 0.0)
    with pytest.raises(InputError) as trouble:
        fed_supply(FARM, {"high": nothing, "dry": {}, "late": fed()})
    assert [finding.code for finding in trouble.value.findings] == ["IN502", "IN502"]
    assert {finding.where for finding in trouble.value.findings} == {'group "high"', 'group "dry"'}


def test_a_group_that_the_farm_does_not_have_is_refused() -> None:
    """By its name, with the groups there are."""
    with pytest.raises(InputError, match="IN501"):
        fed_supply(FARM, {"camels": fed()})


def test_answers_come_in_the_order_of_the_farm() -> None:
    """Whatever the order in which they are asked for."""
    answers = fed_supply(FARM, {"dry": fed(), "high": fed()})
    order = [group.id for group in FARM.groups if group.id in ("dry", "high")]
    assert [answer.group for answer in answers] == order


def fresh_cows(week: float) -> Farm:
    """The farm with its first group in a week of lactation."""
    cows = FARM.groups[0]
    return replace(FARM, groups=(replace(cows, facts={**cows.facts, "week_of_lactation": week}),))


def test_a_fresh_cow_fed_her_own_ration_is_not_told_that_energy_is_short() -> None:
    """What `ration` counts on from her back, `supply` counts too, to 1 MJ, and says so first."""
    farm = fresh_cows(1.0)
    ration = solve_rations(farm).groups[0]
    assert any("from her back" in text for text in ration.remarks)
    answer = fed_supply(farm, {ration.group: {a.offer: a.kg_dm for a in ration.amounts}})[0]
    assert "from the back is counted towards the need" in answer.remarks[0]
    energy = next(line for line in answer.supply if line.quantity == "me_mj")
    assert energy.target is not None
    assert energy.target - 1e-6 <= energy.supply <= energy.target + 1.0


def test_no_more_is_counted_than_she_may_lose() -> None:
    """Half a ration in week 1: all that is allowed is counted, energy is short all the same, and
    both are said.
    """
    farm = fresh_cows(1.0)
    ration = solve_rations(farm).groups[0]
    answer = fed_supply(farm, {ration.group: {a.offer: 0.5 * a.kg_dm for a in ration.amounts}})[0]
    assert "all that is allowed" in answer.remarks[0]
    energy = next(line for line in answer.supply if line.quantity == "me_mj")
    assert energy.target is not None
    assert energy.supply < energy.target


def test_nothing_is_counted_from_the_back_later_on() -> None:
    """From week 11 on a ration that is short is short."""
    farm = fresh_cows(12.0)
    ration = solve_rations(farm).groups[0]
    answer = fed_supply(farm, {ration.group: {a.offer: 0.9 * a.kg_dm for a in ration.amounts}})[0]
    assert not any("from the back" in text for text in answer.remarks)
    energy = next(line for line in answer.supply if line.quantity == "me_mj")
    assert energy.target is not None
    assert energy.supply < energy.target
