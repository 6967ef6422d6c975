"""All tables of a result, for a workbook, for Python and for a notebook: the same ones, in the
order in which they are read.

A result is what the public names return: a farm, the needs of its groups, its rations, its winter's
plan, or what a ration already fed gives.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from html import escape
from typing import TYPE_CHECKING

from rationlp.farm.farm import Farm
from rationlp.needs.objects import GroupNeeds
from rationlp.planned import WinterPlan
from rationlp.report.cautions import caution_lines
from rationlp.report.tables import (
    Column,
    Table,
    energy_table,
    groups_table,
    limits_table,
    minerals_table,
    needs_table,
    notices_table,
    offers_table,
    parlour_table,
    ration_overview,
    ration_table,
    rations_table,
    shortfall_table,
    stores_table,
    supplies_table,
)
from rationlp.report.terminal import CLOSING_LINE, proof_line, tidy_line
from rationlp.result import FedSupply, Rations

if TYPE_CHECKING:
    import pandas as pd

    from rationlp.after.changeover import ChangeOver

Result = (
    Farm
    | Rations
    | WinterPlan
    | GroupNeeds
    | FedSupply
    | Iterable[GroupNeeds]
    | Iterable[FedSupply]
)
"""What can be shown as tables."""

OPEN_TABLES = 2
"""Tables that stand open in a notebook; the others are folded."""


def result_tables(result: Result) -> tuple[Table, ...]:
    """The tables of a result, each with a name of its own; those without rows are left out.

    Raises TypeError for what is no result.
    """
    if isinstance(result, Farm):
        tables = farm_tables(result)
    elif isinstance(result, Rations):
        tables = rations_tables(result)
    elif isinstance(result, WinterPlan):
        tables = winter_tables(result)
    else:
        items = (result,) if isinstance(result, (GroupNeeds, FedSupply)) else _items(result)
        needs = tuple(item for item in items if isinstance(item, GroupNeeds))
        fed = tuple(item for item in items if isinstance(item, FedSupply))
        if len(needs) + len(fed) < len(items) or bool(needs) == bool(fed):
            raise TypeError(
                "tables are made of a farm, of needs, rations, a plan, or what a ration already fed"
                " gives"
            )
        tables = needs_tables(needs) if needs else fed_tables(fed)
    return named_apart(tables)


def _items(result: object) -> tuple[object, ...]:
    if not isinstance(result, Iterable) or isinstance(result, (str, bytes, Mapping)):
        raise TypeError(f"no tables can be made of a {type(result).__name__}")
    return tuple(result)


def named_apart(tables: Iterable[Table]) -> tuple[Table, ...]:
    """Tables without those that have no rows, a second one of a name numbered."""
    found: dict[str, Table] = {}
    for table in tables:
        name, number = table.name, 1
        while name in found:
            number += 1
            name = f"{table.name} {number}"
        if table.rows:
            found[name] = replace(table, name=name)
    return tuple(found.values())


def farm_tables(farm: Farm) -> list[Table]:
    """A farm as read: groups, stores, feeds, what is worth a look, cautions."""
    from rationlp.after.cautions import farm_cautions

    said = _said([("the farm", "caution", line) for line in caution_lines(farm_cautions(farm))])
    return [
        groups_table(farm),
        stores_table(farm),
        offers_table(farm),
        notices_table(farm.notices),
        said,
    ]


def rations_tables(
    rations: Rations, changes: Mapping[str, ChangeOver] | None = None
) -> list[Table]:
    """Rations: the groups side by side, what to feed, supply against need, the parlour, what is
    short, what is said of each.

    changes: by group id, the way from what is fed now.
    """
    from rationlp.after.cautions import farm_cautions, ration_cautions
    from rationlp.after.changeover import fed_before
    from rationlp.yard.parlour import parlour

    farm = rations.farm
    tables = [
        ration_overview(rations),
        rations_table(rations),
        supplies_table(rations.groups, farm.own_quantities),
    ]
    said: list[tuple[str, str, str]] = []
    for group in rations.groups:
        sheet = None if group.proof is None else parlour(farm, group)
        if sheet is not None:
            tables.append(_of(group.group, parlour_table(sheet, group.name)))
        tables.append(_of(group.group, shortfall_table(group)))
        lines = {
            "made fit to mix": [tidy_line(group, farm.currency)],
            "proof": [proof_line(group, farm.currency)],
        }
        lines["remark"] = list(group.remarks)
        lines["at its limit"] = list(group.at_limit) if group.proof is None else []
        said += [
            (group.name, what, line) for what, found in lines.items() for line in found if line
        ]
    cautions = list(farm_cautions(farm))
    for group in rations.groups:
        cautions += ration_cautions(farm, group, fed_before(changes, group.group))
    return [
        *tables,
        _said([*said, *(("the farm", "caution", line) for line in caution_lines(cautions))]),
    ]


def winter_tables(plan: WinterPlan) -> list[Table]:
    """A winter's plan: what to feed, to buy and to sell, how long each store lasts, where it goes,
    money, what is said.
    """
    from rationlp.after.money import money
    from rationlp.after.plan_cautions import plan_cautions
    from rationlp.after.plan_changes import plan_changes
    from rationlp.after.stock import each_lasting, plan_uses
    from rationlp.report.plan_text import (
        plan_proof_line,
        plan_tidy_line,
        shortfall_lines,
        withheld_lines,
    )
    from rationlp.report.tables import winter_plan as of_plan
    from rationlp.report.tables.plan_changes import (
        change_remarks,
        plan_changes_table,
        plan_ramps_table,
    )

    changes = plan_changes(plan)
    tables = [of_plan.plan_shortfalls_table(plan)]
    if plan.proof is not None:
        stores = each_lasting(plan_uses(plan))
        parts = list(of_plan.part_tables(plan))
        bought = [of_plan.buying_table(plan), of_plan.sales_table(plan)]
        lasting = [
            of_plan.run_out_table(stores),
            of_plan.run_down_table(stores),
            of_plan.balance_table(plan),
        ]
        tables = [
            *(tables if plan.shortfalls else []),
            *bought,
            *lasting,
            of_plan.money_table(money(plan), plan.farm.currency),
            *parts,
            plan_changes_table(changes),
            plan_ramps_table(plan, changes),
            of_plan.winter_table(plan),
        ]
    lines = [("proof", plan_proof_line(plan)), ("made fit to mix", plan_tidy_line(plan))]
    lines += [("stores", line) for line in plan.carried]
    lines += [("short", line) for line in (*shortfall_lines(plan), *withheld_lines(plan))] + [
        ("remark", line) for line in (*plan.remarks, *change_remarks(changes))
    ]
    lines += [("caution", line) for line in caution_lines(plan_cautions(plan), _winter_of(plan))]
    return [*tables, _said(("the winter", what, line) for what, line in lines if line)]


def _winter_of(plan: WinterPlan) -> tuple[date, date]:
    return plan.periods[0].first, plan.periods[-1].last


def needs_tables(needs: Iterable[GroupNeeds]) -> list[Table]:
    """Needs: every step of every group, then for each group energy by density, minerals, limits."""
    every = tuple(needs)
    tables = [needs_table(every)]
    for group in every:
        tables += [
            _of(group.group, table)
            for table in (energy_table(group), minerals_table(group), limits_table(group))
        ]
    return [
        *tables,
        _said([(group.group, "remark", line) for group in every for line in group.remarks]),
    ]


def fed_tables(fed: Iterable[FedSupply], farm: Farm | None = None) -> list[Table]:
    """What a ration already fed gives: its feeds by group, supply against need, remarks; cautions
    where the farm is given.
    """
    from rationlp.after.cautions import farm_cautions, rations_cautions

    every = tuple(fed)
    currency, own = ("currency", {}) if farm is None else (farm.currency, farm.own_quantities)
    tables = [_of(group.group, ration_table(group, currency)) for group in every]
    said = [(group.name, "remark", line) for group in every for line in group.remarks]
    cautions = [] if farm is None else [*rations_cautions(farm, every), *farm_cautions(farm)]
    said += [("the farm", "caution", line) for line in caution_lines(cautions)]
    return [supplies_table(every, own), *tables, _said(said)]


def _of(group: str, table: Table) -> Table:
    """A table of one group, its name saying whose it is."""
    return replace(table, name=f"{table.name} {group}")


def _said(lines: Iterable[tuple[str, str, str]]) -> Table:
    columns = (Column("about", "About"), Column("what", "What"), Column("says", "Says"))
    return Table("said", "What else to know", columns, tuple(lines))


def result_frames(result: Result) -> dict[str, pd.DataFrame]:
    """The tables of a result as DataFrames by name; `attrs` holds units by column, the title and
    the notes.
    """
    return {table.name: table.frame() for table in result_tables(result)}


def result_html(result: Result) -> str:
    """A result as HTML for a notebook: the first tables open, the others folded. All text is
    escaped.
    """
    parts = []
    for number, table in enumerate(result_tables(result)):
        shown = " open" if number < OPEN_TABLES else ""
        parts.append(
            f"<details{shown}><summary><b>{escape(table.title)}</b></summary>{_html(table)}</details>"
        )
    return f"<div>{''.join(parts)}<p><i>{escape(CLOSING_LINE)}</i></p></div>"


def _html(table: Table) -> str:
    styles = [f' style="text-align:{column.align}"' for column in table.columns]
    titles = [f"{column.title} {column.unit}".strip() for column in table.columns]
    head = "".join(
        f"<th{style}>{escape(title)}</th>" for style, title in zip(styles, titles, strict=True)
    )
    rows = "".join(
        "<tr>"
        + "".join(
            f"<td{style}>{escape(cell)}</td>" for style, cell in zip(styles, row, strict=True)
        )
        + "</tr>"
        for row in table.cells()
    )
    notes = "".join(f"<p>{escape(note)}</p>" for note in table.notes)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>{notes}"
