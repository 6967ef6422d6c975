"""Tables of last year's difference: what each reason would have had to be, and what to write into
farm.toml for this year.
"""

from __future__ import annotations

from rationlp.after.lastyear import LastYear, Reason
from rationlp.report.tables.stock import spread_words
from rationlp.report.tables.table import Column, Table

_REASONS = (
    Column("reason", "What alone would explain it"),
    Column("was", "Reckoned", "", None, "right"),
    Column("needed", "Would have to be", "", None, "right"),
    Column("usual_low", "Usual from", "", None, "right"),
    Column("usual_high", "to", "", None, "right"),
    Column("unit", "Unit"),
    Column("believable", "Believable"),
    Column("explains_t_fresh", "Could account for", "t", 0, "right"),
    Column("key", "Key", full=True),
    Column("status", "Status", full=True),
    Column("source", "Source", full=True),
)
_CARRIES = (
    Column("key", "Key"),
    Column("value", "Value", "", None, "right"),
    Column("in_place_of", "In place of"),
    Column("t_fresh", "Then for the animals", "t fresh", 0, "right"),
    Column("t_dm", "", "t DM", 1, "right"),
    Column("t_dm_range", "low–high"),
    Column("now_t_fresh", "As it stands", "t fresh", 0, "right"),
)


def reasons_table(last_year: LastYear) -> Table:
    """Every single reason, the believable first: as reckoned, as it would have had to be, its usual
    range.
    """
    rows = tuple(_row(reason) for reason in last_year.reasons)
    notes = (
        (
            "Usual: what such a figure is out by as a rule, to either side; no single reason has to"
            " be the whole of it. Could account for: how much of the difference the end of that"
            " range accounts for at most."
        ),
    )
    places = tuple(_places(reason) for reason in last_year.reasons)
    return Table("reasons", "Single reasons, the believable first", _REASONS, rows, notes, places)


def _row(reason: Reason) -> tuple[object, ...]:
    by = 100.0 if reason.unit == "share" else 1.0
    figures = (reason.now, reason.needed, reason.usual.low, reason.usual.high)
    scaled = tuple(None if value is None else value * by for value in figures)
    unit = "%" if reason.unit == "share" else reason.unit
    return (
        reason.name,
        *scaled,
        unit,
        "yes" if reason.believable else "no",
        reason.explains_t,
        reason.key,
        reason.status,
        reason.source,
    )


def _places(reason: Reason) -> int:
    if reason.unit in ("m", "t DM/ha"):
        return 2
    return 1 if reason.unit == "share" else 0


def carries_table(last_year: LastYear) -> Table:
    """The keys of this year's store, one instead of the other, and what would then reach the
    animals.
    """
    rows = tuple(
        (
            carry.key, carry.value, ", ".join(carry.in_place_of), carry.t_fresh, carry.t_dm.typical,
            spread_words(carry.t_dm),
            last_year.now_t_fresh,
        )
        for carry in last_year.carries
    )  # fmt: skip
    places = tuple(
        3 if carry.key.startswith("loss_") else 1 if carry.value < 100.0 else 0
        for carry in last_year.carries
    )
    title = f'For this year, one of these in farm.toml under id = "{last_year.store}"'
    notes = (
        (
            "For the animals: losses in store and waste at the trough taken off, the reserve left"
            " in. Sizes, counts and dry matter are of one year: measure and analyse those anew."
        ),
    )
    return Table("carry", title, _CARRIES, rows, notes, places)
