"""Tables of the sheets for the yard: load, premix, who gets how much, pen, parlour, rounding."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rationlp.report.tables.ration import LEAST_SHOWN_KG
from rationlp.report.tables.table import Column, Table, decimals_of, shown, small_decimals, table_of
from rationlp.report.wording import counted
from rationlp.yard.loads import BY_HAND, Load
from rationlp.yard.parlour import Parlour
from rationlp.yard.pens import BALES, HOPPER, MEALS, RAIL, PenLine
from rationlp.yard.sheets import GroupSheet, MixSheet, YardSheets

_LOAD = (
    Column("order", "", "", 0, of=lambda line: line[0]),
    Column("feed", "What goes in", of=lambda line: line[1].name),
    Column("kg", "Weigh", "kg", varies=True, of=lambda line: float(line[1].kg)),
    Column("scale_kg", "Scale shows", "kg", 0, of=lambda line: line[1].scale_kg),
    Column("by", "How", of=lambda line: {BY_HAND: "by hand"}.get(line[1].by, "")),
)
_PREMIX = (
    Column("feed", "Premix for one load"),
    Column("kg", "Weigh", "kg", varies=True),
    Column("bag", "A bag lasts"),
)
_DROPS = (
    Column("group_name", "Group", of="name"),
    Column("head", "Head", "", 0),
    Column("kg", "Of each load", "kg", 0, of=lambda drop: float(drop.kg)),
)
_YIELD = (
    Column("litres", "Litres", "", 0),
    Column("kg_fresh", "kg a day", "", 1),
    Column("kg_a_milking", "kg a milking", "", 1),
)
_CHECK = (
    Column("quantity", "Quantity"),
    Column("unit", "Unit"),
    Column("need_with_margin", "Need", varies=True),
    Column("ration", "Ration", varies=True),
    Column("given", "As given", varies=True),
    Column("differs_percent", "Change", "%", 1),
)
_ALL = (
    Column("group", "Group"),
    Column("group_name", "Name"),
    Column("head", "Head", "", 0),
    Column("where", "Where"),
    Column("order", "Order", "", 0),
    Column("offer", "Id"),
    Column("feed", "Feed"),
    Column("kg", "Weigh", "kg", 2),
    Column("scale_kg", "Scale shows", "kg", 0),
    Column("times_a_day", "Times a day", "", 0),
    Column("bales", "Bales", "", 0),
    Column("bale_days", "In days", "", 0),
)


def _places(kg: float) -> int:
    """Decimals of a weight: none where it is whole, as many as a hand scale has else."""
    if float(kg).is_integer():
        return 0
    return small_decimals(kg, 1)


def load_table(mix: MixSheet) -> Table:
    """One load in loading order: kg to weigh, and what a scale that is not set back then shows."""
    load = mix.load
    title = "The load"
    if load.loads != 1:
        title = f"Each of the {load.loads} loads"
    columns: tuple[Column, ...] = _LOAD
    if all(line.by != BY_HAND for line in load.lines):
        columns = columns[:-1]
    lines = enumerate(load.lines, start=1)
    return table_of(
        "load", f"{title}, in this order", lines, columns, (), lambda line: _places(line[1].kg)
    )


def premix_table(load: Load) -> Table:
    """The premix of one load, weighed by hand; no rows where there is none."""
    rows, places = [], []
    for line in load.premix:
        remark = ""
        if line.carrier:
            remark = "carrier: put in first"
        if line.bag_loads is not None:
            remark = f"{shown(line.bag_loads, int(line.bag_loads < 10.0))} loads"
        rows.append((line.name, float(line.kg), remark))
        places.append(1 if line.carrier else _places(line.kg))
    if rows:
        rows.append(("Together", float(sum(line.kg for line in load.premix)), ""))
        places.append(_places(round(sum(line.kg for line in load.premix), 2)))
    return Table("premix", "Mix these by hand first", _PREMIX, tuple(rows), (), tuple(places))


def drops_table(mix: MixSheet) -> Table:
    """What each group gets of a load; no rows for a load of one group."""
    title = "Who gets how much of a load"
    if len(mix.shared_out) < 2:
        return Table("drops", title, _DROPS, ())
    return table_of("drops", title, mix.shared_out, _DROPS)


def how_given(line: PenLine) -> str:
    """In words how a feed of a pen is put out."""
    if line.way == BALES:
        assert line.bales is not None and line.bale_days is not None and line.bale_kg is not None
        days = "a day"
        if line.bale_days != 1:
            days = f"in {line.bale_days} days"
        return f"{counted(line.bales, 'bale')} of {shown(line.bale_kg, 0)} kg {days}"
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
    columns = (
        Column("feed", "Feed", of="name"),
        Column("kg", "The pen a day", "kg", varies=True, of=lambda line: float(line.kg)),
        Column("kg_a_head", "A head", "kg", 2, of=lambda line: line.kg / sheet.head),
        Column("how", "How", of=how_given),
    )
    title = "The pen"
    lines: tuple[PenLine, ...] = ()
    if sheet.mix is not None:
        title = "The pen, beside the mix"
    if sheet.pen is not None:
        lines = tuple(line for line in sheet.pen.lines if line.kg >= LEAST_SHOWN_KG)
    return table_of("pen", title, lines, columns, (), _pen_places)


def _pen_places(line: PenLine) -> int:
    if line.kg >= 100.0:
        return 0
    return _places(line.kg)


def yield_table(sheet: Parlour) -> Table:
    """The parlour feed by yield for the wall, to the first litre past the meal limit."""
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
    """The ration and what is given after rounding, beside the need with margin, a head a day."""
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
    """Every weighing of every group: where (load, premix, pen, parlour), kg, how often a day."""
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
    blank = (load.loads, None, None)
    for number, small in enumerate(load.premix, start=1):
        yield ("premix", number, small.offer, small.name, float(small.kg), None, *blank)
    for number, line in enumerate(load.lines, start=1):
        kg = float(line.kg), line.scale_kg
        yield ("load", number, line.offer, line.name, *kg, *blank)


def _pen_row(line: PenLine) -> tuple[object, ...]:
    if line.way == MEALS and line.kg_a_meal is not None:
        kg = float(line.kg_a_meal)
        return line.offer, line.name, kg, None, round(line.kg / line.kg_a_meal), None, None
    return line.offer, line.name, float(line.kg), None, 1, line.bales, line.bale_days


_COLUMNS = (
    Column("litres", "Milk", "litres", 0),
    Column("kg_fresh", "Feed", "kg a day", 1),
    Column("kg_a_milking", "Feed", "kg a milking", 1),
    Column("limited_by", "Given for"),
)


def parlour_table(sheet: Parlour, name: str) -> Table:
    """Parlour feed [kg fresh] a day and a milking by litres a day; notes: what the base carries."""
    past = f"more than {shown(sheet.meal_most_kg, 1)} kg a meal"
    remarks = {True: "", False: past}
    columns = (*_COLUMNS, Column("remark", "Remark", of=lambda line: remarks[line.within_meal]))
    base = "; ".join(f"{shown(amount.kg_fresh, 1)} kg {amount.name}" for amount in sheet.base)
    notes = (
        f"Base at the trough: {base}.",
        (
            f"It carries maintenance and {shown(sheet.base_litres, 1)} litres, limited by"
            f" {sheet.base_limited_by}; above that {shown(sheet.kg_per_litre, 2)} kg of"
            f" {sheet.feed} a litre."
        ),
        (
            f"Two milkings of {shown(sheet.meal_most_kg, 1)} kg reach {shown(sheet.most_litres, 0)}"
            " litres (meal limit: common practice); higher yielders need a better base."
        ),
    )
    title = f"{name}: {sheet.feed} in the parlour, a cow a day"
    return table_of("parlour", title, sheet.lines, columns, notes)
