"""The switch between two forages on the page: the curve, its table, and the figures that a slider
shows as it moves along.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING, Any

from rationlp.report.asked import switch_headline, switch_words
from rationlp.report.charts import Alt, CurvePoint, curve_svg
from rationlp.report.page_parts import SwitchPart
from rationlp.report.tables.switch import switch_table, turn_words
from rationlp.report.tables.table import shown

if TYPE_CHECKING:
    from rationlp.ask.switch import GroupSwitch, Switch, SwitchPoint
    from rationlp.planned import WinterPlan

_LEAST_KG_DM = 0.005
_DIFFER = 5e-5


def forages_to_switch(plan: WinterPlan, groups: Collection[str]) -> tuple[str, str, str] | None:
    """The two forages of the farm that one of these groups eats most of over the winter, and the
    group; None where none eats two.

    Straw is left out. The forage that is eaten more is switched to.
    """
    forages = {offer.id for offer in plan.farm.offers if offer.feed.kind == "forage"}
    eaten: dict[str, dict[str, float]] = {}
    for ration in plan.rations:
        if ration.group not in groups:
            continue
        days = ration.head * plan.periods[ration.period].days
        mine = eaten.setdefault(ration.group, {})
        for one in ration.amounts:
            if one.offer in forages:
                mine[one.offer] = mine.get(one.offer, 0.0) + one.kg_dm * days
    pairs = []
    for group, kg in eaten.items():
        most = sorted(kg, key=lambda offer: (-kg[offer], offer))[:2]
        if len(most) == 2:
            pairs.append((kg[most[0]] + kg[most[1]], most[1], most[0], group))
    if not pairs:
        return None
    _, first, second, group = max(pairs, key=lambda pair: pair[0])
    return first, second, group


def switch_parts(switch: Switch) -> Iterator[SwitchPart]:
    """Every group of a switch that has a curve."""
    for number, group in enumerate(switch.groups):
        if len(group.points) > 1:
            yield _part(switch, group, number)


def _part(switch: Switch, group: GroupSwitch, number: int) -> SwitchPart:
    best = group.best
    at = (
        0
        if best is None
        else min(range(len(group.points)), key=lambda n: abs(group.points[n].share - best.share))
    )
    least, most = (pick(point.cost for point in group.points) for pick in (min, max))
    said = (
        f"From {_money(switch, least)} to {_money(switch, most)} a head a day over"
        f" {len(group.points)} points; {switch_headline(switch, group)}"
    )
    title = f"{group.name}: cost by the share of {switch.second.name}"
    points = tuple(
        CurvePoint(100.0 * one.share, one.cost, one.lower_bound, one.turn) for one in group.points
    )
    labels = ("share of the two forages, %", f"{switch.farm.currency} a head a day")
    chart, places = curve_svg(points, labels, Alt(f"switch-{number}", title, said))
    put = max(one.cost - one.feed_cost for one in group.points) > _DIFFER
    return SwitchPart(
        name=group.name,
        headline=switch_headline(switch, group),
        words=tuple(switch_words(switch, group)),
        chart=chart,
        table=switch_table(switch, group),
        label=f"Share of {switch.second.name} in the two forages",
        points=tuple(
            _shown_point(switch, group, one, place, put)
            for one, place in zip(group.points, places, strict=True)
        ),
        at=at,
    )


def _money(switch: Switch, value: float) -> str:
    return f"{switch.farm.currency} {shown(value, 3)}"


def _shown_point(
    switch: Switch, group: GroupSwitch, point: SwitchPoint, place: tuple[float, float], put: bool
) -> dict[str, Any]:
    """One point as the slider shows it: where it stands in the chart, and its figures in words."""
    names = {offer.id: offer.name for offer in switch.farm.offers}
    more = point.feed_cost - group.points[0].feed_cost
    rows = [["Feed cost a head a day", _money(switch, point.feed_cost)]]
    rows += (
        [["Cost compared, with excess and shortage priced", _money(switch, point.cost)]]
        if put
        else []
    )
    rows += [
        ["More than at the first share", f"{'+' if more >= 0.0 else '−'}{shown(abs(more), 3)}"],
        ["Bought feed", _money(switch, point.bought_cost)],
    ]
    feeds = [
        [names.get(name, name), f"{shown(kg, 2)} kg DM"]
        for name, kg in point.kg_dm.items()
        if kg >= _LEAST_KG_DM
    ]
    return {
        "x": round(place[0], 2),
        "y": round(place[1], 2),
        "share": f"{shown(100.0 * point.share, 1)} %",
        "rows": [*rows, *feeds],
        "turns": turn_words(point),
    }
