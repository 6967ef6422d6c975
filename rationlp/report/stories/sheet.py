"""The story of the sheets of a yard: what to weigh for each group, a page a group."""

from __future__ import annotations

from collections.abc import Iterator

from rationlp.report.cautions import cautions_of, cautions_table
from rationlp.report.sheet import FINER, SHARED_OUT, Page, bar, pages, sheets_html
from rationlp.report.story import (
    KILLS,
    Part,
    Rule,
    Story,
    Words,
    always,
    brief,
    full,
    in_workbook,
    on_screen,
)
from rationlp.report.tables.sheet import sheets_table
from rationlp.report.terminal import CLOSING_LINE
from rationlp.yard.day_facts import SheetFacts


def sheet_story(facts: SheetFacts, made_from: tuple[str, ...] = (), exit_code: int = 0) -> Story:
    """The story of sheets. made_from: what the amounts come from, in sentences."""
    yard, parts = facts.yard, list[Part]()
    every = list(pages(facts, made_from))
    for number, page in enumerate(every):
        parts += _page_parts(page, made_from, number > 0)
    for group in yard.without:
        parts += full(Rule())
        parts += on_screen(
            always(Words((f"{group.name} ({group.head} head): no ration, so no sheet.",)))
        )
    if any(SHARED_OUT in line for page in every for line in page.made_from):
        parts += brief(
            Words((f"Where it is not enough: {SHARED_OUT[:1].lower()}{SHARED_OUT[1:]}",))
        )
    if facts.bales:
        parts += brief(Words((facts.bales,)))
    cautions = facts.cautions
    parts += in_workbook(sheets_table(yard), cautions_table(cautions))
    if cautions:
        parts += on_screen((*full(Rule()), *always(cautions_of(cautions))))
    return Story(
        "sheet",
        tuple(parts),
        lambda: sheets_table(yard),
        lambda: sheets_html(facts, made_from),
        exit_code=exit_code,
        hint="With scale readings and a check against need: `--full`, or --html FILE to print.",
    )


def _page_parts(page: Page, made_from: tuple[str, ...], later: bool) -> Iterator[Part]:
    """A page of one group. later: another page stands before it."""
    yield from brief(Words(tuple(_short_lines(page, made_from, later))))
    if later:
        yield from on_screen(full(Rule()))
    tub = ""
    if page.fill is not None:
        tub = f"Tub {bar(page.fill)} {page.fill_said}."
    yield from on_screen(
        full(
            Words((page.title, page.lead, page.weights, tub, *page.made_from)),
            *page.tables,
            Words((page.check,)),
            Words(page.notes, dashes=True),
            Words(page.grave, KILLS, dashes=True),
            Words((CLOSING_LINE,)),
        )
    )


def _short_lines(page: Page, made_from: tuple[str, ...], later: bool) -> Iterator[str]:
    """The page in a few lines; what holds for all pages stands on the first one."""
    lacking = page.made_from[: len(page.made_from) - len(made_from)]
    yield page.title
    for line in lacking:
        yield line.removesuffix(f" {SHARED_OUT}")
    yield " ".join(part for part in (page.lead, page.weights) if part)
    yield page.premix
    yield page.bedding
    yield page.changing
    if not page.good:
        yield page.check.removesuffix(f" {FINER}")
    if not later:
        yield from made_from
