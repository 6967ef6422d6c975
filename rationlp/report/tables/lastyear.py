"""Tables of last year's difference: what each reason would have to be, what to write down."""

from __future__ import annotations

from rationlp.after.lastyear import Carry, LastYear, Reason
from rationlp.report.tables.stock import spread_words
from rationlp.report.tables.table import Column, Table, percent, table_of

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
    notes = (
        (
            "Usual: what such a figure is out by as a rule, to either side; no single reason has to"
            " be the whole of it. Could account for: how much of the difference the end of that"
            " range accounts for at most."
        ),
    )
    title = "Single reasons, the believable first"
    return table_of("reasons", title, last_year.reasons, _REASONS, notes, _places)


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
    notes = (
        (
            "For the animals: losses in store and waste at the trough taken off, the reserve left"
            " in. Sizes, counts and dry matter are of one year: measure and analyse those anew."
        ),
    )
    return table_of("carry", title, last_year.carries, columns, notes, _carry_places)


def _carry_places(carry: Carry) -> int:
    if carry.key.startswith("loss_"):
        return 3
    if carry.value < 100.0:
        return 1
    return 0
