"""`rationlp sheet --record`: a page to write on, what is planned beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from rationlp.cli.options import Answer, Format

if TYPE_CHECKING:
    from rationlp.ask.in_force import Followed
    from rationlp.errors import Finding
    from rationlp.planned import WinterPlan

USUAL_WEEKS, MOST_WEEKS = 8, 60


def record_faults(record: bool, weeks: int | None, others: dict[str, bool]) -> list[Finding]:
    """Options that do not go together (IN523). others: options of the sheets of a day, and whether
    each was given.
    """
    from rationlp.errors import Finding

    if not record:
        return (
            []
            if weeks is None
            else [
                Finding("IN523", "--weeks", "no --record with it", "add --record, or leave it out")
            ]
        )
    found = [
        Finding(
            "IN523",
            option,
            "it does not go with --record",
            "leave it out: the page is of the whole plan",
        )
        for option, given in others.items()
        if given
    ]
    if weeks is not None and not 1 <= weeks <= MOST_WEEKS:
        found.append(Finding("IN523", "--weeks", f"{weeks} weeks", f"give 1 to {MOST_WEEKS}"))
    return found


def record_page(
    farm: Path,
    on: str | None,
    weeks: int | None,
    html: Path | None,
    out: tuple[Format, Path | None],
) -> None:
    """Write the page by the plan in force on a day, else by a plan made from that day; the plan's
    own answer, and exit code 3, where the winter cannot be fed.
    """
    from rationlp.ask.in_force import kept_for
    from rationlp.cli.options import day_of_winter, deliver, farm_inputs, tell_notices
    from rationlp.cli.winter import answer_of, planned
    from rationlp.read.farm import read_farm

    form, output = out
    read = read_farm(farm)
    kept = kept_for(read, day_of_winter(read, on))
    plan = planned(read, on, None) if kept is None else kept.plan
    tell_notices(read.notices)
    if plan.proof is None or not plan.proof.passed:
        deliver(answer_of(plan), form, output, farm_inputs(farm))
        raise typer.Exit(plan.exit_code)
    answer, page = _forms(plan, kept, weeks or USUAL_WEEKS)
    if html is not None:
        from rationlp.report.files import write_whole
        from rationlp.report.terminal import tell

        write_whole(html, page(), farm_inputs(farm))
        tell(f"Written: {html}")
    if html is None or output is not None:
        deliver(answer, form, output, farm_inputs(farm))
    if plan.exit_code:
        raise typer.Exit(plan.exit_code)


def _forms(plan: WinterPlan, kept: Followed | None, weeks: int) -> tuple[Answer, Callable[[], str]]:
    """The page in the forms of an answer, and as HTML; from the day asked for where a plan in force
    is followed.
    """
    from rationlp.report.answers.day import made_from
    from rationlp.report.answers.winter import RecordAnswer
    from rationlp.report.json_answer import document
    from rationlp.report.record import record_html, record_text, rules_of
    from rationlp.report.tables.record import record_table
    from rationlp.yard.record import recorded_weeks

    marks = recorded_weeks(plan, weeks, None if kept is None else kept.day)
    from_plan = None if kept is None else made_from(kept)
    answer = Answer(
        text=lambda width: record_text(plan, marks, width),
        table=lambda: record_table(marks),
        document=lambda: document(
            "record", RecordAnswer(plan.farm, tuple(marks), rules_of(plan, marks), from_plan)
        ),
    )
    return answer, lambda: record_html(plan, marks)
