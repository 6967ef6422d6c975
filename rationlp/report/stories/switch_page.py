"""The switch between two forages on a page: the curve, a slider along it, and its table."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from rationlp.report.glance import Slider, Step
from rationlp.report.stories.asked import switch_headline, switch_words
from rationlp.report.story import Part, Words, on_page
from rationlp.report.tables.switch import switch_table, turn_words
from rationlp.report.tables.table import shown
from rationlp.report.winter_charts import switch_chart

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
        by_offer = eaten.setdefault(ration.group, {})
        for amount in ration.amounts:
            if amount.offer in forages:
                kg = by_offer.get(amount.offer, 0.0)
                by_offer[amount.offer] = kg + amount.kg_dm * days
    pairs = []
    for group, kg_dm in eaten.items():
        favoured = sorted(kg_dm, key=lambda offer: (-kg_dm[offer], offer))[:2]
        if len(favoured) == 2:
            to, from_ = favoured
            pairs.append((kg_dm[to] + kg_dm[from_], from_, to, group))
    if not pairs:
        return None
    _, from_, to, group = max(pairs, key=lambda pair: pair[0])
    return from_, to, group


def switch_parts(switch: Switch) -> Iterator[Part]:
    """Every group of a switch that has a curve."""
    for group in switch.groups:
        if len(group.points) > 1:
            headline = switch_headline(switch, group)
            yield from on_page(
                Words((headline,), title=group.name),
                switch_slider(switch, group),
                switch_table(switch, group),
                Words(tuple(switch_words(switch, group)), dashes=True),
            )


def switch_slider(switch: Switch, group: GroupSwitch) -> Slider:
    """The curve of one group and what a slider shows along it; it begins where the switch is
    cheapest."""
    costs = [point.cost for point in group.points]
    says = (
        f"From {_money(switch, min(costs))} to {_money(switch, max(costs))} a head a day over"
        f" {len(costs)} points; {switch_headline(switch, group)}"
    )
    penalties = max(point.cost - point.feed_cost for point in group.points) > _DIFFER
    return Slider(
        switch_chart(switch, group, says),
        f"Share of {switch.second.name} in the two forages",
        tuple(_step(switch, group, point, penalties) for point in group.points),
        _cheapest(group),
    )


def _cheapest(group: GroupSwitch) -> int:
    """Number of the point nearest to the cheapest share; the first where there is none."""
    if group.best is None:
        return 0
    share = group.best.share
    return min(range(len(group.points)), key=lambda n: abs(group.points[n].share - share))


def _money(switch: Switch, money: float) -> str:
    return f"{switch.farm.currency} {shown(money, 3)}"


def _step(switch: Switch, group: GroupSwitch, point: SwitchPoint, penalties: bool) -> Step:
    """One point as the slider shows it."""
    names = {offer.id: offer.name for offer in switch.farm.offers}
    dearer = point.feed_cost - group.points[0].feed_cost
    sign = "+"
    if dearer < 0.0:
        sign = "−"
    rows = [("Feed cost a head a day", _money(switch, point.feed_cost))]
    if penalties:
        rows.append(("Cost compared, with excess and shortage priced", _money(switch, point.cost)))
    rows.append(("More than at the first share", f"{sign}{shown(abs(dearer), 3)}"))
    rows.append(("Bought feed", _money(switch, point.bought_cost)))
    for offer, kg in point.kg_dm.items():
        if kg >= _LEAST_KG_DM:
            rows.append((names.get(offer, offer), f"{shown(kg, 2)} kg DM"))
    share = 100.0 * point.share
    return Step(share, point.cost, f"{shown(share, 1)} %", tuple(rows), turn_words(point))
