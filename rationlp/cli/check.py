"""`rationlp check`: everything read, nothing solved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rationlp.cli.options import Answer, FarmArgument, FiguresOption, Format, FormatOption, OutputOption

if TYPE_CHECKING:
    from rationlp.read.objects import Farm
    from rationlp.report.tables import Table


def check(
    farm: FarmArgument,
    figures: FiguresOption = False,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Read the whole farm folder and show its groups, stores and feeds, and whatever is worth a second look."""
    from rationlp.cli.options import deliver, farm_inputs
    from rationlp.read.farm import read_farm
    from rationlp.report.documents import check_document
    from rationlp.report.tables import offers_table

    read = read_farm(farm)
    answer = Answer(
        text=lambda width: _text(read, figures, width),
        table=lambda: offers_table(read),
        document=lambda: check_document(read),
        sheets=lambda: _sheets(read, figures),
    )
    deliver(answer, form, output, farm_inputs(farm))


def _text(farm: Farm, figures: bool, width: int) -> str:
    from rationlp.after.cautions import farm_cautions
    from rationlp.report.tables import groups_table, notices_table, offers_table, origins_table, stores_table
    from rationlp.report.terminal import cautions_text, closed, tables_text, wrapped

    head = sum(group.head for group in farm.groups)
    cautions = farm_cautions(farm)
    counted = [(len(farm.notices), "worth a look"), (len({one.id for one in cautions}), "to be careful of")]
    said = ", ".join(f"{number} {words}" for number, words in counted if number) or "nothing to remark"
    first = (
        f"{farm.name}: no errors. {len(farm.groups)} groups, {head} head, {len(farm.stores)} stores, "
        f"{sum(offer.bought for offer in farm.offers)} bought feeds; {said}."
    )
    tables = [notices_table(farm.notices), groups_table(farm), stores_table(farm), offers_table(farm)]
    if figures:
        tables += [origins_table(offer, farm.own_quantities) for offer in farm.offers]
    return closed([wrapped(first, width), tables_text(tables, width), cautions_text(cautions, width)], width)


def _sheets(farm: Farm, figures: bool) -> list[Table]:
    from rationlp.report.results import farm_tables
    from rationlp.report.tables import origins_table

    return [*farm_tables(farm), *(origins_table(offer, farm.own_quantities) for offer in farm.offers if figures)]
