"""The stories of stores: what each holds and how fast its face moves; why one gave other tonnes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from rationlp.after.face import StoreUse
from rationlp.after.lastyear import LastYear
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.report.cautions import cautions_of
from rationlp.report.lastyear import last_year_line
from rationlp.report.story import Story, Words, always, in_workbook, on_screen
from rationlp.report.tables.cautions import cautions_table
from rationlp.report.tables.lastyear import carries_table, reasons_table
from rationlp.report.tables.stock import stock_steps_table, stocks_table, uses_table
from rationlp.report.tables.table import shown
from rationlp.report.wording import counted
from rationlp.result import Caution


def stores_story(
    farm: Farm,
    stocks: Mapping[str, StoreStock],
    uses: Sequence[StoreUse],
    cautions: Sequence[Caution],
    steps: bool = False,
    document: Callable[[], dict[str, Any]] = dict,
) -> Story:
    """The story of `clamp`. uses: what a use does to each store. cautions: what these stores call
    for. steps: of every store, how it was worked out.
    """
    worked_out = in_workbook
    if steps:
        worked_out = always
    tables = [stocks_table(stocks)]
    if uses:
        tables.append(uses_table(stocks, uses))
    parts = [
        *on_screen(always(Words((_first(farm, stocks),)))),
        *always(*tables),
        *worked_out(*map(stock_steps_table, stocks.values())),
        *on_screen(always(Words(tuple(_remarks(farm, stocks, uses)), dashes=True))),
        *on_screen(always(cautions_of(cautions))),
        *in_workbook(cautions_table(cautions)),
    ]
    return Story(
        "clamp",
        tuple(parts),
        lambda: stocks_table(stocks),
        document,
        hint="Volumes, densities and losses: `--full`; step by step: --store ID.",
    )


def _first(farm: Farm, stocks: Mapping[str, StoreStock]) -> str:
    low, typical, high = (
        shown(sum(getattr(stock.edible_t_dm, side) for stock in stocks.values()), 0)
        for side in ("low", "typical", "high")
    )
    stores = counted(len(stocks), "store")
    return f"{farm.name}: {typical} t DM to eat ({low} to {high}) in {stores}."


def _remarks(
    farm: Farm, stocks: Mapping[str, StoreStock], uses: Sequence[StoreUse]
) -> Iterator[str]:
    used = {use.store for use in uses}
    for use in uses:
        yield from use.words
    for store in farm.stores:
        if store.id in stocks and store.id not in used:
            yield f"{store.name}: no group may get it."


def last_year_story(difference: LastYear, document: Callable[[], dict[str, Any]] = dict) -> Story:
    """The story of `clamp --thought --had`: the ratio, the reasons, what to write for this year."""
    parts = [*on_screen(always(Words((last_year_line(difference),))))]
    if difference.thought_t != difference.had_t:
        parts += always(reasons_table(difference), carries_table(difference))
        parts += on_screen(always(Words(difference.words, dashes=True)))
    return Story("last_year", tuple(parts), lambda: reasons_table(difference), document)
