"""`rationlp sheet`: what the people in the yard weigh, load and put out, a page a group."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from rationlp.cli.options import (
    Answer,
    FarmArgument,
    Format,
    FormatOption,
    GroupOption,
    OnOption,
    OutputOption,
)

if TYPE_CHECKING:
    from rationlp.ask.in_force import Followed
    from rationlp.errors import Finding
    from rationlp.farm.farm import Farm
    from rationlp.yard.sheets import Today, YardSheets

Number = TypeVar("Number", int, float)
DmOption = Annotated[
    list[str] | None,
    typer.Option(
        "--dm",
        metavar="ID=PERCENT",
        help="Dry matter of a feed today, like first_cut=26; may be repeated.",
    ),
]
HeadOption = Annotated[
    list[str] | None,
    typer.Option(
        "--head", metavar="ID=N", help="Animals in a group today, like high=118; may be repeated."
    ),
]
HtmlOption = Annotated[
    Path | None,
    typer.Option(
        "--html", metavar="FILE", help="Write one HTML file, a page a group, to be printed on A4."
    ),
]
RecordOption = Annotated[
    bool,
    typer.Option(
        "--record",
        help="One page to write on each week, what is planned beside it; --on: plan from that day.",
    ),
]
WeeksOption = Annotated[
    int | None,
    typer.Option("--weeks", metavar="N", help="Weeks to record, eight a page; 8 if left out."),
]
CheapestOption = Annotated[
    bool,
    typer.Option(
        "--cheapest-today",
        help="The cheapest ration of the day instead of what the winter's plan feeds on it.",
    ),
]


def sheet(
    farm: FarmArgument,
    group: GroupOption = None,
    on: OnOption = None,
    dm: DmOption = None,
    head: HeadOption = None,
    cheapest_today: CheapestOption = False,
    record: RecordOption = False,
    weeks: WeeksOption = None,
    html: HtmlOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Say what to weigh and load, or carry to the pen: kg in loading order, premix, bales, meals,
    and a check of it all.

    It goes by the plan in force (`winter --keep`), else by the winter's plan made now. The wagon,
    its tub and its scale are in [feeding] of farm.toml; without one everything is by the pen. Ends
    with exit code 3 when at least one group has no ration.
    """
    from rationlp.cli.record import record_faults, record_page
    from rationlp.errors import InputError

    others = {
        "--group": bool(group),
        "--dm": bool(dm),
        "--head": bool(head),
        "--cheapest-today": cheapest_today,
    }
    if faults := record_faults(record, weeks, others):
        raise InputError(faults)
    if html is not None:
        from rationlp.report.html import WITHOUT_HTML, refuse_without

        refuse_without(("jinja2",), "--html", WITHOUT_HTML)
    if record:
        record_page(farm, on, weeks, html, (form, output))
        return
    exit_code = _day_sheets(farm, (group, on, cheapest_today), (dm, head), html, (form, output))
    if exit_code:
        raise typer.Exit(exit_code)


def _day_sheets(
    farm: Path,
    of: tuple[list[str] | None, str | None, bool],
    today: tuple[list[str] | None, list[str] | None],
    html: Path | None,
    out: tuple[Format, Path | None],
) -> int:
    """The sheets of a day, delivered; gives the exit code. of: groups, day, and whether the
    cheapest of the day is wanted; today: corrected dry matter and head.
    """
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.errors import InputError
    from rationlp.read.farm import read_farm
    from rationlp.report.answers.day import made_from, sheet_answer
    from rationlp.report.in_force import made_from_lines
    from rationlp.report.json_answer import document
    from rationlp.report.sheet import sheets_text
    from rationlp.report.tables.cautions import cautions_table
    from rationlp.report.tables.sheet import sheets_table
    from rationlp.yard.cautions import yard_cautions
    from rationlp.yard.sheets import Today

    findings: list[Finding] = []
    dry_matter = _pairs(today[0], "--dm", float, findings)
    heads = _pairs(today[1], "--head", int, findings)
    if findings:
        raise InputError(findings)
    read = read_farm(farm)
    yard, plan, code = _yard(read, of, Today(dry_matter, heads))
    lines = made_from_lines(plan)
    answer = Answer(
        text=lambda width: sheets_text(yard, width, lines),
        table=lambda: sheets_table(yard),
        document=lambda: document("sheet", sheet_answer(yard, made_from(plan))),
        sheets=lambda: [sheets_table(yard), cautions_table(yard_cautions(yard))],
    )
    tell_notices(read.notices)
    if html is not None:
        from rationlp.report.files import write_whole
        from rationlp.report.sheet import sheets_html
        from rationlp.report.terminal import tell

        write_whole(html, sheets_html(yard, lines), farm_inputs(farm))
        tell(f"Written: {html}")
    form, output = out
    if html is None or output is not None:
        deliver(answer, form, output, farm_inputs(farm))
    return code


def _yard(
    read: Farm, of: tuple[list[str] | None, str | None, bool], today: Today
) -> tuple[YardSheets, Followed | None, int]:
    """The sheets, the plan that they come from (None: cheapest of the day), and the exit code."""
    from rationlp.after.news import news_of
    from rationlp.ask.in_force import followed
    from rationlp.cli.options import day_of_winter, farm_on_day
    from rationlp.model.ration import chosen_groups, solve_rations
    from rationlp.needs.calendar import expanded
    from rationlp.result import Rations
    from rationlp.yard.cautions import with_news
    from rationlp.yard.sheets import yard_sheets

    groups, on, cheapest = of
    plan = None if cheapest else followed(read, day_of_winter(read, on))
    feeding = None if plan is None else plan.rations()
    if plan is None or feeding is None:
        day = farm_on_day(read, on)
        yard = yard_sheets(solve_rations(day, expanded(day, groups)), today)
        return yard, None, yard.exit_code
    farm = feeding.rations.farm
    wanted = {group.id for group in chosen_groups(farm, expanded(farm, groups))}
    rations = tuple(one for one in feeding.rations.groups if one.group in wanted)
    yard = with_news(yard_sheets(Rations(farm, rations), today), news_of(plan.plan, plan.day))
    return yard, plan, max(yard.exit_code, plan.plan.exit_code)


def _pairs(
    given: list[str] | None, option: str, number: Callable[[str], Number], findings: list[Finding]
) -> dict[str, Number]:
    """What stands left and right of each equals sign; what cannot be read goes to the findings."""
    from rationlp.errors import Finding

    pairs: dict[str, Number] = {}
    for text in given or []:
        key, _, figure = text.partition("=")
        try:
            value = number(figure)
        except ValueError:
            findings.append(
                Finding(
                    "IN520",
                    option,
                    f'"{text}" is no id with a number',
                    f"write it like {option} id=25",
                )
            )
            continue
        if key in pairs:
            findings.append(Finding("IN520", option, f'"{key}" stands twice', "keep one of them"))
        pairs[key] = value
    return pairs
