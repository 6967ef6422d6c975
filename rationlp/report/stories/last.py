"""How long stores last: a sentence a store, the run-down, turnout earlier and later."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from rationlp.after.stock import Spring
from rationlp.farm.farm import Farm
from rationlp.report.cautions import cautions_of
from rationlp.report.plan_words import lasting_line, stores_line
from rationlp.report.story import Part, Story, Words, always, full, in_workbook, on_screen
from rationlp.report.tables.cautions import cautions_table
from rationlp.report.tables.lasting import (
    lasting_table,
    run_down_table,
    run_out_table,
    springs_table,
)
from rationlp.report.winter_charts import run_down_chart
from rationlp.result import Caution

NOTHING = "This farm has nothing in store."


def last_story(
    farm: Farm,
    springs: Sequence[Spring],
    cautions: Sequence[Caution],
    remarks: Sequence[str] = (),
    document: Callable[[], dict[str, Any]] = dict,
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
        document,
        days=(farm.start, farm.turnout),
        exit_code=exit_code,
        hint="Week by week, and with turnout three weeks early and late: `--full`.",
    )
