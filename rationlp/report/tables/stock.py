"""Tables of what is in store: tonnes and losses, what a use does, every step; last year."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rationlp.after.face import StoreUse
from rationlp.after.lastyear import Carry, LastYear, Reason
from rationlp.farm.store import Spread, StoreStock
from rationlp.report.tables.table import Column, Table, percent, shown, table_of


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
        Column("density_kg_dm_per_m3", "Density", "kg DM/m3", 0, True, _density),
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
    note = (
        f"Taken {sources}. Fewest head: at this amount a head. Widest face: for this herd at"
        " this height."
    )
    return table_of("uses", "The face, and how long it lasts", uses, columns, (note,))


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


_YES_NO = {True: "yes", False: "no"}
_REASONS = (
    Column("reason", "What alone would explain it", of="name"),
    Column("was", "Reckoned", varies=True, of=lambda reason: _in_unit(reason, reason.now)),
    Column("needed", "Would have to be", varies=True, of=lambda r: _in_unit(r, r.needed)),
    Column("usual_low", "Usual from", varies=True, of=lambda r: _in_unit(r, r.usual.low)),
    Column("usual_high", "to", varies=True, of=lambda reason: _in_unit(reason, reason.usual.high)),
    Column("unit", "Unit", of=lambda reason: reason.unit.replace("share", "%")),
    Column("believable", "Believable", of=lambda reason: _YES_NO[reason.believable]),
    Column("explains_t_fresh", "Could account for", "t", 0, of="explains_t"),
    Column("key", "Key", full=True),
    Column("status", "Status", full=True),
    Column("source", "Source", full=True),
)


def reasons_table(last_year: LastYear) -> Table:
    """Every single reason, the believable first: as reckoned, as needed, usual range."""
    note = (
        "Usual: what such a figure is out by as a rule, to either side; no single reason has to"
        " be the whole of it. Could account for: how much of the difference the end of that"
        " range accounts for at most."
    )
    title = "Single reasons, the believable first"
    return table_of("reasons", title, last_year.reasons, _REASONS, (note,), _places)


def _in_unit(reason: Reason, value: float | None) -> float | None:
    """A figure of a reason as it is printed: a share as a percentage."""
    if reason.unit == "share":
        return percent(value)
    return value


def _places(reason: Reason) -> int:
    return {"m": 2, "t DM/ha": 2, "share": 1}.get(reason.unit, 0)


def carries_table(last_year: LastYear) -> Table:
    """The keys of this year's store, one instead of another; what would reach the animals."""
    columns = (
        Column("key", "Key"),
        Column("value", "Value", varies=True),
        Column("in_place_of", "In place of", of=lambda carry: ", ".join(carry.in_place_of)),
        Column("t_fresh", "Then for the animals", "t fresh", 0),
        Column("t_dm", "", "t DM", 1, of="t_dm.typical"),
        Column("t_dm_range", "low–high", of=lambda carry: spread_words(carry.t_dm)),
        Column("now_t_fresh", "As it stands", "t fresh", 0, of=lambda _: last_year.now_t_fresh),
    )
    title = f'For this year, one of these in farm.toml under id = "{last_year.store}"'
    note = (
        "For the animals: losses in store and waste at the trough taken off, the reserve left"
        " in. Sizes, counts and dry matter are of one year: measure and analyse those anew."
    )
    return table_of("carry", title, last_year.carries, columns, (note,), _carry_places)


def _carry_places(carry: Carry) -> int:
    if carry.key.startswith("loss_"):
        return 3
    if carry.value < 100.0:
        return 1
    return 0
