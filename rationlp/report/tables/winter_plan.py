"""Tables of a winter's plan: who eats what and when, what to buy and sell, and the money."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rationlp.after.money import LEAST_SHOWN_T, Money, MonthBuy
from rationlp.planned import PlanRation, WinterPlan
from rationlp.report.tables.ration import LEAST_SHOWN_KG
from rationlp.report.tables.table import Column, Drawing, Table, shown, table_of, without_blank
from rationlp.report.wording import kg_decimals
from rationlp.result import Amount

STOP_BUYING = "Stop above"
LEAST_ONE_DECIMAL_T = 10.0
"""From here on a decimal is enough of an amount bought over the winter [t]."""


def buying_table(plan: WinterPlan, buying: Iterable[MonthBuy]) -> Table:
    """The buying list: t fresh by month and in all, loads below, cost [currency]."""
    currency = plan.farm.currency
    months: dict[str, dict[str, MonthBuy]] = {}
    for bought in buying:
        months.setdefault(bought.month, {})[bought.offer] = bought
    columns = (
        Column("feed", "Feed"),
        Column("unit", "Unit"),
        *(Column(month, month, varies=True) for month in months),
        Column("all", "In all", varies=True),
        Column("cost", "Cost", currency, 0),
        Column("price_ceiling_per_t_fresh", STOP_BUYING, f"{currency}/t", 0),
    )
    limited = any(purchase.price_ceiling is not None for purchase in plan.purchases)
    rows, decimals = _buying_rows(plan, list(months.values()))
    notes = [
        "To be there on the first day of the period in which it is fed; a period belongs to the"
        " month of its first day. Loads are whole; the last one may be a part load."
    ]
    if limited:
        label = (
            "Stop above: the price from which none of it would be bought, all other prices"
            " as they are"
        )
        notes.append(f"{label}; blank where even five times its price would be paid.")
    if not limited:
        columns, rows = columns[:-1], [row[:-1] for row in rows]
    return Table(
        "buying", "What to buy, by month", columns, tuple(rows), tuple(notes), tuple(decimals)
    )


def first_buys_table(plan: WinterPlan, buying: Iterable[MonthBuy]) -> Table:
    """What to buy over the winter in short, minerals left out: t fresh of each feed, of it in the
    first month, cost [currency], the price above which to buy none. buying: by month.
    """
    currency = plan.farm.currency
    minerals = {offer.id for offer in plan.farm.offers if offer.feed.kind == "mineral"}
    bought: dict[str, list[MonthBuy]] = {}
    for purchase in buying:
        if purchase.t_fresh >= LEAST_SHOWN_T and purchase.offer not in minerals:
            bought.setdefault(purchase.offer, []).append(purchase)
    columns = (
        Column("feed", "Feed", of=lambda months: months[0].name),
        Column("t_fresh", "In all", "t", 1, of=lambda months: sum(m.t_fresh for m in months)),
        Column("month", "First in", of=lambda months: months[0].month),
        Column("first_t_fresh", "then", "t", 1, of=lambda months: months[0].t_fresh),
        Column("cost", "Cost", "", 0, of=lambda months: sum(month.cost for month in months)),
        Column("price_ceiling_per_t_fresh", STOP_BUYING, "", 0, of="0.price_ceiling"),
    )
    title = f"Bought feed but minerals, {currency} and {currency} a tonne"
    return without_blank(table_of("first_buys", title, bought.values(), columns))


def _buying_rows(
    plan: WinterPlan, months: Sequence[dict[str, MonthBuy]]
) -> tuple[list[tuple[object, ...]], list[int]]:
    """Rows of the buying list, a second one in loads where a load has a size; decimals of each."""
    size = {offer.id: offer.load_t for offer in plan.farm.offers}
    rows: list[tuple[object, ...]] = []
    decimals = []
    for purchase in plan.purchases:
        bought = [by_offer.get(purchase.offer) for by_offer in months]
        tonnes = [getattr(month, "t_fresh", None) for month in bought]
        total = sum(t for t in tonnes if t is not None)
        if not total:
            continue
        rows.append((purchase.name, "t", *tonnes, total, purchase.cost, purchase.price_ceiling))
        decimals.append(kg_decimals(total, LEAST_ONE_DECIMAL_T))
        if size.get(purchase.offer):
            loads = [getattr(month, "loads", None) for month in bought]
            in_all = sum(n for n in loads if n is not None)
            rows.append(
                (f"  by loads of {size[purchase.offer]:g} t", "loads", *loads, in_all, None, None)
            )
            decimals.append(0)
    return rows, decimals


def part_tables(plan: WinterPlan) -> tuple[Table, ...]:
    """One table for each part of a group: kg fresh a head a day; like periods in one row."""
    return tuple(_part_table(plan, rations) for rations in rations_by_part(plan))


def rations_by_part(plan: WinterPlan) -> tuple[tuple[PlanRation, ...], ...]:
    """The rations of a plan by part of a group, in the plan's order, each by period."""
    parts: dict[str, list[PlanRation]] = {}
    for ration in plan.rations:
        parts.setdefault(ration.group, []).append(ration)
    return tuple(map(tuple, parts.values()))


def _part_table(plan: WinterPlan, rations: Sequence[PlanRation]) -> Table:
    names = {amount.offer: amount.name for ration in rations for amount in _weighed(ration)}
    decimals = _decimals(rations, names)
    columns = [
        Column("from", "From"),
        Column("until", "Until"),
        Column("head", "Head", "", 0),
        Column("cost_per_head_day", "Cost", plan.farm.currency, 2),
        *(Column(offer, name, "kg", decimals[offer]) for offer, name in names.items()),
    ]
    short = short_words(plan)
    goes_short = any(mark[0] == rations[0].group for mark in short)
    if goes_short:
        columns.append(Column("short", "Short by"))
    rows: list[tuple[object, ...]] = []
    before: object = None
    for ration in rations:
        kg = {amount.offer: amount.kg_fresh for amount in _weighed(ration)}
        fed = [kg.get(offer) for offer in names]
        lacking = []
        if goes_short:
            lacking = [short.get((ration.group, ration.period))]
        as_shown = [
            shown(figure, decimals[offer]) for offer, figure in zip(names, fed, strict=True)
        ]
        period = plan.periods[ration.period]
        first, until = period.first.isoformat(), period.last.isoformat()
        if before == (ration.head, lacking, as_shown) and rows[-1][1] == first:
            rows[-1] = (rows[-1][0], until, *rows[-1][2:])
            continue
        before = (ration.head, lacking, as_shown)
        rows.append((first, until, ration.head, ration.feed_cost, *fed, *lacking))
    title = f"{rations[0].name}: what to feed, kg fresh a head a day"
    heading = ("First day of the ration", "kg fresh a head a day")
    drawing = None
    if len(rows) > 1 and names:
        drawing = Drawing("stacked", "from", tuple(names), *heading)
    name = f"winter_group {rations[0].group}"
    return Table(name, title, tuple(columns), tuple(rows), drawing=drawing)


def _weighed(ration: PlanRation) -> list[Amount]:
    """The amounts that are enough to be shown."""
    return [amount for amount in ration.amounts if amount.kg_fresh >= LEAST_SHOWN_KG]


def _decimals(rations: Sequence[PlanRation], offers: Iterable[str]) -> dict[str, int]:
    """Decimals of each feed's kilograms: grams for what is never fed by the kilogram."""
    every = [amount for ration in rations for amount in ration.amounts]
    largest = {
        offer: max(amount.kg_fresh for amount in every if amount.offer == offer) for offer in offers
    }
    return {offer: _grams(kg) for offer, kg in largest.items()}


def _grams(kg: float) -> int:
    if kg >= 1.0:
        return 1
    return 3


def winter_table(plan: WinterPlan) -> Table:
    """The whole plan in one long table: a line a part, period and feed; amounts a head a day."""
    currency = plan.farm.currency
    columns = (
        Column("group", "Group"),
        Column("group_name", "Name"),
        Column("from", "From"),
        Column("until", "Until"),
        Column("head", "Head", "", 0),
        Column("feed_id", "Id"),
        Column("feed", "Feed"),
        Column("kg_fresh_per_head_day", "Fresh", "kg", 2),
        Column("kg_dm_per_head_day", "Dry matter", "kg", 2),
        Column("cost_per_head_day", "Cost", currency, 3),
        Column("short", "Short by"),
    )
    rows: list[tuple[object, ...]] = []
    short = short_words(plan)
    for ration in plan.rations:
        period = plan.periods[ration.period]
        days = period.first.isoformat(), period.last.isoformat()
        start = (ration.group, ration.name, *days, ration.head)
        lacking = short.get((ration.group, ration.period))
        rows += [
            (*start, amount.offer, amount.name, amount.kg_fresh, amount.kg_dm, amount.cost, lacking)
            for amount in ration.amounts
        ]
        if ration.withheld:
            rows.append((*start, None, None, None, None, None, lacking))
    return Table("winter", "What to feed through the winter, a head a day", columns, tuple(rows))


def short_words(plan: WinterPlan) -> dict[tuple[str, int], str]:
    """What parts of groups are short of, by id and period: `8.8 of 88.5 MJ energy`."""
    lacking: dict[tuple[str, int], list[str]] = {}
    for shortfall in plan.shortfalls:
        short = shortfall.shortfall
        sentence = f"{shown(short.short, 1)} of {shown(short.needed, 1)} {short.unit} {short.need}"
        lacking.setdefault((shortfall.group, shortfall.period), []).append(sentence)
    return {mark: "; ".join(sentence) for mark, sentence in lacking.items()}


def sales_table(plan: WinterPlan) -> Table:
    """What is sold to whom [t fresh, t DM, currency]."""
    names = {outlet.id: outlet.name for outlet in plan.farm.outlets}
    stores = {store.id: store.name for store in plan.farm.stores}
    columns = (
        Column("outlet", "To", of=lambda sale: names.get(sale.outlet, sale.outlet)),
        Column("store", "From", of=lambda sale: stores.get(sale.store, sale.store)),
        Column("t_fresh", "Sold", "t", 1),
        Column("t_dm", "Dry matter", "t", 1),
        Column("income", "Income", plan.farm.currency, 0),
    )
    return table_of(
        "sales",
        "What to sell",
        (sale for sale in plan.sales if sale.t_fresh >= LEAST_SHOWN_T),
        columns,
    )


def money_table(groups: Iterable[Money], currency: str) -> Table:
    """Cost a head a day, a litre and a kg of gain, margins of the winter, home-grown shares [%]."""
    columns = (
        Column("name", "Group"),
        Column("feed_cost", "Feed", currency, 0),
        Column("bought_cost", "of it bought", currency, 0),
        Column("per_head_day", "A head a day", currency, 2),
        Column("per_litre", "A litre", currency, 3),
        Column("per_kg_gain", "A kg gain", currency, 2),
        Column("margin_over_bought", "Milk over bought feed", currency, 0),
        Column("margin_over_feed", "Milk over all feed", currency, 0),
        Column("home_share_of_dm", "Home-grown, of DM", "%", 0, share=True),
        Column("home_share_of_me", "of ME", "%", 0, share=True),
    )
    return without_blank(table_of("money", "Money over the days planned", groups, columns))


def plan_shortfalls_table(plan: WinterPlan) -> Table:
    """Who is short of what in which period, a head a day, and how many tonnes DM would do."""
    names = {group.id: group.name for group in plan.farm.groups}
    columns = (
        Column("group", "Group", of=lambda lack: lack.name or names.get(lack.group, lack.group)),
        Column("from", "From", of=lambda lack: plan.periods[lack.period].first.isoformat()),
        Column("until", "Until", of=lambda lack: plan.periods[lack.period].last.isoformat()),
        Column("need", "Need", of="shortfall.need"),
        Column("short", "Short by", "", 2, of="shortfall.short"),
        Column("needed", "Of", "", 2, of="shortfall.needed"),
        Column("unit", "Unit", of="shortfall.unit"),
        Column("t_dm", "Would need", "t DM", 1),
    )
    title = "What cannot be met, a head a day"
    return table_of("plan_shortfalls", title, plan.shortfalls, columns)
