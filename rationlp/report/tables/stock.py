"""Tables of what is in store: tonnes and losses of every store, what a use does to it, and every
step of one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rationlp.after.face import StoreUse
from rationlp.farm.store import Spread, StoreStock
from rationlp.report.tables.table import Column, Table, shown


def spread_words(spread: Spread | None, decimals: int = 0) -> str | None:
    """A figure as "low-high", None where there is none."""
    if spread is None:
        return None
    return f"{shown(spread.low, decimals)}–{shown(spread.high, decimals)}"


def stocks_table(stocks: Mapping[str, StoreStock]) -> Table:
    """What every store holds and what of it can be eaten before waste at the trough [m3, kg DM/m3,
    t].
    """
    columns = (
        Column("id", "Id"),
        Column("volume_m3", "Volume", "m3", 0, "right", full=True),
        Column("density_kg_dm_per_m3", "Density", "kg DM/m3", 0, "right", full=True),
        Column("t_fresh", "Fresh", "t", 0, "right"),
        Column("t_dm", "DM", "t", 1, "right"),
        Column("lost_percent", "Lost", "%", 1, "right"),
        Column("edible_t_dm", "To eat", "t DM", 1, "right"),
        Column("edible_range", "low–high"),
        Column("trough_loss_percent", "Trough", "%", 0, "right"),
    )
    rows = tuple(
        (
            stock.store,
            stock.volume_m3,
            None if stock.density_kg_dm_per_m3 is None else stock.density_kg_dm_per_m3.typical,
            stock.t_fresh.typical,
            stock.t_dm.typical,
            100.0 * (1.0 - stock.edible_t_dm.typical / stock.t_dm.typical),
            stock.edible_t_dm.typical,
            spread_words(stock.edible_t_dm),
            100.0 * stock.trough_loss,
        )
        for stock in stocks.values()
    )
    return Table("stocks", "What is in store", columns, rows)


def uses_table(stocks: Mapping[str, StoreStock], uses: Sequence[StoreUse]) -> Table:
    """What the stated use does to every store: advance of the face against the least, herds and
    widths that suit, days.
    """
    columns = (
        Column("id", "Id"),
        Column("head", "Head", "", 0, "right"),
        Column("kg_fresh", "Each a day", "kg fresh", 1, "right"),
        Column("days", "Lasts", "days", 0, "right"),
        Column("advance_m_per_week", "Face moves", "m/week", 2, "right"),
        Column("least_m_per_week", "Needed", "m/week", 1, "right"),
        Column("verdict", "Verdict"),
        Column("smallest_herd", "Fewest head", "", 0, "right"),
        Column("widest_face_m", "Widest face", "m", 1, "right", full=True),
        Column("keep_as", "Better kept as"),
    )
    rows = []
    for use in uses:
        face = stocks[use.store].face
        slowest = None
        if face is not None:
            slowest = face.warn_m_per_week
        rows.append(
            (
                use.store,
                use.use.head,
                use.use.kg_fresh,
                use.days,
                use.advance_m_per_week,
                slowest,
                use.verdict,
                use.smallest_herd,
                use.widest_face_m,
                use.keep_as,
            )
        )
    sources = ", ".join(sorted({use.use.how for use in uses}))
    notes = (
        (
            f"Taken {sources}. Fewest head: at this amount a head. Widest face: for this herd"
            " at this"
            " height."
        ),
    )
    return Table("uses", "The face, and how long it lasts", columns, tuple(rows), notes)


def stock_steps_table(stock: StoreStock) -> Table:
    """Every step from what was measured to dry matter that can be eaten, with equation, source and
    status.
    """
    columns = (
        Column("step", "Step"),
        Column("value", "Value", "", 3, "right"),
        Column("unit", "Unit"),
        Column("equation", "Equation"),
        Column("status", "Status"),
        Column("source", "Source"),
    )
    rows = tuple((s.name, s.value, s.unit, s.equation, s.status, s.source) for s in stock.steps)
    return Table("stock_steps", f"{stock.store}: step by step", columns, rows)
