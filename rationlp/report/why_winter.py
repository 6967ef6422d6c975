"""Why a winter's plan is what it is; and why a group is short where there is no plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import floor, log10

from rationlp.ask.enough import SingleChange
from rationlp.ask.why_short import ShortAlone
from rationlp.ask.why_winter import StoreWhy, WinterBinding, WinterNear, WinterWhy
from rationlp.report.story import Words
from rationlp.report.tables.table import Column, Table, shown, table_of
from rationlp.report.why import ENOUGH, NO_REMEDY, clash_line, remedy_lines

_NOTE = (
    "Costs: what one unit more of a need adds to the cost of the winter, or one unit more of a"
    " limit allowed takes off it, a head a day: the mean of the days on which it binds, least and"
    " most of single periods. From the marginal values of the cheapest plan; what nobody pays"
    " (energy above need, minerals short) is in it."
)
ENOUGH_CHANGES = (
    "Each of these by itself would be feed enough for the whole winter (planned again with it):"
)
NO_CHANGE = (
    "No single change that was thought of would be enough: more in one store, more of one feed that"
    " can be bought, fewer head of one group that is short, a lower gain of one group of growing"
    " cattle, or turnout up to six weeks earlier."
)
_TOLD = 0.01
"""What a unit comes to over the winter and all head from which it is told [currency]."""
_FIGURES = 2


def binding_table(why: WinterWhy, currency: str) -> Table:
    """What binds in each part of a group, when, and its cost [currency a head a day a unit]."""
    columns = (
        Column("group", "Group", of="name"),
        Column("what", "At its limit"),
        Column("unit", "Unit"),
        Column("cost", "Costs a unit", currency, varies=True),
        Column("least", "least", varies=True),
        Column("most", "most", varies=True),
        Column("weeks", "Weeks", "", 0, of=lambda limit: limit.days / 7.0),
        Column("when", "When", of=_spans),
    )
    title = "What binds over the winter and what it costs"
    binding = [limit for limit in why.binding if limit.cost * limit.head_days >= _TOLD]
    if not binding:
        return Table("why", title, columns, ())
    return table_of("why", title, binding, columns, (_NOTE,), lambda limit: _places(limit.cost))


def _spans(limit: WinterBinding) -> str:
    """The days on which a limit binds."""
    if limit.always:
        return "all winter"
    return "; ".join(f"{first} to {last}" for first, last in limit.spans)


def _places(cost: float) -> int:
    """Decimals that show two figures of a price, three at least and six at most."""
    if cost <= 0.0:
        return 6
    return min(max(_FIGURES - 1 - floor(log10(cost)), 3), 6)


def winter_why_words(why: WinterWhy, currency: str) -> Iterator[str]:
    """Stores and bought feeds, a sentence each."""
    if why.reason:
        yield f"Why this plan: {why.reason}."
        return
    for store in why.stores:
        yield _store_words(store, currency)
    for near in why.near:
        yield near_words(near)


def _store_words(store: StoreWhy, currency: str) -> str:
    if store.saves is None:
        return f"{store.name}: {store.why}."
    if store.saves < 0.005:
        return f"{store.name}: a tonne of dry matter more saves nothing: {store.why}."
    return (
        f"{store.name}: a tonne of dry matter more saves {currency} {shown(store.saves, 2)} this"
        f" winter: {store.why}."
    )


def near_words(near: WinterNear) -> str:
    """A feed only just in the plan or only just out of it, in a sentence."""
    change = shown(max(100.0 * abs(near.change), 0.1), 1)
    if near.within:
        return (
            f"{near.name} is only just bought: with its price {change} % higher none of it"
            " would be."
        )
    end = ", if not before (an estimate, not found again by solving)"
    if near.checked:
        end = ""
    return f"{near.name} is only just out: it is bought when its price falls by {change} %{end}."


def enough_words(enough: Sequence[SingleChange], currency: str) -> Words:
    """Single changes that would make the winter possible."""
    if not enough:
        return Words((NO_CHANGE,))
    lines = []
    for change in enough:
        cost = ""
        if change.cost is not None:
            cost = f" The winter then costs {currency} {change.cost:,.0f} in all."
        lines.append(f"{change.words}{cost}")
    return Words(tuple(lines), ENOUGH_CHANGES, dashes=True)


def short_lines(alone: ShortAlone) -> Iterator[str]:
    """The same as sentences."""
    who = f"{alone.name} by itself, {alone.on} to {alone.until}, with every store to itself"
    if alone.fed:
        yield f"{who}: it has a ration; what is short is in the stores, or goes to others."
        return
    yield f"{who}: it has no ration either."
    clash = clash_line(alone.ration)
    if clash:
        yield clash
    remedies = remedy_lines(alone.ration)
    if not remedies:
        yield NO_REMEDY
        return
    yield ENOUGH
    yield from (f"- {line}" for line in remedies)
