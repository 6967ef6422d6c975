"""What the winter asks of stores and groups besides rations: outlets, bedding, mixes, days at
grass, periods, loads.

Everything here names something read before; `Yard` holds that, so that a wrong name is met with the
nearest one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Mix
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.feed_table import is_silage
from rationlp.farm.group import Bedding, Grazing
from rationlp.farm.store import Outlet
from rationlp.named import nearest
from rationlp.quantities import Quantity, quantities
from rationlp.read.calendar import Winter
from rationlp.read.feeds import overlay_own
from rationlp.read.schema import (
    BoughtTable,
    GrazingTable,
    GroupTable,
    MixTable,
    OutletTable,
    WinterTable,
    place,
)
from rationlp.records import dataclass
from rationlp.rules.blanks import complete

Tables = Mapping[str, list[Any]]
PERIOD_DAYS = {"week": 7, "fortnight": 14}
NEEDED_OF_GRASS = ("me_mj_per_kg_dm", "fme_mj_per_kg_dm", "cp_g_per_kg_dm", "ndf_g_per_kg_dm")


@dataclass(frozen=True)
class Yard:
    """What the farm's other tables said: what is on offer, the winter (None where its dates are
    wrong), feeds by key, quantities of the farm's own, and farm.toml itself: a name in it is known
    even where its table has a fault of its own.
    """

    raw: Mapping[str, Any]
    offers: tuple[Offer, ...]
    winter: Winter | None
    feeds: Mapping[str, Feed]
    own_quantities: Mapping[str, Quantity]

    def ids(self, *tables: str) -> tuple[str, ...]:
        """What the entries of these lists are named by."""
        given = [self.raw.get(name) for name in tables]
        entries = [
            one
            for listed in given
            if isinstance(listed, list)
            for one in listed
            if isinstance(one, Mapping)
        ]
        named = [str(one.get("id") or one.get("feed") or "") for one in entries]
        bought = [offer.id for offer in self.offers if offer.bought and "bought" in tables]
        return tuple(dict.fromkeys([name for name in (*named, *bought) if name]))


@dataclass(frozen=True)
class Stay:
    """When a group is fed in this winter, and when it grazes besides."""

    housed: date | None = None
    out: date | None = None
    grazing: tuple[Grazing, ...] = ()


@dataclass(frozen=True)
class WinterThings:
    """All of it, with everything that is wrong and what should be said."""

    outlets: tuple[Outlet, ...] = ()
    beddings: tuple[Bedding, ...] = ()
    mixes: tuple[Mix, ...] = ()
    periods: tuple[tuple[date, date], ...] = ()
    stays: dict[str, Stay] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    notices: tuple[Finding, ...] = ()


def read_winter(lists: Tables, winter: WinterTable | None, yard: Yard) -> WinterThings:
    """Outlets, bedding, mixes, periods and days of every group, checked against what the farm
    has.
    """
    findings: list[Finding] = []
    notices: list[Finding] = []
    outlets = _outlets(lists["outlets"], yard, findings)
    beddings = _beddings(lists["bedding"], yard, findings)
    mixes = _mixes(lists["mixes"], yard, findings)
    for number, table in lists["bought"]:
        if table is not None:
            where = (
                place(("bought", number), yard.raw) if number >= 0 else f"prices.csv {table.feed}"
            )
            findings += _load_faults(table, where)
    stays: dict[str, Stay] = {}
    for number, group in lists["groups"]:
        if group is not None:
            stays[group.id] = _stay(
                group, place(("groups", number), yard.raw), yard, (findings, notices)
            )
    periods: tuple[tuple[date, date], ...] = ()
    if winter is not None and yard.winter is not None:
        periods = _periods(winter, yard.winter, findings)
    return WinterThings(outlets, beddings, mixes, periods, stays, tuple(findings), tuple(notices))


def _unknown(code: str, where: str, name: str, known: Iterable[str], what: str) -> Finding:
    ids = list(known)
    near = nearest(name, ids, 1, 0.4)
    remedy = f'nearest: "{near[0]}"' if near else f"ids of this farm: {', '.join(ids) or 'none'}"
    return Finding(code, where, f'no {what} "{name}"', remedy)


def _outlets(tables: list[Any], yard: Yard, findings: list[Finding]) -> tuple[Outlet, ...]:
    outlets: list[Outlet] = []
    for number, table in tables:
        if table is None:
            continue
        where = place(("outlets", number), yard.raw)
        if any(other.id == table.id for other in outlets):
            found = f'the id "{table.id}" stands twice'
            findings.append(Finding("IN116", where, found, "give every outlet its own id"))
        findings += _outlet_faults(table, where, yard)
        prices = (table.price_per_t_fresh, table.price_per_t_dm)
        amounts = (table.least_t_fresh, table.most_t_fresh)
        outlets.append(
            Outlet(table.id, table.name or table.id, tuple(table.stores), *prices, *amounts)
        )
    return tuple(outlets)


def _outlet_faults(table: OutletTable, where: str, yard: Yard) -> Iterable[Finding]:
    stores = yard.ids("stores")
    if not table.stores:
        yield Finding(
            "IN180",
            f"{where}.stores",
            "an outlet without a store",
            "name the stores that it would buy from",
        )
    for name in table.stores:
        if name not in stores:
            yield _unknown("IN180", f"{where}.stores", name, stores, "store")
    if len(set(table.stores)) < len(table.stores):
        yield Finding("IN180", f"{where}.stores", "a store named twice", "name each store once")
    if (table.price_per_t_fresh is None) == (table.price_per_t_dm is None):
        found = "no price" if table.price_per_t_fresh is None else "two prices"
        remedy = "give price_per_t_fresh or price_per_t_dm, one of them, net of loading and haulage"
        yield Finding("IN181", where, found, remedy)
    least, most = table.least_t_fresh, table.most_t_fresh
    if least is not None and most is not None and least > most:
        found = f"least_t_fresh {least:g} above most_t_fresh {most:g}"
        yield Finding("IN117", where, found, "the least cannot pass the most")


def _beddings(tables: list[Any], yard: Yard, findings: list[Finding]) -> tuple[Bedding, ...]:
    beddings: list[Bedding] = []
    feeds = {offer.id: offer.feed for offer in yard.offers}
    stores, groups = yard.ids("stores"), yard.ids("groups")
    for number, table in tables:
        if table is None:
            continue
        where = place(("bedding", number), yard.raw)
        if table.store not in stores:
            findings.append(_unknown("IN182", f"{where}.store", table.store, stores, "store"))
        elif table.store in feeds and is_silage(feeds[table.store]):
            found = f'silage, "{table.store}", as bedding'
            findings.append(Finding("IN182", f"{where}.store", found, "name a store of straw"))
        if table.group not in groups:
            findings.append(_unknown("IN182", f"{where}.group", table.group, groups, "group"))
        if any((other.store, other.group) == (table.store, table.group) for other in beddings):
            found = f'"{table.store}" under "{table.group}" stands twice'
            findings.append(
                Finding("IN182", where, found, "add the two amounts together in one table")
            )
        beddings.append(Bedding(table.store, table.group, table.kg_fresh_per_head_day))
    return tuple(beddings)


def _mixes(tables: list[Any], yard: Yard, findings: list[Finding]) -> tuple[Mix, ...]:
    mixes: list[Mix] = []
    held: dict[str, str] = {}
    for number, table in tables:
        if table is None:
            continue
        where = place(("mixes", number), yard.raw)
        if any(other.id == table.id for other in mixes):
            found = f'the id "{table.id}" stands twice'
            findings.append(Finding("IN116", where, found, "give every mix its own id"))
        findings += _mix_faults(table, where, yard, held)
        held.update({one.group: table.id for one in table.groups})
        first = table.groups[0].portion if table.groups else 1.0
        portions = {one.group: one.portion / first for one in table.groups}
        mixes.append(Mix(table.id, portions, frozenset(table.top_up)))
    return tuple(mixes)


def _mix_faults(
    table: MixTable, where: str, yard: Yard, held: Mapping[str, str]
) -> Iterable[Finding]:
    here = f"{where}.groups"
    names = [one.group for one in table.groups]
    groups, offers = yard.ids("groups"), yard.ids("stores", "bought")
    if len(set(names)) < 2:
        found = f"a mix for {len(set(names))} group" + ("" if names else "s")
        yield Finding(
            "IN183", here, found, "name at least two groups; a group alone has its own mix anyway"
        )
    for name in dict.fromkeys(names):
        if name not in groups:
            yield _unknown("IN183", here, name, groups, "group")
        elif name in held:
            found = f'"{name}" gets the mix "{held[name]}" already'
            yield Finding(
                "IN183", here, found, "a group can get one mix; divide the group if it gets two"
            )
        if names.count(name) > 1:
            yield Finding("IN183", here, f'"{name}" stands twice', "name each group once")
    for name in table.top_up:
        if name not in offers:
            yield _unknown("IN183", f"{where}.top_up", name, offers, "store or bought feed")


def _load_faults(table: BoughtTable, where: str) -> Iterable[Finding]:
    load = table.load_t
    if load is None:
        if table.whole_loads:
            yield Finding(
                "IN187",
                where,
                "whole loads of no stated size",
                "give load_t, the tonnes fresh of a load",
            )
        return
    if table.whole_loads and table.most_t is not None and table.most_t < load:
        found = f"most_t {table.most_t:g} below a load of {load:g} t"
        yield Finding(
            "IN187",
            where,
            found,
            "a whole load is more than may be bought: check both, or leave it out",
        )
    if table.space_t is not None and table.space_t < load:
        found = f"space_t {table.space_t:g} below a load of {load:g} t"
        yield Finding(
            "IN187", where, found, "a load would not go in: order a smaller load, or make room"
        )


def _stay(
    table: GroupTable, where: str, yard: Yard, said: tuple[list[Finding], list[Finding]]
) -> Stay:
    findings, notices = said
    housed, out, winter = table.housed, table.out, yard.winter
    if housed is not None and out is not None and out <= housed:
        found = f"out {out} is not after housed {housed}"
        findings.append(
            Finding(
                "IN184", where, found, "a group cannot leave before it arrives: check both dates"
            )
        )
    if winter is not None:
        for key, day, never in (
            ("housed", housed, housed is not None and housed >= winter.turnout),
            ("out", out, out is not None and out <= winter.start),
        ):
            if never:
                found = (
                    f"{key} {day}: the group is not fed in the winter, {winter.start} to"
                    f" {winter.turnout}"
                )
                findings.append(
                    Finding(
                        "IN184", f"{where}.{key}", found, "check the year, or leave the group out"
                    )
                )
            elif day is not None and not winter.start <= day <= winter.turnout:
                found = f"{day} is outside the winter, {winter.start} to {winter.turnout}"
                notices.append(
                    Finding(
                        "LA210", f"{where}.{key}", found, "only the days of the winter are planned"
                    )
                )
    grazing: list[Grazing] = []
    for number, one in enumerate(table.grazing, start=1):
        here = f"{where}.grazing[{number}]"
        findings += _grazing_faults(one, here, (table, winter), grazing)
        feed = _grass(one, here, yard, findings)
        if feed is not None:
            grazing.append(
                Grazing(one.start, one.until, one.kg_dm_per_day, feed, one.cost_per_t_dm)
            )
    return Stay(housed, out, tuple(grazing))


def _grazing_faults(
    one: GrazingTable, here: str, days: tuple[GroupTable, Winter | None], before: list[Grazing]
) -> Iterable[Finding]:
    """The first thing that is wrong with the days of a grazing, if any."""
    group, winter = days
    housed, out = group.housed, group.out
    agreed = housed is None or out is None or housed < out
    if one.until <= one.start:
        yield Finding(
            "IN185", here, f"until {one.until} is not after from {one.start}", "check both dates"
        )
    elif winter is not None and not winter.start <= one.start < one.until <= winter.turnout:
        found = (
            f"{one.start} to {one.until} is not within the winter, {winter.start} to"
            f" {winter.turnout}"
        )
        yield Finding(
            "IN185", here, found, "give days of this winter: after turnout nothing is planned"
        )
    elif any(one.start < other.until and other.start < one.until for other in before):
        yield Finding(
            "IN185",
            here,
            "its days are in another grazing of this group",
            "let no two of them overlap",
        )
    elif agreed and (
        (housed is not None and one.start < housed) or (out is not None and one.until > out)
    ):
        found = "grass outside the days on which the group is fed"
        yield Finding("IN185", here, found, "keep it between housed and out, or change those")


def _grass(one: GrazingTable, here: str, yard: Yard, findings: list[Finding]) -> Feed | None:
    """What is grazed: a feed of the tables with the farm's own figures over it, every figure that a
    ration needs there.
    """
    feed = yard.feeds.get(one.feed)
    if feed is None:
        near = nearest(one.feed, list(yard.feeds), 1, 0.4)
        remedy = (
            f'nearest: "{near[0]}"'
            if near
            else "`rationlp feeds list` shows all keys; own feeds go in feeds.csv"
        )
        findings.append(Finding("IN119", f"{here}.feed", f'no feed "{one.feed}"', remedy))
        return None
    if feed.kind not in ("forage", "root"):
        remedy = "name grass or a grazed root or leaf crop, such as grazed_grass_autumn"
        findings.append(Finding("IN185", f"{here}.feed", f'"{one.feed}" is not grazed', remedy))
        return None
    known = {
        name for name, quantity in quantities().items() if quantity.basis in ("fresh", "dm", "feed")
    }
    unknown = [
        name for name in one.analysis if name not in known and name not in yard.own_quantities
    ]
    for name in unknown:
        near = nearest(name, [*known, *yard.own_quantities], 1, 0.5)
        hint = f'nearest: "{near[0]}"' if near else "use a column of the feed tables, unit included"
        findings.append(Finding("IN110", f"{here}.analysis.{name}", "unknown quantity", hint))
    if unknown:
        return None
    try:
        made = complete(
            overlay_own(feed, one.analysis, f"{here}.analysis") if one.analysis else feed
        )
    except InputError as trouble:
        findings += trouble.findings
        return None
    for name in NEEDED_OF_GRASS:
        if made.value(name) is None:
            found = f"{quantities()[name].title} of {made.name} is blank"
            findings.append(Finding("IN210", here, found, f"give {name} in its analysis"))
    return made


def _periods(
    table: WinterTable, winter: Winter, findings: list[Finding]
) -> tuple[tuple[date, date], ...]:
    where = "farm.toml winter"
    given = [name for name in ("periods", "period_days", "period_starts") if getattr(table, name)]
    if len(given) > 1:
        remedy = f"keep one of {' and '.join(given)}"
        findings.append(
            Finding("IN186", where, "the periods of the winter are given twice", remedy)
        )
        return ()
    if table.period_starts:
        findings += _start_faults(table.period_starts, winter)
        return _between(table.period_starts, winter.turnout)
    if table.period_days is not None:
        return periods_of(winter, table.period_days)
    return () if table.periods is None else periods_of(winter, table.periods)


def _start_faults(starts: list[date], winter: Winter) -> Iterable[Finding]:
    where = "farm.toml winter.period_starts"
    if starts[0] != winter.start:
        found = f"the first period begins {starts[0]}, the winter {winter.start}"
        yield Finding("IN186", where, found, "begin the list with the first day of the winter")
    for before, after in pairwise(starts):
        if after <= before:
            yield Finding(
                "IN186",
                where,
                f"{after} after {before} in the list",
                "put the days in order, each once",
            )
    if starts[-1] >= winter.turnout:
        found = f"a period from {starts[-1]}, turnout {winter.turnout}"
        yield Finding("IN186", where, found, "let every period begin before turnout")


def periods_of(winter: Winter, how: str | int) -> tuple[tuple[date, date], ...]:
    """The steps of a winter, first and last day (left out): `week`, `fortnight`, `month` (by the
    calendar) or a number of days.

    The last step ends at turnout and may be shorter.
    """
    starts = [winter.start]
    while True:
        here = starts[-1]
        if how == "month":
            after = date(here.year + here.month // 12, here.month % 12 + 1, 1)
        else:
            after = here + timedelta(days=PERIOD_DAYS[how] if isinstance(how, str) else how)
        if after >= winter.turnout:
            return _between(starts, winter.turnout)
        starts.append(after)


def _between(starts: list[date], end: date) -> tuple[tuple[date, date], ...]:
    return tuple(zip(starts, [*starts[1:], end], strict=True))
