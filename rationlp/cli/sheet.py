"""`rationlp sheet`: what the people in the yard weigh, load and put out, a page a group."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, GroupOption, OnOption, OutputOption

if TYPE_CHECKING:
    from rationlp.errors import Finding

Number = TypeVar("Number", int, float)
DmOption = Annotated[
    list[str] | None,
    typer.Option("--dm", metavar="ID=PERCENT", help="Dry matter of a feed today, like first_cut=26; may be repeated."),
]
HeadOption = Annotated[
    list[str] | None,
    typer.Option("--head", metavar="ID=N", help="Animals in a group today, like high=118; may be repeated."),
]
HtmlOption = Annotated[
    Path | None,
    typer.Option("--html", metavar="FILE", help="Write one HTML file, a page a group, to be printed on A4."),
]
RecordOption = Annotated[
    bool,
    typer.Option(
        "--record", help="One page to write on each week, what is planned beside it; --on: plan from that day."
    ),
]
WeeksOption = Annotated[
    int | None, typer.Option("--weeks", metavar="N", help="Weeks to record, eight a page; 8 if left out.")
]


def sheet(
    farm: FarmArgument,
    group: GroupOption = None,
    on: OnOption = None,
    dm: DmOption = None,
    head: HeadOption = None,
    record: RecordOption = False,
    weeks: WeeksOption = None,
    html: HtmlOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Say what to weigh and load, or carry to the pen: kg in loading order, premix, bales, meals, and a check of it all.

    The wagon, its tub and its scale stand in [feeding] of farm.toml; without one everything is by the pen. Ends with exit code
    3 when at least one group has no ration.
    """
    from rationlp.cli.record import record_faults, record_page
    from rationlp.errors import InputError

    others = {"--group": bool(group), "--dm": bool(dm), "--head": bool(head)}
    if faults := record_faults(record, weeks, others):
        raise InputError(faults)
    if html is not None:
        from rationlp.report.html import WITHOUT_HTML, refuse_without

        refuse_without(("jinja2",), "--html", WITHOUT_HTML)
    if record:
        record_page(farm, on, weeks, html, (form, output))
        return
    exit_code = _day_sheets(farm, (group, on), (dm, head), html, (form, output))
    if exit_code:
        raise typer.Exit(exit_code)


def _day_sheets(
    farm: Path,
    of: tuple[list[str] | None, str | None],
    today: tuple[list[str] | None, list[str] | None],
    html: Path | None,
    out: tuple[Format, Path | None],
) -> int:
    """The sheets of a day, delivered; gives the exit code. of: groups and day; today: corrected dry matter and head."""
    from rationlp.after.yard import Today, yard_sheets
    from rationlp.cli.options import deliver, farm_inputs, farm_on_day, tell_notices
    from rationlp.errors import InputError
    from rationlp.model.ration import solve_rations
    from rationlp.needs.calendar import expanded
    from rationlp.read.farm import read_farm
    from rationlp.report.documents import sheets_document
    from rationlp.report.sheet import sheets_text
    from rationlp.report.tables.sheet import sheets_table

    findings: list[Finding] = []
    dry_matter = _pairs(today[0], "--dm", float, findings)
    heads = _pairs(today[1], "--head", int, findings)
    if findings:
        raise InputError(findings)
    read = read_farm(farm)
    day = farm_on_day(read, of[1])
    yard = yard_sheets(solve_rations(day, expanded(day, of[0])), Today(dry_matter, heads))
    answer = Answer(
        text=lambda width: sheets_text(yard, width),
        table=lambda: sheets_table(yard),
        document=lambda: sheets_document(yard),
    )
    tell_notices(read.notices)
    if html is not None:
        from rationlp.report.files import write_whole
        from rationlp.report.sheet import sheets_html
        from rationlp.report.terminal import tell

        write_whole(html, sheets_html(yard), farm_inputs(farm))
        tell(f"Written: {html}")
    form, output = out
    if html is None or output is not None:
        deliver(answer, form, output, farm_inputs(farm))
    return yard.exit_code


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
                Finding("IN520", option, f'"{text}" is no id with a number', f"write it like {option} id=25")
            )
            continue
        if key in pairs:
            findings.append(Finding("IN520", option, f'"{key}" stands twice', "keep one of them"))
        pairs[key] = value
    return pairs
