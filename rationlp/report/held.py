"""Have I enough? in words: the verdict first, then crop by crop, and how it was worked out."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from rationlp.ask.held import ROOTS, CropHeld, ForageBalance
from rationlp.farm.farm import Farm
from rationlp.farm.feed import ROOT
from rationlp.records import dataclass
from rationlp.report.tables.table import Column, Table, shown, table_of
from rationlp.report.wording import day_words

_NOTE = (
    "Held: what can be eaten, less bedding, what is promised to buyers and what must be left at"
    " turnout. Would eat: each group's cheapest ration as if no store ran out, waste at the"
    " trough included. An estimate before any plan: `rationlp winter` shares out what there is."
    " Lasts: blank where none is eaten, or it would last for more than a year."
)
QUESTION = "Have I enough?"
DAYS_OF_YEAR = 365
LEAST_T_DM = 0.05
"""What is less than this is not called short [t DM]: it is rounded away."""


def crop_words(crop: str) -> str:
    """`grass_silage` as people say it."""
    if crop == ROOT:
        return ROOTS
    return crop.replace("_", " ")


@dataclass(frozen=True)
class EnoughWords:
    """Have I enough? in its parts. answer: without a full stop; stock: what it goes by, a sentence
    (none without forage); short: each crop that is short.
    """

    answer: str
    stock: str = ""
    short: tuple[str, ...] = ()


def enough_words(farm: Farm, held: ForageBalance) -> EnoughWords:
    """The answer, and which crop is short."""
    whole, turnout = held.whole, day_words(farm.turnout)
    if not whole.stores:
        return EnoughWords("No forage is in store")
    against = (
        f"{shown(whole.held_t_dm.typical, 0)} t DM held, {shown(whole.would_eat_t_dm, 0)} t would"
        " be eaten"
    )
    if whole.days is None:
        return EnoughWords("Nothing here is eaten", f"{against} to {turnout}.")
    answer = "Yes, in all"
    if whole.short_t_dm >= LEAST_T_DM:
        answer = f"No: {shown(whole.short_t_dm, 0)} t DM short in all"
    elif whole.held_t_dm.low < whole.would_eat_t_dm:
        answer = "Only just, in all: with the low stock it is short"
    stock = f"{against} to {turnout} ({held.days} days); at that rate it lasts"
    short = (_short_words(farm, crop) for crop in held.crops if crop.short_t_dm >= LEAST_T_DM)
    return EnoughWords(answer, f"{stock} {_lasts(farm, whole)}.", tuple(short))


def enough_line(farm: Farm, held: ForageBalance) -> str:
    """The answer in a sentence or two: in all, and which crop is short."""
    words = enough_words(farm, held)
    line = f"{QUESTION} {words.answer}."
    if words.stock:
        line = f"{QUESTION} {words.answer}: {words.stock}"
    if not words.short:
        return line
    return f"{line} Short: {'; '.join(words.short)}."


def _lasts(farm: Farm, crop: CropHeld) -> str:
    assert crop.days is not None
    ends = _ends(farm, crop)
    if ends < farm.turnout:
        return f"{crop.days:.0f} days, to {day_words(ends)}"
    if crop.days > DAYS_OF_YEAR:
        return "more than a year"
    return f"{crop.days:.0f} days"


def _ends(farm: Farm, crop: CropHeld) -> date:
    """The first day without enough, at the mean rate; turnout where it is later than that."""
    assert crop.days is not None
    if crop.days >= (farm.turnout - farm.start).days:
        return farm.turnout
    return farm.start + timedelta(days=int(crop.days))


def _short_words(farm: Farm, crop: CropHeld) -> str:
    places = 1
    if crop.short_t_dm >= 1.0:
        places = 0
    lasts = day_words(_ends(farm, crop))
    return f"{crop_words(crop.crop)} {shown(crop.short_t_dm, places)} t DM (lasts to {lasts})"


def held_table(held: ForageBalance) -> Table:
    """Held against eaten, a row a crop and one for all."""
    columns = (
        Column("crop", "Forage", of=_forage),
        Column("held_t_dm", "Held", "t DM", 1, of="held_t_dm.typical"),
        Column("low_t_dm", "low", "", 1, of="held_t_dm.low"),
        Column("high_t_dm", "high", "", 1, of="held_t_dm.high"),
        Column("would_eat_t_dm", "Would eat", "t DM", 1),
        Column("short_t_dm", "Short", "t DM", 1, of=_short),
        Column("days", "Lasts days", "", 0, of=_days),
    )
    title = "Held against what would be eaten to turnout"
    return table_of("held", title, (*held.crops, held.whole), columns, (_NOTE,))


def _forage(crop: CropHeld) -> str:
    name = crop_words(crop.crop)
    return name[:1].upper() + name[1:]


def _days(crop: CropHeld) -> float | None:
    """How long a crop lasts [days]; beyond a year the number says nothing."""
    if crop.days is None or crop.days > DAYS_OF_YEAR:
        return None
    return crop.days


def _short(crop: CropHeld) -> float | None:
    """What a crop is short by [t DM], where that is worth a word."""
    if crop.short_t_dm < LEAST_T_DM:
        return None
    return crop.short_t_dm


def not_counted_lines(held: ForageBalance) -> Iterator[str]:
    """Which groups and stores are left out, a sentence each."""
    if held.not_counted:
        names = ", ".join(held.not_counted)
        yield (
            f"Not counted, as no ration was found even with stores without end: {names}. `rationlp"
            " ration` says why."
        )
    if held.aside:
        aside = "; ".join(f"{name} {shown(t_dm, 0)} t DM" for name, t_dm in held.aside)
        yield f"Set aside first, for bedding, buyers or to be left at turnout: {aside}."
    if held.not_allowed:
        names = "; ".join(held.not_allowed)
        yield f"Not counted, as no group may be given it (barred or kept for others): {names}."
