"""Tables of an answer: what to feed, supply against need, the groups side by side."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from rationlp.needs.objects import DietLimit, GroupNeeds
from rationlp.planned import PlanRation
from rationlp.quantities import Quantity, quantities
from rationlp.report.tables.table import (
    Column,
    Table,
    decimals_of,
    quantity_column,
    shown,
    small_decimals,
    table_of,
)
from rationlp.result import Amount, FedSupply, GroupRation, Rations, SupplyLine

STATUS_WORDS = {
    "proven": "proven",
    "open": "adequate, not proven cheapest",
    "planned": "from the winter's plan",
    "none_exists": "no ration exists",
    "none_found": "no ration found",
}
SHORT, OVER, AT_LIMIT, UNKNOWN = "short", "over", "at limit", "not known"
BELOW_ADVICE, ABOVE_ADVICE = "below advice", "above advice"
LEAST_SHOWN_KG = 0.0005
"""Below this a feed would be printed as 0.000 [kg fresh a head a day]."""

_GROUP = (Column("group", "Group"), Column("group_name", "Name"))
GROUP_OF = (
    Column("group", "Group", of=lambda pair: pair[0].group),
    Column("group_name", "Name", of=lambda pair: pair[0].name),
)
"""Whose it is, where a row is made of a group and a part of its answer."""


def _feed_columns(currency: str, total_dm: float) -> tuple[Column, ...]:
    return (
        Column("feed", "Feed", of="name"),
        Column("kg_fresh_per_head_day", "Fresh", "kg", varies=True, of="kg_fresh"),
        Column("kg_dm_per_head_day", "Dry matter", "kg", varies=True, of="kg_dm"),
        Column("share_of_dm_percent", "Share of DM", "%", 1, of=lambda a: _share(a, total_dm)),
        Column("cost_per_head_day", "Cost", currency, 3, of="cost"),
    )


def weighable(group: GroupRation | FedSupply) -> tuple[Amount, ...]:
    """The feeds of a ration that would not be printed as 0.000 kg; JSON and CSV keep all."""
    return tuple(amount for amount in group.amounts if amount.kg_fresh >= LEAST_SHOWN_KG)


def _share(amount: Amount, total_dm: float) -> float | None:
    """The share of an amount of all dry matter [%]."""
    if not total_dm:
        return None
    return 100.0 * amount.kg_dm / total_dm


def ration_table(group: GroupRation | FedSupply, currency: str) -> Table:
    """What to feed one head a day: kg fresh, kg DM, share of DM [%], cost [currency], and the total
    of each.

    The total counts every feed, also one too small to be shown.
    """
    fresh = sum(amount.kg_fresh for amount in group.amounts)
    dm = sum(amount.kg_dm for amount in group.amounts)
    cost = sum(amount.cost for amount in group.amounts)
    total = Amount("", "Total", dm, fresh, cost, None)
    base = quantities()["fresh_kg"].decimals

    def places(amount: Amount) -> int:
        if amount is total:
            return 2
        return max(2, small_decimals(amount.kg_fresh, base))

    title = f"{group.name}: what to feed, a head a day"
    if isinstance(group, FedSupply):
        title = f"{group.name}: what is fed, a head a day"
    columns = _feed_columns(currency, dm)
    return table_of("ration", title, (*weighable(group), total), columns, (), places)


_SUPPLY = (
    Column("quantity", "Quantity", of=lambda pair: pair[1].title),
    Column("unit", "Unit", of=lambda pair: pair[1].unit),
    Column("supply", "Supplied", varies=True, of=lambda pair: pair[1].supply),
    Column("need", "Need", varies=True, of=lambda pair: pair[1].need),
    Column("need_with_margin", "Target", varies=True, of=lambda pair: pair[1].target),
    Column("least", "Least", varies=True, of=lambda pair: pair[1].low),
    Column("most", "Most", varies=True, of=lambda pair: pair[1].high),
    Column("stands", "Status", of=lambda pair: standing_in(pair[1], pair[0].needs)),
    Column("whose", "Source of rule", of=lambda pair: pair[1].whose),
)
"""Columns of a group and a line of its supply."""
MAIN_SUPPLIES = ("me_mj", "net_energy_mj", "mp_g")
_TOLERANCE, _HAIR = 0.002, 1e-6
"""A ration is printed to three figures: fed as printed, it is not short of what it was made to
hold [share of the need]. Less than the second is no difference."""


def standing(line: SupplyLine, limits: Iterable[DietLimit] = ()) -> str:
    """In words how a supply stands to its needs and limits; empty when it is inside.

    `short` and `over` are said of needs and limits that a ration must keep; `below advice` and
    `above advice` of limits that are only reported (`limits`, the class's diet limits, says which
    those are); `at limit` of a ration that stands at a need or limit; `not known` of a limit that
    holds only if the feeds without a figure have little of it.
    """
    limits = tuple(limits)
    low, high = _bounds(line)
    must_low, must_high = kept_bounds(line, limits)
    if any(_below(line.supply, bound) for bound in must_low):
        return SHORT
    if any(_below(-line.supply, -bound) for bound in must_high):
        return OVER
    if any(_below(line.supply, bound) for bound in low):
        return BELOW_ADVICE
    if any(_below(-line.supply, -bound) for bound in high):
        return ABOVE_ADVICE
    if line.unknown and must_high:
        return UNKNOWN
    if line.at_limit:
        return AT_LIMIT
    return ""


def _bounds(line: SupplyLine) -> tuple[list[float], list[float]]:
    """Every least and every most of a quantity, margin included."""
    low = [bound for bound in (line.target, line.low) if bound is not None]
    high = [bound for bound in (line.high,) if bound is not None]
    return low, high


def standing_in(line: SupplyLine, needs: GroupNeeds) -> str:
    """How a supply stands to the needs of a group: as `standing`, but protein that is short for
    wool alone, or for the last of milk or gain, is below advice and not short.
    """
    word = standing(line, needs.limits)
    priced = needs.wool_wanted_g + needs.priced_wanted_g
    if word == SHORT and line.quantity == "mp_g" and priced > 0.0:
        must = needs.mp_wanted_g - priced
        if _below(line.supply, must):
            return SHORT
        return BELOW_ADVICE
    return word


def kept_bounds(
    line: SupplyLine, limits: Iterable[DietLimit] = ()
) -> tuple[list[float], list[float]]:
    """The least and the most of a quantity that a ration must keep, not those only reported."""
    bounds = [limit for limit in limits if limit.quantity == line.quantity]
    reported = [limit for limit in bounds if limit.kind == "reported"]
    binding = [limit for limit in bounds if limit.kind != "reported"]
    low, high = _bounds(line)
    must_low = [bound for bound in low if bound not in [limit.at_least for limit in reported]]
    must_high = [bound for bound in high if bound not in [limit.at_most for limit in reported]]
    must_low += [limit.at_least for limit in binding if limit.at_least is not None]
    must_high += [limit.at_most for limit in binding if limit.at_most is not None]
    return must_low, must_high


def _below(supply: float, bound: float) -> bool:
    return supply < bound - max(_TOLERANCE * abs(bound), _HAIR)


def stands_of(group: GroupRation | FedSupply) -> dict[str, list[str]]:
    """Quantities outside their needs and limits, by how they stand, in the order of the supply
    table.

    Each by its title; with its unit where two lines share a title (ME a day, ME per kg DM).
    """
    titles = [line.title for line in group.supply]
    by_word: dict[str, list[str]] = {
        SHORT: [],
        OVER: [],
        UNKNOWN: [],
        BELOW_ADVICE: [],
        ABOVE_ADVICE: [],
    }
    for line in group.supply:
        word = standing_in(line, group.needs)
        if word in by_word:
            title = line.title
            if titles.count(title) > 1:
                title = f"{title} ({line.unit})"
            by_word[word].append(title)
    return by_word


def _supply_lines(
    groups: Iterable[GroupRation | FedSupply],
) -> Iterator[tuple[GroupRation | FedSupply, SupplyLine]]:
    return ((group, line) for group in groups for line in group.supply)


def _supply_places(own: Mapping[str, Quantity] | None) -> Callable[[Any], int]:
    return lambda pair: decimals_of(pair[1].quantity, own)


def supply_table(
    group: GroupRation | FedSupply, own: Mapping[str, Quantity] | None = None
) -> Table:
    """Supply against need, a head a day (or per kg DM, as the unit says): need, need with margin,
    least and most.

    own: quantities that the farm declared itself, for their decimals.
    """
    title = f"{group.name}: supply against need, a head a day"
    return table_of("supply", title, _supply_lines([group]), _SUPPLY, (), _supply_places(own))


def supplies_table(
    groups: Iterable[GroupRation | FedSupply], own: Mapping[str, Quantity] | None = None
) -> Table:
    """Supply against need of several groups in one long table, a line a group and quantity."""
    columns = (*GROUP_OF, Column("quantity_key", "Key", of=lambda pair: pair[1].quantity), *_SUPPLY)
    title = "Supply against need, a head a day"
    return table_of("supply", title, _supply_lines(groups), columns, (), _supply_places(own))


def fed_supplies_table(groups: Iterable[FedSupply]) -> Table:
    """Energy, protein and dry matter of what is fed against need, a line a group and quantity."""
    columns = (
        Column("group", "Group", of=lambda pair: pair[0].name),
        Column("quantity", "Supplied against need", of=lambda pair: pair[1].title),
        Column("unit", "Unit", of=lambda pair: pair[1].unit),
        Column("supply", "Supplied", varies=True, of=lambda pair: pair[1].supply),
        Column("target", "Target", varies=True, of=lambda pair: pair[1].target),
        Column("status", "Status", of=lambda pair: standing_in(pair[1], pair[0].needs)),
    )
    lines = (pair for pair in _supply_lines(groups) if pair[1].quantity in MAIN_SUPPLIES)
    title = "Energy and protein, a head a day"
    return table_of("main_supply", title, lines, columns, (), _supply_places(None))


def rations_table(rations: Rations) -> Table:
    """What to feed every group, in one long table; one line for a group without a ration."""
    columns = (*_GROUP, Column("head", "Head", "", 0), Column("status", "Status"))
    feeds: tuple[Column, ...] = ()
    rows: list[tuple[object, ...]] = []
    for group in rations.groups:
        start = (group.group, group.name, group.head, group.status)
        total_dm = sum(amount.kg_dm for amount in group.amounts)
        feeds = (
            Column("feed_id", "Id", of="offer"),
            *_feed_columns(rations.farm.currency, total_dm),
        )
        rows += [(*start, *row) for row in table_of("", "", group.amounts, feeds).rows]
        if not group.amounts:
            rows.append((*start, *(None for _ in feeds)))
    return Table("rations", "What to feed, a head a day", (*columns, *feeds), tuple(rows))


def ration_overview(rations: Rations) -> Table:
    """The groups side by side: head, cost a head a day, DM [kg], ME density [MJ/kg DM], status."""
    columns = (
        Column("group", "Group", of="name"),
        Column("head", "Head", "", 0),
        Column("cost_per_head_day", "Cost a head a day", rations.farm.currency, 2, of="feed_cost"),
        Column("cost_per_day", "Cost a day", rations.farm.currency, 2, of=_cost_per_day),
        quantity_column("dm_kg"),
        quantity_column("me_mj_per_kg_dm"),
        Column("status", "Answer", of=lambda group: STATUS_WORDS[group.status]),
    )
    return table_of("overview", f"{rations.farm.name}: all groups", rations.groups, columns)


def _cost_per_day(group: GroupRation) -> float | None:
    if group.feed_cost is None:
        return None
    return group.feed_cost * group.head


MINERALS = "Minerals, together"
MOST_ACROSS = 7
"""More groups than these do not stand side by side."""


def weights_table(
    groups: Sequence[GroupRation | PlanRation],
    currency: str,
    title: str,
    together: Collection[str] = (),
) -> Table:
    """What to feed each group in one table [kg fresh a head a day], what it costs below; groups
    across, or a line a group where there are too many.

    together: ids of feeds that stand in one row, the minerals.
    """
    names: dict[str, str] = {}
    eaten: dict[str, float] = {}
    kg: list[dict[str, float]] = []
    for group in groups:
        weights: dict[str, float] = {}
        for amount in group.amounts:
            key, name = amount.offer, amount.name
            if key in together:
                key = name = MINERALS
            names[key] = name
            weights[key] = weights.get(key, 0.0) + amount.kg_fresh
            eaten[key] = eaten.get(key, 0.0) + group.head * amount.kg_fresh
        kg.append({key: fresh for key, fresh in weights.items() if fresh >= LEAST_SHOWN_KG})
    feeds = [
        key for key in sorted(eaten, key=lambda key: -eaten[key]) if any(key in of for of in kg)
    ]
    smallest = {key: min(of[key] for of in kg if key in of) for key in feeds}
    decimals = {key: small_decimals(smallest[key], 1) for key in feeds}
    if len(groups) > MOST_ACROSS:
        return _in_words(groups, kg, names, currency, title)
    columns = [Column("feed", "Feed")]
    columns += [
        Column(f"group_{number}", group.name, varies=True) for number, group in enumerate(groups)
    ]
    rows: list[tuple[object, ...]] = [("Head", *(group.head for group in groups))]
    rows += [(names[key], *(of.get(key) for of in kg)) for key in feeds]
    rows.append((f"Cost, {currency} a head a day", *(group.feed_cost for group in groups)))
    spread = (0, *(decimals[key] for key in feeds), 2)
    return Table("weights", title, tuple(columns), tuple(rows), (), spread)


def _in_words(
    groups: Sequence[GroupRation | PlanRation],
    kg: Sequence[Mapping[str, float]],
    names: Mapping[str, str],
    currency: str,
    title: str,
) -> Table:
    """A line a group, its feeds in words, minerals left out: for more than fit side by side."""
    columns = (
        Column("group", "Group"),
        Column("head", "Head", "", 0),
        Column("cost", "Cost", currency, 2),
        Column("feeds", "Feed, kg fresh"),
    )
    rows = []
    for group, amounts in zip(groups, kg, strict=True):
        named = [key for key in amounts if key != MINERALS]
        ordered = sorted(named, key=lambda key: -amounts[key])
        parts = [
            f"{shown(amounts[key], small_decimals(amounts[key], 1))} {names[key]}"
            for key in ordered
        ]
        rows.append((group.name, group.head, group.feed_cost, "; ".join(parts)))
    return Table("weights", title, columns, tuple(rows))


def shortfall_table(group: GroupRation) -> Table:
    """What cannot be met for a group without a ration: how much short, of how much."""
    columns = (
        Column("need", "Need"),
        Column("short", "Short by", "", 2),
        Column("needed", "Of", "", 2),
        Column("unit", "Unit"),
        Column("whose", "Source of rule"),
    )
    return table_of(
        "shortfalls", f"{group.name}: what cannot be met, a head a day", group.shortfalls, columns
    )
