"""Tables of what is in store: tonnes and losses, what a use does to a store, every step of one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rationlp.after.face import StoreUse
from rationlp.farm.store import Spread, StoreStock
from rationlp.report.tables.table import Column, Table, shown, table_of


def spread_words(spread: Spread | None, decimals: int = 0) -> str | None:
    """A figure as "low-high", None where there is none."""
    if spread is None:
        return None
    return f"{shown(spread.low, decimals)}–{shown(spread.high, decimals)}"


def stocks_table(stocks: Mapping[str, StoreStock]) -> Table:
    """What every store holds and what can be eaten before waste at the trough [m3, kg DM/m3, t]."""
    columns = (
        Column("id", "Id", of="store"),
        Column("volume_m3", "Volume", "m3", 0, full=True),
        Column(
            "density_kg_dm_per_m3",
            "Density",
            "kg DM/m3",
            0,
            full=True,
            of=_density,
        ),
        Column("t_fresh", "Fresh", "t", 0, of="t_fresh.typical"),
        Column("t_dm", "DM", "t", 1, of="t_dm.typical"),
        Column("lost_percent", "Lost", "%", 1, of=_lost_percent),
        Column("edible_t_dm", "To eat", "t DM", 1, of="edible_t_dm.typical"),
        Column("edible_range", "low–high", of=lambda stock: spread_words(stock.edible_t_dm)),
        Column("trough_loss_percent", "Trough", "%", 0, of=lambda stock: 100.0 * stock.trough_loss),
    )
    return table_of("stocks", "What is in store", stocks.values(), columns)


def _density(stock: StoreStock) -> float | None:
    if stock.density_kg_dm_per_m3 is None:
        return None
    return stock.density_kg_dm_per_m3.typical


def _lost_percent(stock: StoreStock) -> float:
    return 100.0 * (1.0 - stock.edible_t_dm.typical / stock.t_dm.typical)


def uses_table(stocks: Mapping[str, StoreStock], uses: Sequence[StoreUse]) -> Table:
    """What the stated use does to every store: advance of the face, herds that suit, days."""
    columns = (
        Column("id", "Id", of="store"),
        Column("head", "Head", "", 0, of="use.head"),
        Column("kg_fresh", "Each a day", "kg fresh", 1, of="use.kg_fresh"),
        Column("days", "Lasts", "days", 0),
        Column("advance_m_per_week", "Face moves", "m/week", 2),
        Column("least_m_per_week", "Needed", "m/week", 1, of=lambda use: _slowest(stocks, use)),
        Column("verdict", "Verdict"),
        Column("smallest_herd", "Fewest head", "", 0),
        Column("widest_face_m", "Widest face", "m", 1, full=True),
        Column("keep_as", "Better kept as"),
    )
    sources = ", ".join(sorted({use.use.how for use in uses}))
    notes = (
        (
            f"Taken {sources}. Fewest head: at this amount a head. Widest face: for this herd at"
            " this height."
        ),
    )
    return table_of("uses", "The face, and how long it lasts", uses, columns, notes)


def _slowest(stocks: Mapping[str, StoreStock], use: StoreUse) -> float | None:
    """How fast a face has to move at least [m/week], None for a store without one."""
    face = stocks[use.store].face
    if face is None:
        return None
    return face.warn_m_per_week


def stock_steps_table(stock: StoreStock) -> Table:
    """Every step from what was measured to dry matter that can be eaten, with its source."""
    columns = (
        Column("step", "Step", of="name"),
        Column("value", "Value", "", 3),
        Column("unit", "Unit"),
        Column("equation", "Equation"),
        Column("status", "Status"),
        Column("source", "Source"),
    )
    return table_of("stock_steps", f"{stock.store}: step by step", stock.steps, columns)
