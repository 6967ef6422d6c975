"""The story of what a winter excretes: by rations, by nitrate rules, volume to store."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from rationlp.report.story import Story, Words, always, full, on_screen
from rationlp.report.tables.table import Column, Table, table_of
from rationlp.report.wording import day_words
from rationlp.rules.standard_manure import manure_rules

if TYPE_CHECKING:
    from rationlp.after.manure import WinterManure
if TYPE_CHECKING:
    from rationlp.after.manure import WinterManure


_NOTES = (
    "By the rations: eaten, less milk, gain and the unborn. By the table: England's nitrate rules"
    " (SI 2015/668, as made; later changes not looked at), which count these figures whatever is"
    " fed.",
    "Volume is dung and urine alone: parlour washings, rain on yards and store, and bedding come on"
    " top. A bedded group makes solid manure of some of it.",
    "Information only: whether and how rules apply is for your own rules, where the farm lies, and"
    " for your adviser to say.",
)


def manure_story(answer: WinterManure, exit_code: int = 0) -> Story:
    """The story of `manure`. exit_code: of the plan it is made from."""
    return Story(
        "manure",
        (
            *on_screen(always(Words(tuple(_first_words(answer))))),
            *always(manure_table(answer)),
            *full(standard_table(answer)),
            *on_screen(always(Words((*_NOTES, _limit_words()), dashes=True))),
        ),
        lambda: manure_table(answer),
        days=(answer.farm.start, answer.farm.turnout),
        exit_code=exit_code,
        hint="The rows of the table, and what put each group into its row: `--full`.",
    )


def _first_words(answer: WinterManure) -> Iterator[str]:
    """All groups together, then what has to be stored."""
    counted = [group for group in answer.groups if group.standard_n_kg is not None]
    n_table = sum(group.standard_n_kg or 0.0 for group in counted)
    p_table = sum(group.standard_p2o5_kg or 0.0 for group in counted)
    yield (
        f"Excreted from {day_words(answer.first)} to {day_words(answer.last)}:"
        f" {_kg(answer.n_kg)} nitrogen by the rations, {n_table:,.0f} kg by the table;"
        f" {_kg(answer.p2o5_kg)} phosphate by the rations, {p_table:,.0f} kg by the table."
    )
    stored = sum(group.stored_m3 or 0.0 for group in counted)
    whole = sum(group.all_m3 or 0.0 for group in counted)
    yield (
        f"Dung and urine to {day_words(answer.storage_ends)}: {stored:,.0f} m3; to"
        f" {day_words(answer.last)}: {whole:,.0f} m3."
    )
    without = [group.name for group in answer.groups if group.standard_n_kg is None]
    if without:
        yield f"Not in the table, and so not in its sums: {', '.join(without)}."
    unknown = dict.fromkeys(name for group in answer.groups for name in group.unknown)
    if unknown:
        yield f"No phosphate by the rations: no phosphorus figure for {', '.join(unknown)}."


def _limit_words() -> str:
    """The limit that the figures are held against, for whoever farms where it holds."""
    limit = manure_rules()["farm_limit"]
    return (
        f"In a nitrate zone the livestock manure of the year may hold {limit['value']}"
        f" {limit['unit'].removesuffix(' a year')} of the farm, more only by a derogation: look up"
        " the year's."
    )


def _kg(figure: float | None) -> str:
    if figure is None:
        return "no figure for"
    return f"{figure:,.0f} kg"


def manure_table(answer: WinterManure) -> Table:
    """A row a group: nitrogen and phosphate by rations and by the table, volume to store."""
    columns = (
        Column("group", "Group id", full=True),
        Column("group_name", "Group", of="name"),
        Column("head_days", "Head-days", "", 0, full=True),
        Column("n_kg", "N, rations", "kg", 0),
        Column("standard_n_kg", "N, table", "kg", 0),
        Column("p2o5_kg", "P2O5, rations", "kg", 0),
        Column("standard_p2o5_kg", "P2O5, table", "kg", 0),
        Column("stored_m3", f"To {day_words(answer.storage_ends)}", "m3", 0),
        Column("all_m3", "To turnout", "m3", 0),
        Column("bedded", "Bedded", full=True),
    )
    return table_of("manure", "Excreted over the winter", answer.groups, columns)


def standard_table(answer: WinterManure) -> Table:
    """The rows of the published table that the groups were put into, and by what."""
    columns = (
        Column("group_name", "Group", of=lambda pair: pair[0].name),
        Column("row", "Counted as", of=lambda pair: pair[1].title),
        Column("litres", "A head a day", "l", 1, of=lambda pair: pair[1].litres),
        Column("n_g", "N", "g", 1, of=lambda pair: pair[1].n_g),
        Column("p2o5_g", "P2O5", "g", 1, of=lambda pair: pair[1].p2o5_g),
        Column("chosen_by", "Put there by", of=lambda pair: pair[1].chosen_by),
        Column("status", "Status", of=lambda p: f"{p[1].status}, {p[1].chosen_status}"),
    )
    pairs = [(group, row) for group in answer.groups for row in group.rows]
    sources = dict.fromkeys(row.source for _, row in pairs)
    notes = tuple(f"Figures: {source}." for source in sources)
    return table_of("manure_standard", "Figures of the table", pairs, columns, notes)
