"""Tables of a winter's plan: who eats what and when, what to buy and sell, what is left of each
store, and the money.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from rationlp.after.money import LEAST_SHOWN_T, Money, MonthBuy, buying_list
from rationlp.after.sofar import SoFar
from rationlp.after.stock import KG_PER_T, Lasting, Spring
from rationlp.planned import PlanRation, WinterPlan
from rationlp.report.tables.ration import LEAST_SHOWN_KG
from rationlp.report.tables.table import Column, Drawing, Table, shown

NOT_USED_UP = "not used up"
STOP_BUYING = "Stop buying above"
LEAST_ONE_DECIMAL_T = 10.0
"""From here on a decimal is enough of an amount bought over the winter [t]."""


def buying_table(plan: WinterPlan) -> Table:
    """The buying list: t fresh of each feed by month and in all, loads below where it has a size of
    load, cost [currency].
    """
    currency = plan.farm.currency
    months: dict[str, dict[str, MonthBuy]] = {}
    for one in buying_list(plan):
        months.setdefault(one.month, {})[one.offer] = one
    columns = (
        Column("feed", "Feed"),
        Column("unit", "Unit"),
        *(Column(month, month, "", None, "right") for month in months),
        Column("all", "In all", "", None, "right"),
        Column("cost", "Cost", currency, 0, "right"),
        Column("price_ceiling_per_t_fresh", STOP_BUYING, f"{currency}/t", 0, "right"),
    )
    limited = any(one.price_ceiling is not None for one in plan.purchases)
    rows, decimals = _buying_rows(plan, list(months.values()))
    notes = [
        "To be there on the first day of the period in which it is fed; a period belongs to the"
        " month of its first day. Loads are whole; the last one may be a part load."
    ]
    if limited:
        words = (
            "Stop buying above: the price from which none of it would be bought, all other prices"
            " as they are"
        )
        notes.append(f"{words}; blank where even five times its price would be paid.")
    if not limited:
        columns, rows = columns[:-1], [row[:-1] for row in rows]
    return Table(
        "buying", "What to buy, by month", columns, tuple(rows), tuple(notes), tuple(decimals)
    )


def first_buys_table(plan: WinterPlan) -> Table:
    """What to buy over the winter in short: t fresh of each feed, of it in the first month, cost
    [currency], the price above which to buy none.
    """
    currency = plan.farm.currency
    bought: dict[str, list[MonthBuy]] = {}
    for one in buying_list(plan):
        if one.t_fresh >= LEAST_SHOWN_T:
            bought.setdefault(one.offer, []).append(one)
    columns = (
        Column("feed", "Feed"),
        Column("t_fresh", "In all", "t", 2, "right"),
        Column("month", "First in"),
        Column("first_t_fresh", "then", "t", 2, "right"),
        Column("cost", "Cost", currency, 0, "right"),
        Column("price_ceiling_per_t_fresh", STOP_BUYING, f"{currency}/t", 0, "right"),
    )
    rows = tuple(
        (
            months[0].name,
            sum(one.t_fresh for one in months),
            months[0].month,
            months[0].t_fresh,
            sum(one.cost for one in months),
            months[0].price_ceiling,
        )
        for months in bought.values()
    )
    return Table("first_buys", "What to buy", columns, rows)


def _buying_rows(
    plan: WinterPlan, months: Sequence[dict[str, MonthBuy]]
) -> tuple[list[tuple[object, ...]], list[int]]:
    """Rows of the buying list, a second one in loads where a feed has a size of load, and the
    decimals of each.
    """
    size = {offer.id: offer.load_t for offer in plan.farm.offers}
    rows: list[tuple[object, ...]] = []
    decimals = []
    for purchase in plan.purchases:
        found = [mine.get(purchase.offer) for mine in months]
        tonnes = [None if one is None else one.t_fresh for one in found]
        total = sum(t for t in tonnes if t is not None)
        if not total:
            continue
        rows.append((purchase.name, "t", *tonnes, total, purchase.cost, purchase.price_ceiling))
        decimals.append(1 if total >= LEAST_ONE_DECIMAL_T else 2)
        if size.get(purchase.offer):
            loads = [None if one is None else one.loads for one in found]
            in_all = sum(n for n in loads if n is not None)
            rows.append(
                (f"  by loads of {size[purchase.offer]:g} t", "loads", *loads, in_all, None, None)
            )
            decimals.append(0)
    return rows, decimals


def part_tables(plan: WinterPlan) -> tuple[Table, ...]:
    """One table for each group, and part of a group: kg fresh of each feed a head a day; like
    periods in one row.
    """
    parts: dict[str, list[PlanRation]] = {}
    for ration in plan.rations:
        parts.setdefault(ration.group, []).append(ration)
    return tuple(_part_table(plan, rations) for rations in parts.values())


def _part_table(plan: WinterPlan, rations: Sequence[PlanRation]) -> Table:
    names = {
        one.offer: one.name
        for ration in rations
        for one in ration.amounts
        if one.kg_fresh >= LEAST_SHOWN_KG
    }
    every = [one for ration in rations for one in ration.amounts]
    most = {offer: max(one.kg_fresh for one in every if one.offer == offer) for offer in names}
    short = short_words(plan)
    decimals = {offer: 1 if kg >= 1.0 else 3 for offer, kg in most.items()}
    columns = (
        Column("from", "From"),
        Column("until", "Until"),
        Column("head", "Head", "", 0, "right"),
        Column("cost_per_head_day", "Cost", plan.farm.currency, 2, "right"),
        *(Column(offer, name, "kg", decimals[offer], "right") for offer, name in names.items()),
        *(
            [Column("short", "Short by")]
            if any(mark[0] == rations[0].group for mark in short)
            else []
        ),
    )
    rows: list[tuple[object, ...]] = []
    marks: list[object] = []
    for ration in rations:
        kg = {one.offer: one.kg_fresh for one in ration.amounts if one.kg_fresh >= LEAST_SHOWN_KG}
        period = plan.periods[ration.period]
        until = period.last.isoformat()
        lacking = [short.get((ration.group, ration.period))] if columns[-1].key == "short" else []
        same = (
            ration.head,
            lacking,
            tuple(shown(kg.get(offer), decimals[offer]) for offer in names),
        )
        if marks and marks[-1] == same and rows[-1][1] == period.first.isoformat():
            rows[-1] = (rows[-1][0], until, *rows[-1][2:])
            continue
        marks.append(same)
        figures = (ration.head, ration.feed_cost, *(kg.get(offer) for offer in names), *lacking)
        rows.append((period.first.isoformat(), until, *figures))
    title = f"{rations[0].name}: what to feed, kg fresh a head a day"
    words = ("First day of the ration", "kg fresh a head a day")
    drawing = Drawing("stacked", "from", tuple(names), *words) if len(rows) > 1 and names else None
    return Table(f"winter_group {rations[0].group}", title, columns, tuple(rows), drawing=drawing)


def winter_table(plan: WinterPlan) -> Table:
    """The whole plan in one long table: a line a part, period and feed; amounts a head a day."""
    currency = plan.farm.currency
    columns = (
        Column("group", "Group"),
        Column("group_name", "Name"),
        Column("from", "From"),
        Column("until", "Until"),
        Column("head", "Head", "", 0, "right"),
        Column("feed_id", "Id"),
        Column("feed", "Feed"),
        Column("kg_fresh_per_head_day", "Fresh", "kg", 2, "right"),
        Column("kg_dm_per_head_day", "Dry matter", "kg", 2, "right"),
        Column("cost_per_head_day", "Cost", currency, 3, "right"),
        Column("short", "Short by"),
    )
    rows: list[tuple[object, ...]] = []
    short = short_words(plan)
    for ration in plan.rations:
        period = plan.periods[ration.period]
        start = (
            ration.group,
            ration.name,
            period.first.isoformat(),
            period.last.isoformat(),
            ration.head,
        )
        lacking = short.get((ration.group, ration.period))
        rows += [
            (*start, one.offer, one.name, one.kg_fresh, one.kg_dm, one.cost, lacking)
            for one in ration.amounts
        ]
        if ration.withheld:
            rows.append((*start, None, None, None, None, None, lacking))
    return Table("winter", "What to feed through the winter, a head a day", columns, tuple(rows))


def short_words(plan: WinterPlan) -> dict[tuple[str, int], str]:
    """What a part of a group is short of, by its id and the number of the period: `8.8 of 88.5 MJ
    metabolisable energy`.
    """
    lacking: dict[tuple[str, int], list[str]] = {}
    for one in plan.shortfalls:
        short = one.shortfall
        words = f"{shown(short.short, 1)} of {shown(short.needed, 1)} {short.unit} {short.need}"
        lacking.setdefault((one.group, one.period), []).append(words)
    return {mark: "; ".join(words) for mark, words in lacking.items()}


def run_out_words(day: date | None, turnout: date) -> str:
    """The day on which a store runs out; said so where it is turnout or later."""
    if day is None:
        return NOT_USED_UP
    return day.isoformat() if day < turnout else f"lasts ({day.isoformat()})"


def run_out_table(stores: Iterable[Lasting]) -> Table:
    """When each store runs out, for the low, typical and high stock; what is short to turnout [t
    DM], and head-days lost.
    """
    columns = (
        Column("store", "Store"),
        Column("in_store_t_dm", "In store", "t DM", 1, "right"),
        Column("left_t_dm", "Left at turnout", "t DM", 1, "right"),
        Column("reserve_t_dm", "To be kept", "t DM", 1, "right", full=True),
        Column("runs_out_low", "Runs out, low stock"),
        Column("runs_out_typical", "Runs out, typical"),
        Column("runs_out_high", "Runs out, high stock", full=True),
        Column("short_t_dm", "Short", "t DM", 1, "right", full=True),
        Column("short_low_t_dm", "Short, low stock", "t DM", 1, "right", full=True),
        Column("head_days_lost", "Head-days lost", "", 0, "right", full=True),
        Column("head_days_lost_low", "Head-days lost, low stock", "", 0, "right", full=True),
    )
    rows = tuple(
        (
            one.name,
            one.left[0].t_dm.typical,
            one.left[-1].t_dm.typical,
            one.reserve_t_dm,
            *(
                run_out_words(day, one.turnout)
                for day in (one.runs_out.low, one.runs_out.typical, one.runs_out.high)
            ),
            one.short_t_dm.typical,
            one.short_t_dm.low,
            one.head_days_lost.typical,
            one.head_days_lost.low,
        )
        for one in stores
    )
    notes = (
        (
            "Date = first day it falls short. Lasts: to turnout; the day in brackets is where the"
            " last weeks' use would lead. Head-days lost: of those that would have eaten of it, if"
            " none is bought."
        ),
    )
    return Table("run_out", "How long each store lasts", columns, rows, notes)


def run_down_table(stores: Sequence[Lasting]) -> Table:
    """What is left of each store by date [t DM and t fresh]."""
    columns = [Column("on", "On")]
    for one in stores:
        columns += [
            Column(f"{one.store}_t_dm", one.name, "t DM", 1, "right"),
            Column(f"{one.store}_t_fresh", one.name, "t", 1, "right"),
        ]
    rows = []
    for number, left in enumerate(stores[0].left if stores else ()):
        figures = [
            value
            for one in stores
            for value in (one.left[number].t_dm.typical, one.left[number].t_fresh)
        ]
        rows.append((left.on.isoformat(), *figures))
    series = tuple(f"{one.store}_t_dm" for one in stores)
    drawing = Drawing("lines", "on", series, "Date", "Left [t DM]") if stores else None
    return Table(
        "run_down",
        "What is left of each store, by date",
        tuple(columns),
        tuple(rows),
        drawing=drawing,
    )


def lasting_table(stores: Iterable[Lasting]) -> Table:
    """What is left of every store by date in one long table: low, typical and high [t DM], typical
    also t fresh.
    """
    columns = (
        Column("store", "Store"),
        Column("on", "On"),
        *(
            Column(f"left_{word}_t_dm", f"Left, {word}", "t DM", 2, "right")
            for word in ("low", "typical", "high")
        ),
        Column("left_t_fresh", "Left", "t", 2, "right"),
    )
    rows = tuple(
        (
            one.store,
            left.on.isoformat(),
            left.t_dm.low,
            left.t_dm.typical,
            left.t_dm.high,
            left.t_fresh,
        )
        for one in stores
        for left in one.left
    )
    return Table("lasting", "What is left of each store, by date", columns, rows)


def balance_table(plan: WinterPlan) -> Table:
    """The mass balance of each store to the kilogram [kg DM]: what was in it is what went each way,
    and what is left.
    """
    ways = ("eaten", "wasted", "spoiled", "sold", "bedded")
    titles = ("Eaten", "Left at the trough", "Spoiled at the face", "Sold", "Bedded")
    columns = (
        Column("store", "Store"),
        Column("in_store_kg_dm", "In store", "kg DM", 0, "right"),
        *(
            Column(f"{way}_kg_dm", title, "kg DM", 0, "right")
            for way, title in zip(ways, titles, strict=True)
        ),
        Column("left_kg_dm", "Left", "kg DM", 0, "right"),
        Column("out_by_kg_dm", "Balance error", "kg DM", 0, "right"),
        Column("saves_per_t_dm", "One t DM more saves", plan.farm.currency, 0, "right"),
    )
    rows = []
    for store in plan.stores:
        used = [sum(getattr(store, f"{way}_t_dm")) for way in ways]
        figures = (store.held_t_dm.typical, *used, store.left_t_dm)
        out_by = store.held_t_dm.typical - sum(used) - store.left_t_dm
        rows.append(
            (store.name, *(KG_PER_T * figure for figure in (*figures, out_by)), store.marginal)
        )
    return Table("balance", "Where the dry matter of each store goes", columns, tuple(rows))


def sales_table(plan: WinterPlan) -> Table:
    """What is sold to whom [t fresh, t DM, currency]."""
    names = {outlet.id: outlet.name for outlet in plan.farm.outlets}
    stores = {store.id: store.name for store in plan.farm.stores}
    columns = (
        Column("outlet", "To"),
        Column("store", "From"),
        Column("t_fresh", "Sold", "t", 1, "right"),
        Column("t_dm", "Dry matter", "t", 1, "right"),
        Column("income", "Income", plan.farm.currency, 0, "right"),
    )
    rows = tuple(
        (
            names.get(one.outlet, one.outlet),
            stores.get(one.store, one.store),
            one.t_fresh,
            one.t_dm,
            one.income,
        )
        for one in plan.sales
        if one.t_fresh >= LEAST_SHOWN_T
    )
    return Table("sales", "What to sell", columns, rows)


def money_table(groups: Iterable[Money], currency: str) -> Table:
    """Cost a head a day, a litre and a kg of gain, margins over the winter, home-grown shares
    [%].
    """
    found = tuple(groups)
    percent = ("home_share_of_dm", "home_share_of_me")
    columns = [
        Column("name", "Group"),
        Column("feed_cost", "Feed", currency, 0, "right"),
        Column("bought_cost", "of it bought", currency, 0, "right"),
        Column("per_head_day", "A head a day", currency, 2, "right"),
        Column("per_litre", "A litre", currency, 3, "right"),
        Column("per_kg_gain", "A kg gain", currency, 2, "right"),
        Column("margin_over_bought", "Milk over bought feed", currency, 0, "right"),
        Column("margin_over_feed", "Milk over all feed", currency, 0, "right"),
        Column("home_share_of_dm", "Home-grown, of DM", "%", 0, "right"),
        Column("home_share_of_me", "of ME", "%", 0, "right"),
    ]
    empty = {
        column.key for column in columns if all(getattr(one, column.key) is None for one in found)
    }
    columns = [column for column in columns if column.key not in empty]
    rows = []
    for one in found:
        values = {column.key: getattr(one, column.key) for column in columns}
        rows.append(
            tuple(100.0 * v if k in percent and v is not None else v for k, v in values.items())
        )
    return Table("money", "Money over the days planned", tuple(columns), tuple(rows))


def plan_shortfalls_table(plan: WinterPlan) -> Table:
    """Who is short of what in which period, a head a day, and how many tonnes of dry matter would
    do.
    """
    names = {group.id: group.name for group in plan.farm.groups}
    columns = (
        Column("group", "Group"),
        Column("from", "From"),
        Column("until", "Until"),
        Column("need", "Need"),
        Column("short", "Short by", "", 2, "right"),
        Column("needed", "Of", "", 2, "right"),
        Column("unit", "Unit"),
        Column("t_dm", "Would need", "t DM", 1, "right"),
    )
    rows = []
    for one in plan.shortfalls:
        period, short = plan.periods[one.period], one.shortfall
        who = one.name or names.get(one.group, one.group)
        rows.append(
            (who, period.first.isoformat(), period.last.isoformat(), short.need, short.short,
            short.needed, short.unit, one.t_dm)
        )  # fmt: skip
    return Table("plan_shortfalls", "What cannot be met, a head a day", columns, tuple(rows))


def springs_table(springs: Sequence[Spring], currency: str) -> Table:
    """Turnout early, as planned and late side by side: when each store runs out and what is short
    [t DM], typical stock.
    """
    costs = any(spring.cost is not None for spring in springs)
    columns = [
        Column("turnout", "Turnout"),
        Column("store", "Store"),
        Column("runs_out", "Runs out"),
    ]
    columns += [
        Column("left_t_dm", "Left at turnout", "t DM", 1, "right"),
        Column("short_t_dm", "Short", "t DM", 1, "right"),
        Column("short_low_t_dm", "Short, low stock", "t DM", 1, "right"),
    ]
    columns += [Column("cost", "Whole plan", currency, 0, "right")] if costs else []
    rows: list[tuple[object, ...]] = []
    for spring in springs:
        if not spring.stores:
            blank = [None] * (len(columns) - 2)
            rows.append((spring.turnout.isoformat(), "no plan feeds every group", *blank))
        for number, one in enumerate(spring.stores):
            out = run_out_words(one.runs_out.typical, one.turnout)
            figures = (one.left[-1].t_dm.typical, one.short_t_dm.typical, one.short_t_dm.low)
            cost = ([spring.cost if number == 0 else None]) if costs else []
            day = spring.turnout.isoformat() if number == 0 else None
            rows.append((day, one.name, out, *figures, *cost))
    notes = (
        ("Each turnout is planned anew: what is bought makes up for what is not in store.",)
        if costs
        else ()
    )
    return Table("springs", "With turnout earlier and later", tuple(columns), tuple(rows), notes)


def so_far_table(found: Sequence[SoFar]) -> Table:
    """What was eaten against an earlier plan [t DM that can be eaten], and what the step of each
    face says.
    """
    columns = (
        Column("store", "Store"),
        Column("planned_t_dm", "Planned", "t DM", 1, "right"),
        Column("used_t_dm", "Gone", "t DM", 1, "right"),
        Column("more_t_dm", "More than planned", "t DM", 1, "right"),
        Column("step_m", "Face moved", "m", 1, "right"),
        Column("density_kg_dm_per_m3", "Density if eaten as planned", "kg DM/m3", 0, "right"),
    )
    rows = tuple(
        (
            one.name,
            one.planned_t_dm,
            one.used_t_dm,
            one.more_t_dm,
            one.step_m,
            one.density_kg_dm_per_m3,
        )
        for one in found
    )
    return Table("so_far", "What was eaten against the earlier plan", columns, rows)
