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


def reasons_table(found: LastYear) -> Table:
    """Every single reason, the believable first: as reckoned, as it would have had to be, its usual
    range.
    """
    rows = tuple(_row(one) for one in found.reasons)
    notes = (
        (
            "Usual: what such a figure is out by as a rule, to either side; no single reason has to"
            " be the whole of it. Could account for: how much of the difference the end of that"
            " range accounts for at most."
        ),
    )
    places = tuple(_places(one) for one in found.reasons)
    return Table("reasons", "Single reasons, the believable first", _REASONS, rows, notes, places)


def _row(one: Reason) -> tuple[object, ...]:
    by = 100.0 if one.unit == "share" else 1.0
    figures = (one.now, one.needed, one.usual.low, one.usual.high)
    scaled = tuple(None if value is None else value * by for value in figures)
    unit = "%" if one.unit == "share" else one.unit
    return (
        one.name,
        *scaled,
        unit,
        "yes" if one.believable else "no",
        one.explains_t,
        one.key,
        one.status,
        one.source,
    )


def _places(one: Reason) -> int:
    if one.unit in ("m", "t DM/ha"):
        return 2
    return 1 if one.unit == "share" else 0


def carries_table(found: LastYear) -> Table:
    """The keys of this year's store, one instead of the other, and what would then reach the
    animals.
    """
    rows = tuple(
        (
            one.key, one.value, ", ".join(one.in_place_of), one.t_fresh, one.t_dm.typical,
            spread_words(one.t_dm),
            found.now_t_fresh,
        )
        for one in found.carries
    )  # fmt: skip
    places = tuple(
        3 if one.key.startswith("loss_") else 1 if one.value < 100.0 else 0 for one in found.carries
    )
    title = f'For this year, one of these in farm.toml under id = "{found.store}"'
    notes = (
        (
            "For the animals: losses in store and waste at the trough taken off, the reserve left"
            " in. Sizes, counts and dry matter are of one year: measure and analyse those anew."
        ),
    )
    return Table("carry", title, _CARRIES, rows, notes, places)
