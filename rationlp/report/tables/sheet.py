"""Tables of the sheets for the yard: the load, the premix, who gets how much, the pen, and what
rounding did to the ration.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rationlp.report.tables.parlour import parlour_table
from rationlp.report.tables.ration import LEAST_SHOWN_KG
from rationlp.report.tables.table import Column, Table, decimals_of, shown, small_decimals
from rationlp.yard.loads import BY_HAND, Load
from rationlp.yard.parlour import Parlour
from rationlp.yard.pens import BALES, HOPPER, MEALS, RAIL, PenLine
from rationlp.yard.sheets import GroupSheet, MixSheet, YardSheets

_LOAD = (
    Column("order", "", "", 0, "right"),
    Column("feed", "What goes in"),
    Column("kg", "Weigh", "kg", None, "right"),
    Column("scale_kg", "Scale shows", "kg", 0, "right"),
    Column("by", "How"),
)
_PREMIX = (
    Column("feed", "Premix for one load"),
    Column("kg", "Weigh", "kg", None, "right"),
    Column("bag", "A bag lasts"),
)
_DROPS = (
    Column("group_name", "Group"),
    Column("head", "Head", "", 0, "right"),
    Column("kg", "Of each load", "kg", 0, "right"),
)
_PEN = (
    Column("feed", "Feed"),
    Column("kg", "The pen a day", "kg", None, "right"),
    Column("kg_a_head", "A head", "kg", None, "right"),
    Column("how", "How"),
)
_YIELD = (
    Column("litres", "Litres", "", 0, "right"),
    Column("kg_fresh", "kg a day", "", 1, "right"),
    Column("kg_a_milking", "kg a milking", "", 1, "right"),
)
_CHECK = (
    Column("quantity", "Quantity"),
    Column("unit", "Unit"),
    Column("need_with_margin", "Need", "", None, "right"),
    Column("ration", "Ration", "", None, "right"),
    Column("given", "As given", "", None, "right"),
    Column("differs_percent", "Change", "%", 1, "right"),
)
_ALL = (
    Column("group", "Group"),
    Column("group_name", "Name"),
    Column("head", "Head", "", 0, "right"),
    Column("where", "Where"),
    Column("order", "Order", "", 0, "right"),
    Column("offer", "Id"),
    Column("feed", "Feed"),
    Column("kg", "Weigh", "kg", 2, "right"),
    Column("scale_kg", "Scale shows", "kg", 0, "right"),
    Column("times_a_day", "Times a day", "", 0, "right"),
    Column("bales", "Bales", "", 0, "right"),
    Column("bale_days", "In days", "", 0, "right"),
)


def _places(kg: float) -> int:
    """Decimals of a weight: none where it is whole, as many as a hand scale has else."""
    if float(kg).is_integer():
        return 0
    return small_decimals(kg, 1)


def load_table(mix: MixSheet) -> Table:
    """One load in loading order: kg to weigh, and what a scale that is not set back then shows."""
    load = mix.load
    rows = tuple(
        (number, line.name, float(line.kg), line.scale_kg, "by hand" if line.by == BY_HAND else "")
        for number, line in enumerate(load.lines, start=1)
    )
    title = "The load" if load.loads == 1 else f"Each of the {load.loads} loads"
    places = tuple(_places(line.kg) for line in load.lines)
    by_hand = any(line.by == BY_HAND for line in load.lines)
    table = Table("load", f"{title}, in this order", _LOAD, rows, (), places)
    if by_hand:
        return table
    return replace(table, columns=_LOAD[:-1], rows=tuple(row[:-1] for row in rows))


def premix_table(load: Load) -> Table:
    """The premix of one load, weighed by hand; no rows where there is none."""
    rows, places = [], []
    for line in load.premix:
        remark = ""
        if line.carrier:
            remark = "carrier: put in first"
        if line.bag_loads is not None:
            remark = f"{shown(line.bag_loads, 0 if line.bag_loads >= 10.0 else 1)} loads"
        rows.append((line.name, float(line.kg), remark))
        places.append(1 if line.carrier else _places(line.kg))
    if rows:
        rows.append(("Together", float(sum(line.kg for line in load.premix)), ""))
        places.append(_places(round(sum(line.kg for line in load.premix), 2)))
    return Table("premix", "Mix these by hand first", _PREMIX, tuple(rows), (), tuple(places))


def drops_table(mix: MixSheet) -> Table:
    """What each group gets of a load; no rows for a load of one group."""
    rows: tuple[tuple[str, int, float], ...] = ()
    if len(mix.shared_out) > 1:
        rows = tuple((drop.name, drop.head, float(drop.kg)) for drop in mix.shared_out)
    return Table("drops", "Who gets how much of a load", _DROPS, rows)


def how_given(line: PenLine) -> str:
    """In words how a feed of a pen is put out."""
    if line.way == BALES:
        assert line.bales is not None and line.bale_days is not None and line.bale_kg is not None
        bales = "1 bale" if line.bales == 1 else f"{line.bales} bales"
        days = "a day" if line.bale_days == 1 else f"in {line.bale_days} days"
        return f"{bales} of {shown(line.bale_kg, 0)} kg {days}"
    if line.way == RAIL:
        return "at the rail"
    if line.way == HOPPER:
        return "in the hopper"
    if line.way == MEALS:
        assert line.kg_a_meal is not None
        times = round(line.kg / line.kg_a_meal)
        kg = shown(float(line.kg_a_meal), _places(line.kg_a_meal))
        if times == 1:
            return f"{kg} kg in one meal"
        return f"{kg} kg a meal, {times} meals"
    return "by hand, over the feed"


def pen_table(sheet: GroupSheet) -> Table:
    """What a pen gets in a day, and how; no rows where everything is in the wagon."""
    pen = sheet.pen
    lines = [] if pen is None else [line for line in pen.lines if line.kg >= LEAST_SHOWN_KG]
    rows = tuple(
        (line.name, float(line.kg), line.kg / sheet.head, how_given(line)) for line in lines
    )
    places = tuple(0 if line.kg >= 100.0 else _places(line.kg) for line in lines)
    columns = tuple(
        Column(c.key, c.title, c.unit, 2 if c.key == "kg_a_head" else c.decimals, c.align)
        for c in _PEN
    )
    title = "The pen"
    if sheet.mix is not None:
        title = "The pen, beside the mix"
    return Table("pen", title, columns, rows, (), places)


def yield_table(sheet: Parlour) -> Table:
    """The parlour feed by yield for the wall: from the first litre that gets any to the first past
    the meal limit.
    """
    fed = [line for line in sheet.lines if line.kg_fresh > 0.0]
    within = [line for line in fed if line.within_meal]
    table = parlour_table(replace(sheet, lines=tuple(fed[: len(within) + 1])), "")
    note = (
        f"The base carries maintenance and {shown(sheet.base_litres, 1)} litres; above that "
        f"{shown(sheet.kg_per_litre, 2)} kg a litre."
    )
    title = f"{sheet.feed} in the parlour, a cow a day"
    return replace(
        table, title=title, columns=(*_YIELD, *table.columns[len(_YIELD) :]), notes=(note,)
    )


def check_table(sheet: GroupSheet) -> Table:
    """The ration and what is given after rounding, beside the need with its margin, a head a
    day.
    """
    before = {line.quantity: line for line in sheet.before.supply}
    rows, places = [], []
    for line in sheet.fed.supply:
        old = before.get(line.quantity)
        if old is None or (line.target is None and line.quantity != "dm_kg"):
            continue
        change = None
        if old.supply:
            change = 100.0 * (line.supply / old.supply - 1.0)
        rows.append((line.title, line.unit, line.target, old.supply, line.supply, change))
        places.append(decimals_of(line.quantity))
    title = "Supply after rounding against need with margin, a head a day"
    return Table("check", title, _CHECK, tuple(rows), (), tuple(places))


def sheets_table(yard: YardSheets) -> Table:
    """Every weighing of every group in one long table: where (`load`, `premix`, `pen`, `parlour`),
    kg and how often a day.
    """
    rows: list[tuple[object, ...]] = []
    for sheet in yard.sheets:
        head = (sheet.group, sheet.name, sheet.head)
        if sheet.mix is not None:
            rows += [(*head, *row) for row in _load_rows(sheet.mix.load)]
        if sheet.pen is not None:
            rows += [
                (*head, "pen", number, *_pen_row(line))
                for number, line in enumerate(sheet.pen.lines, start=1)
            ]
    return Table("sheet", "What to weigh, by group", _ALL, tuple(rows))


def _load_rows(load: Load) -> Iterator[tuple[object, ...]]:
    for number, small in enumerate(load.premix, start=1):
        yield (
            "premix",
            number,
            small.offer,
            small.name,
            float(small.kg),
            None,
            load.loads,
            None,
            None,
        )
    for number, line in enumerate(load.lines, start=1):
        yield (
            "load",
            number,
            line.offer,
            line.name,
            float(line.kg),
            line.scale_kg,
            load.loads,
            None,
            None,
        )


def _pen_row(line: PenLine) -> tuple[object, ...]:
    if line.way == MEALS and line.kg_a_meal is not None:
        return (
            line.offer,
            line.name,
            float(line.kg_a_meal),
            None,
            round(line.kg / line.kg_a_meal),
            None,
            None,
        )
    return line.offer, line.name, float(line.kg), None, 1, line.bales, line.bale_days
