"""The stories of stores: what each holds, how its face moves, how long it lasts, last year."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from rationlp.after.face import StoreUse
from rationlp.after.lastyear import LastYear
from rationlp.after.stock import Spring
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.report.cautions import cautions_of, cautions_table
from rationlp.report.plan_words import lasting_line, stores_line
from rationlp.report.story import Part, Story, Words, always, full, in_workbook, on_screen
from rationlp.report.tables.stock import (
    carries_table,
    lasting_table,
    reasons_table,
    run_down_table,
    run_out_table,
    springs_table,
    stock_steps_table,
    stocks_table,
    uses_table,
)
from rationlp.report.tables.table import shown
from rationlp.report.winter_charts import run_down_chart
from rationlp.report.wording import counted, more_or_less
from rationlp.result import Caution


def stores_story(
    farm: Farm,
    stocks: Mapping[str, StoreStock],
    uses: Sequence[StoreUse],
    cautions: Sequence[Caution],
    steps: bool = False,
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


def last_year_story(difference: LastYear) -> Story:
    """The story of `clamp --thought --had`: the ratio, the reasons, what to write for this year."""
    parts = [*on_screen(always(Words((last_year_line(difference),))))]
    if difference.thought_t != difference.had_t:
        parts += always(reasons_table(difference), carries_table(difference))
        parts += on_screen(always(Words(difference.words, dashes=True)))
    return Story("last_year", tuple(parts), lambda: reasons_table(difference))


def last_year_line(last_year: LastYear) -> str:
    """The ratio in a sentence, and what could account for it by itself."""
    gap = last_year.thought_t - last_year.had_t
    if not gap:
        return (
            f"{last_year.name}: {last_year.had_t:g} t had, as expected. There is nothing to explain"
            " or to carry on."
        )
    word = more_or_less(-gap)
    line = (
        f"{last_year.name}: {last_year.had_t:g} t had where {last_year.thought_t:g} t were"
        f" expected, {shown(100.0 * last_year.ratio, 1)} %: {shown(abs(gap), 1)} t {word}."
    )
    best = [reason.name for reason in last_year.reasons if reason.believable]
    if best:
        line += f" Enough by itself and within the usual: {', or '.join(best)}."
    elif last_year.reasons[0].needed is not None:
        line += f" Nearest to the usual, though outside it: {last_year.reasons[0].name}."
    return line


NOTHING = "This farm has nothing in store."


def last_story(
    farm: Farm,
    springs: Sequence[Spring],
    cautions: Sequence[Caution],
    remarks: Sequence[str] = (),
    exit_code: int = 0,
) -> Story:
    """The story of `last`. springs: turnout as it is, and where asked for earlier and later.
    cautions: what the stores call for. remarks: sentences that come first.
    """
    stores = next(spring.stores for spring in springs if not spring.days)
    sentences = (stores_line(stores), *map(lasting_line, stores), *remarks)
    if not any(sentences):
        sentences = (NOTHING,)
    later: tuple[Part, ...] = ()
    if len(springs) > 1:
        later = full(springs_table(springs, farm.currency))
    parts = (
        *on_screen(always(Words(sentences))),
        *on_screen(always(run_down_chart(stores))),
        *always(run_out_table(stores)),
        *on_screen(full(run_down_table(stores))),
        *in_workbook(lasting_table(stores), cautions_table(cautions)),
        *later,
        *on_screen(always(cautions_of(cautions))),
    )
    return Story(
        "last",
        parts,
        lambda: lasting_table(stores),
        days=(farm.start, farm.turnout),
        exit_code=exit_code,
        hint="Week by week, and with turnout three weeks early and late: `--full`.",
    )
