"""The parlour sheet: what the base carries, kg by the litre, meals; each line meets the cow's own
need and no less would.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from rationlp.farm.farm import Farm
from rationlp.folders import examples_folder
from rationlp.model.ration import solve_rations
from rationlp.needs import group_needs
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.supply import ration_supply
from rationlp.quantities import KG_PER_LITRE
from rationlp.read.farm import read_farm
from rationlp.yard.parlour import Parlour, parlour

FARM = read_farm(examples_folder() / "dairy")
RATIONS = solve_rations(FARM)


def sheet(farm: Farm = FARM) -> Parlour:
    """The sheet of the late-lactation cows."""
    found = parlour(farm, next(group for group in RATIONS.groups if group.group == "late"))
    assert found is not None
    return found


def over_need(litres: float, kg_fresh: float) -> tuple[float, float]:
    """ME [MJ] and MP [g] over the need of a cow at that yield on the base and so much of the
    parlour feed.
    """
    group = next(group for group in FARM.groups if group.id == "late")
    offers = {offer.id: offer.feed for offer in FARM.offers}
    feed = offers[group.parlour_feed or ""]
    parts = [(offers[amount.offer], amount.kg_dm) for amount in sheet().base]
    parts.append((feed, kg_fresh * feed.dm_g_per_kg / 1000.0))
    needs = group_needs(
        replace(group, facts={**group.facts, "milk_kg_per_day": litres * KG_PER_LITRE}),
        FARM.margins,
    )
    assert needs.energy is not None
    q = ration_supply(parts, None).me_mj_per_kg_dm / GE_MJ_PER_KG_DM
    supply = ration_supply(parts, needs.energy.feeding_level(q))
    return supply.me_mj - needs.energy.required_mj(q), (supply.mp_g or 0.0) - (
        needs.mp_required_g or 0.0
    )


def test_only_groups_that_name_a_parlour_feed_have_a_sheet() -> None:
    """The other groups of the example have none."""
    assert [group.group for group in RATIONS.groups if parlour(FARM, group) is not None] == ["late"]


def test_the_base_carries_what_it_says() -> None:
    """At its litres the scarcer of energy and protein is just met without the parlour feed, half a
    litre more is not.
    """
    one = sheet()
    assert min(over_need(one.base_litres, 0.0)) == pytest.approx(0.0, abs=1e-3)
    assert min(over_need(one.base_litres + 0.5, 0.0)) < 0.0
    assert all(amount.offer != "dairy_nuts" for amount in one.base)


def test_every_line_is_enough_and_no_more() -> None:
    """With its kg both needs are met, with 1 % less one is not; the feed rises with the milk."""
    lines = [line for line in sheet().lines if line.kg_fresh > 0.0]
    assert len(lines) >= 4
    for line in lines:
        assert min(over_need(line.litres, line.kg_fresh)) >= -1e-6
        assert min(over_need(line.litres, 0.99 * line.kg_fresh)) < 0.0
        assert line.kg_a_milking == pytest.approx(line.kg_fresh / 2)
        assert line.limited_by in ("energy", "protein")
    amounts = [line.kg_fresh for line in lines]
    assert amounts == sorted(amounts)


def test_kg_a_litre_is_of_the_order_that_the_trade_knows() -> None:
    """About 0.35 to 0.55 kg of an 18 % compound a litre; common practice, no source (0.4 to 0.45
    with a good base).
    """
    assert 0.35 <= sheet().kg_per_litre <= 0.55


def test_meals_end_the_sheet() -> None:
    """Two milkings of 4 kg: lines past 8 kg are marked, and the highest yield within is said."""
    one = sheet()
    assert one.meal_most_kg == 4.0
    assert all(line.within_meal == (line.kg_fresh <= 8.0) for line in one.lines)
    assert one.most_litres == max(line.litres for line in one.lines if line.within_meal)
    assert sum(not line.within_meal for line in one.lines) <= 2
