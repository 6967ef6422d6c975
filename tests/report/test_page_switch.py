"""The switch on the page: which forages are chosen, and the figures that the slider shows."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache

import pytest
from page_plans import plan_of, winter_page

from rationlp.ask.switch import Switch, switch_by_share
from rationlp.needs.calendar import farm_on
from rationlp.planned import WinterPlan
from rationlp.report.glance import Slider
from rationlp.report.page import slider_steps
from rationlp.report.stories.switch_page import forages_to_switch, switch_slider

GROUP = "finishers"


@cache
def switched() -> Switch:
    """The switch of one group of the dairy farm."""
    return switch_by_share(farm_on(plan_of("dairy").farm), ("first_cut", "maize"), [GROUP])


def eaten(plan: WinterPlan, group: str, offer: str) -> float:
    """t DM of a feed that a group eats over the winter, added up by hand."""
    return sum(
        amount.kg_dm * ration.head * plan.periods[ration.period].days / 1000.0
        for ration in plan.rations
        for amount in ration.amounts
        if (ration.group, amount.offer) == (group, offer)
    )


def test_the_forages_of_the_switch_are_those_fed_most() -> None:
    """No group eats more of two other forages than the one chosen eats of these two."""
    plan = plan_of("dairy")
    found = forages_to_switch(plan, {ration.group for ration in plan.rations})
    assert found is not None
    first, second, group = found
    forages = [offer.id for offer in plan.farm.offers if offer.feed.kind == "forage"]
    chosen = eaten(plan, group, first) + eaten(plan, group, second)
    assert eaten(plan, group, second) >= eaten(plan, group, first) > 0.0
    for other in {ration.group for ration in plan.rations}:
        most = sorted((eaten(plan, other, offer) for offer in forages), reverse=True)[:2]
        assert sum(most) <= chosen + 1e-9 or min(most) <= 0.0


def test_a_farm_with_one_forage_has_no_switch() -> None:
    """Nothing to switch between, so nothing is shown."""
    plan = plan_of("few")
    one = replace(
        plan,
        rations=tuple(
            replace(
                ration,
                amounts=tuple(a for a in ration.amounts if a.offer in ("wide_clamp", "straw")),
            )
            for ration in plan.rations
        ),
    )
    assert forages_to_switch(one, {"cows"}) is None
    assert forages_to_switch(plan, ()) is None
    assert "<h2>Switch of forage</h2>" not in winter_page(one)
    assert "<h2>Switch of forage</h2>" in winter_page(one, switched())


def slider() -> Slider:
    """The slider of the one group."""
    [group] = switched().groups
    return switch_slider(switched(), group)


def test_the_slider_shows_the_figures_of_its_points() -> None:
    """Share, feed cost and every feed, point by point."""
    [group] = switched().groups
    steps = slider().steps
    assert len(steps) == len(group.points)
    for step, point in zip(steps, group.points, strict=True):
        assert step.words == f"{100.0 * point.share:.1f} %"
        rows = dict(step.rows)
        assert float(rows["Feed cost a head a day"].split()[1]) == pytest.approx(
            point.feed_cost, abs=5.1e-4
        )
        maize = float(rows["Maize clamp"].split()[0]) if "Maize clamp" in rows else 0.0
        assert maize == pytest.approx(point.kg_dm.get("maize", 0.0), abs=5.1e-3)


def test_the_slider_begins_at_the_cheapest_share() -> None:
    """At the point nearest to it."""
    [group] = switched().groups
    assert group.best is not None
    assert group.points[slider().begins].cost == pytest.approx(
        min(point.cost for point in group.points), rel=1e-3
    )


def test_the_data_of_the_slider_can_be_read_back() -> None:
    """What the script reads is the list of steps."""
    data = re.search(
        r'<script type="application/json">(.*?)</script>',
        winter_page(plan_of("dairy"), switched()),
        re.S,
    )
    assert data is not None
    read = json.loads(data.group(1))
    steps = list(slider_steps(slider()))
    assert [(one["x"], one["y"], one["words"]) for one in read] == [
        (step["x"], step["y"], step["words"]) for step in steps
    ]
