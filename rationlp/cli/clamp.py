"""`rationlp clamp`: what is in store, and what a use does to each clamp, bag and stack of bales."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, OutputOption

if TYPE_CHECKING:
    from rationlp.after.face import StoreUse
    from rationlp.farm.farm import Farm
    from rationlp.farm.store import StoreStock
    from rationlp.report.tables import Table

StoreOption = Annotated[
    list[str] | None,
    typer.Option(
        "--store", metavar="ID", help="Only this store, step by step; may be given more than once."
    ),
]
HeadOption = Annotated[
    int | None,
    typer.Option(
        "--head",
        metavar="N",
        min=1,
        help="So many animals eat it, instead of all that may; with --kg-fresh.",
    ),
]
KgOption = Annotated[
    float | None,
    typer.Option(
        "--kg-fresh",
        metavar="Q",
        min=0.001,
        max=1000.0,
        help="What each is given a day; spread to turnout if left out.",
    ),
]
ThoughtOption = Annotated[
    float | None,
    typer.Option(
        "--thought",
        metavar="T",
        help="Last year: tonnes fresh that one --store was thought to give; with --had.",
    ),
]
HadOption = Annotated[
    float | None,
    typer.Option(
        "--had", metavar="T", help="Last year: tonnes fresh that it gave; says what may explain it."
    ),
]


def clamp(
    farm: FarmArgument,
    store: StoreOption = None,
    head: HeadOption = None,
    kg_fresh: KgOption = None,
    thought: ThoughtOption = None,
    had: HadOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Show what every store holds and what of it can be eaten, how fast its face moves, and how
    long it lasts.
    """
    from rationlp.after.cautions import store_cautions
    from rationlp.after.face import stated_use, store_use
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.read.farm import read_farm
    from rationlp.report.documents import clamp_document
    from rationlp.report.tables import stocks_table
    from rationlp.report.tables.cautions import cautions_table
    from rationlp.stock.dry_matter import farm_stocks

    if head is not None and kg_fresh is None:
        raise typer.BadParameter("it goes with --kg-fresh", param_hint="--head")
    read = read_farm(farm)
    picked = _picked(read, store)
    if thought is not None or had is not None:
        if kg_fresh is not None:
            raise typer.BadParameter(
                "it does not go with --thought and --had", param_hint="--kg-fresh"
            )
        answer = _last_year(read, picked if store else [], thought, had)
        tell_notices(read.notices)
        deliver(answer, form, output, farm_inputs(farm))
        return
    every = farm_stocks(read)
    stocks = {key: every[key] for key in picked}
    stated = [
        (one, stated_use(read, one, stocks[one.id], head, kg_fresh))
        for one in read.stores
        if one.id in stocks
    ]
    uses = [store_use(read, one, stocks[one.id], use) for one, use in stated if use is not None]
    answer = Answer(
        text=lambda width: _text(read, stocks, uses, width, bool(store)),
        table=lambda: stocks_table(stocks),
        document=lambda: clamp_document(read, stocks, uses),
        sheets=lambda: [*_tables(stocks, uses, True), cautions_table(store_cautions(read, stocks))],
    )
    tell_notices(read.notices)
    deliver(answer, form, output, farm_inputs(farm))


def _last_year(farm: Farm, picked: list[str], thought: float | None, had: float | None) -> Answer:
    """Why one store gave other tonnes than thought. Raises InputError (IN522) for no single store
    and for no weights.
    """
    from rationlp.after.lastyear import last_year, tonnes_faults
    from rationlp.errors import Finding, InputError
    from rationlp.report.lastyear import last_year_document, last_year_text
    from rationlp.report.tables.lastyear import carries_table, reasons_table

    findings = tonnes_faults(thought, had)
    if len(picked) != 1:
        ids = ", ".join(store.id for store in farm.stores) or "none"
        findings.append(
            Finding(
                "IN522", "--store", f"{len(picked)} stores named", f"name one of this farm's: {ids}"
            )
        )
    if findings or thought is None or had is None:
        raise InputError(findings)
    found = last_year(
        farm, next(store for store in farm.stores if store.id == picked[0]), (thought, had)
    )
    return Answer(
        text=lambda width: last_year_text(found, width),
        table=lambda: reasons_table(found),
        document=lambda: last_year_document(farm, found),
        sheets=lambda: [reasons_table(found), carries_table(found)],
    )


def _picked(farm: Farm, wanted: list[str] | None) -> list[str]:
    """Ids of the stores asked for, in the farm's order; raises InputError that names the nearest of
    each unknown one.
    """
    from rationlp.errors import Finding, InputError, nearest_or

    known = [store.id for store in farm.stores]
    findings = []
    for name in wanted or ():
        if name not in known:
            other = f"stores of this farm: {', '.join(known) or 'none'}"
            remedy = nearest_or(name, known, other)
            findings.append(Finding("IN507", "--store", f'no store "{name}"', remedy))
    if findings:
        raise InputError(findings)
    return [key for key in known if not wanted or key in wanted]


def _text(
    farm: Farm, stocks: dict[str, StoreStock], uses: list[StoreUse], width: int, steps: bool
) -> str:
    from rationlp.after.cautions import store_cautions
    from rationlp.report.tables import shown
    from rationlp.report.terminal import cautions_text, closed, remarks_text, tables_text, wrapped

    low, typical, high = (
        shown(sum(getattr(stock.edible_t_dm, side) for stock in stocks.values()), 0)
        for side in ("low", "typical", "high")
    )
    first = (
        f"{farm.name}: {typical} t DM to eat ({low} to {high}) in {len(stocks)}"
        f" {'store' if len(stocks) == 1 else 'stores'}."
    )
    tables = _tables(stocks, uses, steps)
    used = {use.store for use in uses}
    remarks = [words for use in uses for words in use.words]
    remarks += [
        f"{one.name}: no group may get it."
        for one in farm.stores
        if one.id in stocks and one.id not in used
    ]
    cautions = cautions_text(store_cautions(farm, stocks), width)
    return closed(
        [wrapped(first, width), tables_text(tables, width), remarks_text(remarks, width), cautions],
        width,
    )


def _tables(stocks: dict[str, StoreStock], uses: list[StoreUse], steps: bool) -> list[Table]:
    from rationlp.report.tables import stock_steps_table, stocks_table, uses_table

    tables = [stocks_table(stocks), *([uses_table(stocks, uses)] if uses else [])]
    return [*tables, *(stock_steps_table(stock) for stock in stocks.values() if steps)]
