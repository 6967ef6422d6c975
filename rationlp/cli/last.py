"""`rationlp last`: how long each store lasts, under the plan or under rations that the farm
states.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, OutputOption

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rationlp.after.stock import Spring
    from rationlp.farm.farm import Farm
    from rationlp.report.answers.day import MadeFrom

FedOption = Annotated[
    Path | None,
    typer.Option(
        "--fed",
        metavar="FED.CSV",
        help="What is fed all winter (as for supply), instead of the least-cost plan.",
    ),
]


def last(
    farm: FarmArgument,
    fed: FedOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Show what is left of each store by date, the day it runs out, and the same with turnout three
    weeks early and late.

    Ends with exit code 3 when no plan feeds every group: then it is the plan of the least shortage,
    and who is short is said.
    """
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.read.farm import read_farm

    read = read_farm(farm)
    answer, code = (_under_fed(read, fed), 0) if fed is not None else _under_plan(read)
    tell_notices(read.notices)
    deliver(answer, form, output, (*farm_inputs(farm), *([] if fed is None else [fed])))
    if code:
        raise typer.Exit(code)


def _under_plan(read: Farm) -> tuple[Answer, int]:
    """How long stores last under the plan in force, else under the winter's plan made now; and the
    exit code.
    """
    from rationlp.after.stock import spring_of, springs
    from rationlp.ask.in_force import kept_for
    from rationlp.cli.winter import answer_of
    from rationlp.report.answers.day import made_from
    from rationlp.report.in_force import plan_lines
    from rationlp.report.plan_text import short_heads
    from rationlp.winter.plan import WinterOptions, solve_winter

    kept = kept_for(read, None)
    if kept is None:
        plan = solve_winter(read)
        if plan.proof is None:
            return answer_of(plan), plan.exit_code
        found = springs(read, lambda one: spring_of(plan if one is read else solve_winter(one)))
        return _answer(read, "plan", found, short_heads(plan)), plan.exit_code
    plan = kept.plan
    options, stocks = WinterOptions(start=plan.periods[0].first), dict(plan.stocks) or None
    found = springs(
        plan.farm,
        lambda one: spring_of(plan if one is plan.farm else solve_winter(one, options, stocks)),
    )
    answer = _answer(plan.farm, "plan", found, plan_lines(kept), made_from(kept))
    return answer, plan.exit_code


def _answer(
    farm: Farm,
    under: str,
    found: Sequence[Spring],
    remarks: Sequence[str] = (),
    made_from: MadeFrom | None = None,
) -> Answer:
    from rationlp.after.cautions import store_cautions
    from rationlp.report.answers.winter import LastAnswer
    from rationlp.report.json_answer import document
    from rationlp.report.plan_text import last_text
    from rationlp.report.tables.cautions import cautions_table
    from rationlp.report.tables.winter_plan import lasting_table, run_out_table, springs_table

    cautions = cautions_table(store_cautions(farm))

    now = next(spring for spring in found if not spring.days)
    return Answer(
        text=lambda width: last_text(farm, found, remarks, width),
        table=lambda: lasting_table(now.stores),
        document=lambda: document(
            "last", LastAnswer(farm, under, tuple(found), tuple(remarks), made_from)
        ),
        sheets=lambda: [
            run_out_table(now.stores),
            lasting_table(now.stores),
            springs_table(found, farm.currency),
            cautions,
        ],
        drawn=lambda width: last_text(farm, found, remarks, width, drawn=True),
    )


def _under_fed(farm: Farm, path: Path) -> Answer:
    from dataclasses import replace

    from rationlp.after.stock import Spring, each_lasting, fixed_uses, springs
    from rationlp.needs.calendar import parts_on, planned_steps
    from rationlp.read.fed import read_fed
    from rationlp.stock.dry_matter import farm_stocks

    parts = {
        part.id: part
        for group in farm.groups
        for first, until in planned_steps(farm)
        for part in (group, *parts_on(group, first, until))
    }
    fed = read_fed(path, replace(farm, groups=tuple(parts.values())))
    stocks = farm_stocks(farm)
    found = springs(
        farm, lambda one: Spring(0, one.turnout, each_lasting(fixed_uses(one, fed, stocks)))
    )
    without = [
        part.name for part in parts.values() if part.id not in fed and part.origin not in fed
    ]
    said = (
        [f"Not in {path.name}, and so nothing counted for: {', '.join(without)}."]
        if without
        else []
    )
    return _answer(farm, "fed", found, said)
