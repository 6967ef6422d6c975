"""What the winter asks besides rations: outlets, bedding, mixes, loads, grazing, periods."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date, timedelta
from itertools import pairwise

from rationlp.errors import Faults
from rationlp.farm.farm import Mix
from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import is_silage
from rationlp.farm.group import Bedding, Grazing
from rationlp.farm.store import Outlet
from rationlp.quantities import quantities
from rationlp.read.calendar import Winter
from rationlp.read.draft import Draft
from rationlp.read.schema import (
    BoughtTable,
    GrazingTable,
    GroupTable,
    MixTable,
    OutletTable,
    WinterTable,
)
from rationlp.records import copied, dataclass
from rationlp.rules.blanks import complete

PERIOD_DAYS = {"week": 7, "fortnight": 14}
NEEDED_OF_GRASS = ("me_mj_per_kg_dm", "fme_mj_per_kg_dm", "cp_g_per_kg_dm", "ndf_g_per_kg_dm")
Periods = tuple[tuple[date, date], ...]


@dataclass(frozen=True)
class Stay:
    """When a group is fed in this winter, and when it grazes besides."""

    housed: date | None = None
    out: date | None = None
    grazing: tuple[Grazing, ...] = ()


@dataclass(frozen=True)
class WinterParts:
    """All that a winter's plan asks for besides rations; stays by group id."""

    outlets: tuple[Outlet, ...] = ()
    beddings: tuple[Bedding, ...] = ()
    mixes: tuple[Mix, ...] = ()
    periods: Periods = ()
    stays: dict[str, Stay] = field(default_factory=dict)


def read_winter(draft: Draft) -> WinterParts:
    """Outlets, bedding, mixes, periods and days of every group, checked against the farm."""
    outlets, beddings, mixes = _outlets(draft), _beddings(draft), _mixes(draft)
    for faults, table in draft.entries("bought"):
        _check_loads(table, faults)
    stays = {table.id: _stay(table, faults, draft) for faults, table in draft.entries("groups")}
    periods: Periods = ()
    if draft.winter is not None:
        periods = _periods(draft.tables["winter"], draft.winter, draft.faults.at("winter"))
    return WinterParts(outlets, beddings, mixes, periods, stays)


def _outlets(draft: Draft) -> tuple[Outlet, ...]:
    outlets: dict[str, Outlet] = {}
    stores = draft.ids("stores")
    for faults, table in draft.entries("outlets"):
        if table.id in outlets:
            faults.add(
                "IN116", f'the id "{table.id}" appears twice', "give every outlet its own id"
            )
        _check_outlet(table, faults, draft, stores)
        name, stores_named = table.name or table.id, tuple(table.stores)
        outlets[table.id] = copied(Outlet, table, name=name, stores=stores_named)
    return tuple(outlets.values())


def _check_outlet(table: OutletTable, faults: Faults, draft: Draft, stores: list[str]) -> None:
    place = faults.at("stores")
    if not table.stores:
        place.add("IN180", "an outlet without a store", "name the stores that it would buy from")
    for name in table.stores:
        draft.has("store", name, stores, place, "IN180")
    if len(set(table.stores)) < len(table.stores):
        place.add("IN180", "a store named twice", "name each store once")
    if (table.price_per_t_fresh is None) == (table.price_per_t_dm is None):
        problem = "two prices"
        if table.price_per_t_fresh is None:
            problem = "no price"
        remedy = "give price_per_t_fresh or price_per_t_dm, one of them, net of loading and haulage"
        faults.add("IN181", problem, remedy)
    lowest, highest = table.least_t_fresh, table.most_t_fresh
    if lowest is not None and highest is not None and lowest > highest:
        problem = f"least_t_fresh {lowest:g} above most_t_fresh {highest:g}"
        faults.add("IN117", problem, "the least cannot pass the most")


def _beddings(draft: Draft) -> tuple[Bedding, ...]:
    beddings: dict[tuple[str, str], Bedding] = {}
    feeds = {offer.id: offer.feed for offer in draft.offers}
    stores, groups = draft.ids("stores"), draft.ids("groups")
    for faults, table in draft.entries("bedding"):
        store, group = table.store, table.group
        place = faults.at("store")
        known = draft.has("store", store, stores, place, "IN182")
        if known and store in feeds and is_silage(feeds[store]):
            place.add("IN182", f'silage, "{store}", as bedding', "name a store of straw")
        draft.has("group", group, groups, faults.at("group"), "IN182")
        if (store, group) in beddings:
            problem = f'"{store}" under "{group}" appears twice'
            faults.add("IN182", problem, "add the two amounts together in one table")
        beddings[store, group] = Bedding(store, group, table.kg_fresh_per_head_day)
    return tuple(beddings.values())


def _mixes(draft: Draft) -> tuple[Mix, ...]:
    mixes: dict[str, Mix] = {}
    mix_of: dict[str, str] = {}
    for faults, table in draft.entries("mixes"):
        if table.id in mixes:
            faults.add("IN116", f'the id "{table.id}" appears twice', "give every mix its own id")
        _check_mix(table, faults, draft, mix_of)
        mix_of.update({portion.group: table.id for portion in table.groups})
        first = 1.0
        if table.groups:
            first = table.groups[0].portion
        portions = {portion.group: portion.portion / first for portion in table.groups}
        mixes[table.id] = Mix(table.id, portions, frozenset(table.top_up))
    return tuple(mixes.values())


def _check_mix(table: MixTable, faults: Faults, draft: Draft, mix_of: dict[str, str]) -> None:
    """mix_of: the mix that a group gets by an entry before, by group id."""
    place = faults.at("groups")
    names = [portion.group for portion in table.groups]
    groups, offers = draft.ids("groups"), draft.ids("stores", "bought")
    if len(set(names)) < 2:
        problem = "a mix for 0 groups"
        if names:
            problem = "a mix for 1 group"
        place.add(
            "IN183", problem, "name at least two groups; a group alone has its own mix anyway"
        )
    for name in dict.fromkeys(names):
        if draft.has("group", name, groups, place, "IN183") and name in mix_of:
            remedy = "a group can get one mix; divide the group if it gets two"
            place.add("IN183", f'"{name}" gets the mix "{mix_of[name]}" already', remedy)
        if names.count(name) > 1:
            place.add("IN183", f'"{name}" appears twice', "name each group once")
    for name in table.top_up:
        draft.has("store or bought feed", name, offers, faults.at("top_up"), "IN183")


def _check_loads(table: BoughtTable, faults: Faults) -> None:
    load = table.load_t
    if load is None:
        if table.whole_loads:
            remedy = "give load_t, the tonnes fresh of a load"
            faults.add("IN187", "whole loads of no stated size", remedy)
        return
    if table.whole_loads and table.most_t is not None and table.most_t < load:
        remedy = "a whole load is more than may be bought: check both, or leave it out"
        faults.add("IN187", f"most_t {table.most_t:g} below a load of {load:g} t", remedy)
    if table.space_t is not None and table.space_t < load:
        remedy = "a load would not go in: order a smaller load, or make room"
        faults.add("IN187", f"space_t {table.space_t:g} below a load of {load:g} t", remedy)


def _stay(table: GroupTable, faults: Faults, draft: Draft) -> Stay:
    housed, out = table.housed, table.out
    if housed is not None and out is not None and out <= housed:
        remedy = "a group cannot leave before it arrives: check both dates"
        faults.add("IN184", f"out {out} is not after housed {housed}", remedy)
    winter = draft.winter
    if winter is not None and housed is not None:
        _check_day("housed", housed, housed >= winter.turnout, winter, faults)
    if winter is not None and out is not None:
        _check_day("out", out, out <= winter.start, winter, faults)
    grazing: list[Grazing] = []
    for number, grass in enumerate(table.grazing):
        of_grass = faults.at("grazing", number)
        _check_grazing(grass, of_grass, table, winter, grazing)
        feed = grazed_feed(grass.feed, grass.analysis, of_grass, draft)
        if feed is not None:
            days = (grass.start, grass.until)
            grazing.append(Grazing(*days, grass.kg_dm_per_day, feed, grass.cost_per_t_dm))
    return Stay(housed, out, tuple(grazing))


def _check_day(key: str, day: date, never_fed: bool, winter: Winter, faults: Faults) -> None:
    span = f"{winter.start} to {winter.turnout}"
    if never_fed:
        problem = f"{key} {day}: the group is not fed in the winter, {span}"
        faults.at(key).add("IN184", problem, "check the year, or leave the group out")
    elif not winter.start <= day <= winter.turnout:
        remedy = "only the days of the winter are planned"
        faults.at(key).tell("WA210", f"{day} is outside the winter, {span}", remedy)


def _check_grazing(
    grass: GrazingTable,
    faults: Faults,
    group: GroupTable,
    winter: Winter | None,
    before: list[Grazing],
) -> None:
    """The first thing that is wrong with the days of a grazing, if any."""
    start, until = grass.start, grass.until
    housed, out = group.housed, group.out
    agreed = housed is None or out is None or housed < out
    early = housed is not None and start < housed
    late = out is not None and until > out
    if until <= start:
        faults.add("IN185", f"until {until} is not after from {start}", "check both dates")
    elif winter is not None and not winter.start <= start < until <= winter.turnout:
        span = f"{winter.start} to {winter.turnout}"
        remedy = "give days of this winter: after turnout nothing is planned"
        faults.add("IN185", f"{start} to {until} is not within the winter, {span}", remedy)
    elif any(start < other.until and other.start < until for other in before):
        problem = "its days are in another grazing of this group"
        faults.add("IN185", problem, "let no two of them overlap")
    elif agreed and (early or late):
        problem = "grass outside the days on which the group is fed"
        faults.add("IN185", problem, "keep it between housed and out, or change those")


def grazed_feed(
    key: str, analysis: Mapping[str, float], faults: Faults, draft: Draft
) -> Feed | None:
    """What is grazed: a feed of the tables by its key with the farm's own figures over it, every
    figure that a ration needs there; None where it has a fault.
    """
    feed = draft.feed(key, faults)
    if feed is not None and feed.kind not in ("forage", "root"):
        remedy = "name grass or a grazed root or leaf crop, such as grazed_grass_autumn"
        faults.at("feed").add("IN185", f'"{key}" is not grazed', remedy)
        return None
    if feed is not None:
        feed = draft.with_analysis(feed, analysis, faults)
    if feed is None:
        return None
    feed = complete(feed)
    for name in NEEDED_OF_GRASS:
        if feed.value(name) is None:
            problem = f"{quantities()[name].title} of {feed.name} is blank"
            faults.add("IN210", problem, f"give {name} in its analysis")
    return feed


def _periods(table: WinterTable, winter: Winter, faults: Faults) -> Periods:
    keys = [key for key in ("periods", "period_days", "period_starts") if getattr(table, key)]
    if len(keys) > 1:
        remedy = f"keep one of {' and '.join(keys)}"
        faults.add("IN186", "the periods of the winter are given twice", remedy)
        return ()
    if table.period_starts:
        _check_starts(table.period_starts, winter, faults.at("period_starts"))
        return _between(table.period_starts, winter.turnout)
    if table.period_days is not None:
        return periods_of(winter, table.period_days)
    if table.periods is None:
        return ()
    return periods_of(winter, table.periods)


def _check_starts(starts: list[date], winter: Winter, faults: Faults) -> None:
    if starts[0] != winter.start:
        problem = f"the first period begins {starts[0]}, the winter {winter.start}"
        faults.add("IN186", problem, "begin the list with the first day of the winter")
    for before, after in pairwise(starts):
        if after <= before:
            problem = f"{after} after {before} in the list"
            faults.add("IN186", problem, "put the days in order, each once")
    if starts[-1] >= winter.turnout:
        problem = f"a period from {starts[-1]}, turnout {winter.turnout}"
        faults.add("IN186", problem, "let every period begin before turnout")


def periods_of(winter: Winter, how: str | int) -> Periods:
    """The steps of a winter, first and last day (left out): `week`, `fortnight`, `month` (by the
    calendar) or a number of days.

    The last step ends at turnout and may be shorter.
    """
    starts = [winter.start]
    while True:
        day = starts[-1]
        if how == "month":
            after = date(day.year + day.month // 12, day.month % 12 + 1, 1)
        else:
            after = day + timedelta(days=PERIOD_DAYS[how] if isinstance(how, str) else how)
        if after >= winter.turnout:
            return _between(starts, winter.turnout)
        starts.append(after)


def _between(starts: list[date], end: date) -> Periods:
    return tuple(zip(starts, [*starts[1:], end], strict=True))
