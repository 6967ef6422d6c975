"""Reasons in sentences: why a ration or a winter's plan is what it is, or why there is none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import floor, log10

from rationlp.after.carried import CarriedProduct, Waste
from rationlp.after.excretion import Excretion
from rationlp.ask.enough import SingleChange
from rationlp.ask.fix import FedWhy, Fix
from rationlp.ask.why import Reasons
from rationlp.ask.why_short import ShortAlone
from rationlp.ask.why_winter import StoreWhy, WinterBinding, WinterNear, WinterWhy
from rationlp.needs.standards import STANDARDS
from rationlp.report.story import Content, Words
from rationlp.report.tables.table import Column, Table, shown, table_of
from rationlp.result import ClashPart, FedSupply, GroupRation

_LEAST_WASTE_SHARE = 0.02
_PLENTY = 1.5


def why_line(why: Reasons, currency: str) -> str:
    """What the ration stands at, cost of more milk or gain, which feeds are just in or out."""
    sentences = []
    if why.binding:
        sentences.append(
            "Why this ration: what it stands at is"
            f" {'; '.join(limit.words for limit in why.binding)}."
        )
    if why.more_product is not None:
        cost = why.more_product.cost
        verb = "costs nothing"
        if cost >= 0.0005:
            verb = f"costs {currency} {shown(cost, 3)}"
        sentences.append(f"Within the same limits {why.more_product.what} more {verb}.")
    sentences += [near.words for near in why.near]
    return " ".join(sentences)


def ranges_table(why: Reasons, name: str) -> Table:
    """How far each feed of the ration could move, all needs met, at no more than 1 % more cost."""
    columns = (
        Column("feed", "Feed", of="name"),
        Column("kg_fresh", "Cheapest", "kg", 2),
        Column("least_kg_fresh", "Least", "kg", 2),
        Column("most_kg_fresh", "Most", "kg", 2),
    )
    title = (
        f"{name}: how far each feed could move at no more than 1 % more cost, fresh, a head a day"
    )
    return table_of("ranges", title, why.ranges, columns)


def leaves_line(leaves: Excretion | None) -> str:
    """What leaves the animal, with its sources; empty where nothing could be worked out."""
    if leaves is None:
        return ""
    sentence = (
        f"Excreted per head per day (for information): {shown(leaves.n_excreted_g, 0)} g nitrogen"
    )
    if leaves.n_efficiency is not None:
        sentence += (
            f" ({shown(100.0 * leaves.n_efficiency, 0)} % of that eaten is in milk and gain)"
        )
    if leaves.p_excreted_g is not None:
        sentence += f", {shown(leaves.p_excreted_g, 1)} g phosphorus"
    sentence += f", methane {shown(leaves.methane_g, 0)} g ({leaves.ym:g} % of gross energy)"
    if leaves.methane_second_g is not None and leaves.second_percent is not None:
        sentence += (
            f", by a second equation {shown(leaves.methane_second_g, 0)} g"
            f" ({shown(leaves.second_percent, 1)} %)"
        )
    if leaves.per_kg:
        per = leaves.per_kg
        nitrogen, methane = shown(per["n_excreted_g"], 1), shown(per["methane_g"], 1)
        sentence += f"; for a kg of {leaves.product} {nitrogen} g nitrogen and {methane} g methane"
    if leaves.p_unknown:
        sentence += f"; phosphorus is not known of {', '.join(leaves.p_unknown)}"
    return f"{sentence}. Sources: {'; '.join(leaves.sources)}."


def carried_line(carried: CarriedProduct | None) -> str:
    """The milk or gain that energy and protein would carry."""
    if carried is None:
        return ""
    unit, places = "kg of gain", 2
    if carried.product == "milk":
        unit, places = "kg of milk", 1

    def amount(value: float | None) -> str:
        if value is None:
            return "not even what the animal needs besides"
        return f"{shown(value, places)} {unit}"

    sentence = f"Without any margin the energy would carry {amount(carried.by_energy)}"
    if carried.by_protein is not None or carried.limited_by == "protein":
        by_protein = amount(carried.by_protein)
        if (carried.by_protein or 0.0) > _PLENTY * (carried.by_energy or 0.0) > 0.0:
            by_protein = "more than half as much again"
        sentence += f", the protein {by_protein}: {carried.limited_by} is the scarcer"
    standard = STANDARDS[carried.standard].title
    return f"{sentence} ({shown(carried.asked, places)} asked; {standard})."


def wasted_line(wasted: Waste | None, me_mj: float) -> str:
    """What of a ration is over, where it is worth saying."""
    if wasted is None:
        return ""
    sentences = []
    if wasted.erdp_g >= 1.0:
        sentences.append(
            f"{shown(wasted.erdp_g, 0)} g of degradable protein that the microbes have no"
            " energy for"
        )
    if wasted.me_mj >= _LEAST_WASTE_SHARE * me_mj:
        sentences.append(f"{shown(wasted.me_mj, 1)} MJ ME above the need")
    if wasted.mp_g >= 1.0:
        sentences.append(f"{shown(wasted.mp_g, 0)} g of metabolisable protein above the need")
    if sentences:
        return f"Wasted a head a day: {'; '.join(sentences)}."
    return ""


def fix_lines(fix: Fix | None, currency: str) -> Iterator[str]:
    """The cheapest change of two feeds that puts a fed ration right; nothing if it is right."""
    if fix is None:
        return
    if fix.not_theirs:
        told = "; ".join(fix.not_theirs)
        yield f"{told}. Take it out of the ration first, then ask again what is short."
        return
    if not fix.changes and fix.minerals_only:
        yield (
            "No mineral of the list, in an amount that can be weighed and within its limits, mends"
            f" what is short: {', '.join(fix.still_short)} a head a day. Ask for one that does."
        )
        return
    if not fix.changes and fix.still_short:
        yield (
            "What would put this right is too little to weigh; short without it:"
            f" {', '.join(fix.still_short)} a head a day."
        )
        return
    if not fix.changes:
        yield (
            "No change of two feeds, in amounts that can be weighed, puts this right: `rationlp"
            " ration` looks for another ration."
        )
        return
    moves = "; ".join(
        f"{change.name} {_kg(change.from_kg_fresh)} → {_kg(change.to_kg_fresh)} kg"
        for change in fix.changes
    )
    if fix.cost >= 0.0:
        verb = f"costs {currency} {shown(fix.cost, 3)}"
    else:
        verb = f"saves {currency} {shown(-fix.cost, 3)}"
    yield (
        "Cheapest change of at most two feeds that puts it right, minerals besides, fresh, a head a"
        f" day: {moves}. It {verb} a head a day."
    )
    if fix.still_short:
        yield f"Still short then: {', '.join(fix.still_short)} a head a day."


def _kg(kg: float) -> str:
    """Kilograms to the gram-step of minerals where they are that few."""
    if 0.0 < kg < 0.1:
        return shown(kg, 3)
    return shown(kg, 2)


def fed_lines(why: FedWhy, fed: FedSupply, currency: str) -> tuple[str, ...]:
    """Everything that is said of a ration already fed, sentence by sentence."""
    sentence = (
        carried_line(why.carried),
        wasted_line(why.wasted, fed.me_mj_per_kg_dm * fed.dm_kg),
        *fix_lines(why.fix, currency),
        leaves_line(why.leaves),
    )
    return tuple(line for line in sentence if line)


def short_fed_lines(why: FedWhy, currency: str) -> tuple[str, ...]:
    """What puts a fed ration right; nothing where nothing is wrong."""
    return tuple(fix_lines(why.fix, currency))


def why_contents(why: Reasons, name: str, currency: str) -> tuple[Content, ...]:
    """All reasons of one group's ration."""
    reasons = Words((why_line(why, currency),))
    return reasons, ranges_table(why, name), Words((leaves_line(why.leaves),))


NO_REMEDY = "No single change that was looked for would be enough by itself."
OWN = "the farm's own figure"
ENOUGH = (
    "Each of these by itself would be enough (checked by solving again), the smallest change first:"
)


def clash_line(group: GroupRation) -> str:
    """The needs and limits that cannot be kept together; empty where that is not proved."""
    clash = group.clash
    if clash is None:
        return ""
    parts = [_part_words(part) for part in clash.parts]
    if len(parts) == 1:
        return f"What cannot be kept by any ration of these feeds: {parts[0]}."
    if all(part.whose == OWN for part in clash.parts):
        return (
            "The farm's own limits contradict one another:"
            f" {'; '.join(part.what for part in clash.parts)}."
        )
    end = "."
    if clash.minimal:
        end = "; any one of them left out, the others can be kept."
    return f"What cannot be kept together: {'; '.join(parts)}{end}"


def _part_words(part: ClashPart) -> str:
    if part.kind == "limit" and part.whose:
        return f"{part.what} ({part.whose})"
    return part.what


def remedy_lines(group: GroupRation) -> tuple[str, ...]:
    """What would each be enough by itself, smallest first; empty where nothing was found."""
    return tuple(remedy.words for remedy in group.remedies)


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
