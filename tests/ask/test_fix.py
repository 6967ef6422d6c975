"""The change that puts a fed ration right is fed again and found right; nothing is said of one that
is right already.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from rationlp.ask.fix import explain_fed, fix_fed
from rationlp.farm.farm import Farm
from rationlp.model.fed import fed_supply
from rationlp.model.ration import solve_rations
from rationlp.quantities import dm_from_fresh
from rationlp.read.farm import read_farm
from rationlp.read.fed import read_fed
from rationlp.report.tables.ration import stands_of
from rationlp.report.why import fed_lines

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def wrong(farm: Farm, fed: dict[str, dict[str, float]]) -> list[str]:
    """What stands short or over in a fed ration, minerals aside: they are priced, not kept."""
    minerals = {"Calcium", "Phosphorus", "Magnesium", "Sodium", "Calcium to phosphorus"}
    found = stands_of(fed_supply(farm, fed)[0])
    return [title for title in (*found["short"], *found["over"]) if title not in minerals]


@pytest.mark.parametrize(("name", "group"), [("dairy", "late"), ("beef", "dry_cows")])
def test_the_change_puts_it_right(name: str, group: str) -> None:
    """Two feeds at most move, and afterwards nothing is short or over."""
    farm = read_farm(EXAMPLES / name)
    fed = {group: read_fed(EXAMPLES / name / "fed.csv", farm)[group]}
    fix = fix_fed(farm, fed_supply(farm, fed)[0])
    assert fix is not None
    assert 1 <= len(fix.changes) <= 2
    offers = {offer.id: offer for offer in farm.offers}
    after = dict(fed[group])
    for one in fix.changes:
        assert one.from_kg_fresh == pytest.approx(
            after.get(one.offer, 0.0) * 1000.0 / offers[one.offer].feed.dm_g_per_kg
        )
        after[one.offer] = dm_from_fresh(one.to_kg_fresh, offers[one.offer].feed.dm_g_per_kg)
    assert wrong(farm, {group: {key: kg for key, kg in after.items() if kg > 0.0}}) == []
    cost = sum(kg * offers[key].price_per_kg_dm for key, kg in after.items())
    before = sum(kg * offers[key].price_per_kg_dm for key, kg in fed[group].items())
    assert cost - before == pytest.approx(fix.cost, abs=1e-6)


def test_a_ration_that_is_right_needs_no_change() -> None:
    """The answer of `ration` itself, fed: nothing to put right, and its energy carries what is
    asked.
    """
    farm = read_farm(EXAMPLES / "beef")
    ration = solve_rations(farm, ["bulls"]).groups[0]
    fed = fed_supply(farm, {"bulls": {amount.offer: amount.kg_dm for amount in ration.amounts}})[0]
    why = explain_fed(farm, fed)
    assert why.fix is None
    assert why.carried is not None
    assert why.carried.by_energy is not None
    assert why.carried.by_energy >= why.carried.asked
    assert any("the scarcer" in line for line in fed_lines(why, fed, "GBP"))


def test_where_two_feeds_are_not_enough_it_says_so() -> None:
    """A milking cow on straw alone is beyond a change of two feeds."""
    farm = read_farm(EXAMPLES / "dairy")
    fed = fed_supply(farm, {"high": {"straw": 8.0}})[0]
    fix = fix_fed(farm, fed)
    assert fix is not None
    assert fix.changes == ()
    assert any(
        "No change of two feeds" in line for line in fed_lines(explain_fed(farm, fed), fed, "GBP")
    )
