"""Groups of animals: facts, barred feeds and own limits, checked against what the farm has."""

from __future__ import annotations

from math import inf

from rationlp.errors import Faults
from rationlp.farm.animals import CLASSES
from rationlp.farm.group import FamilyCap, FeedLimit, Group, QuantityLimit
from rationlp.farm.traits import classes_with, traits
from rationlp.quantities import quantities
from rationlp.read.after_calving import HerdMilk, herd_milk
from rationlp.read.calendar import read_calendar
from rationlp.read.draft import Draft
from rationlp.read.facts import read_facts
from rationlp.read.schema import FeedLimitTable, GroupTable, QuantityLimitTable
from rationlp.records import copied
from rationlp.rules.feedchecks import slip
from rationlp.rules.limits import family_names

AMOUNTS = ("dm_kg", "fresh_kg")
SHARES = ("forage_share", "straw_share", "concentrate_share")
OF_THE_DIET = (
    *SHARES,
    "forage_ndf_g_per_kg_dm",
    "starch_and_sugar_g_per_kg_dm",
    "urea_g_per_kg_dm",
)
FLOOR_ABOVE_CEILING = "a floor cannot pass its ceiling"


def read_groups(draft: Draft) -> tuple[Group, ...]:
    """All groups that could be read; what is wrong with any goes into the draft's faults."""
    groups: list[Group] = []
    herd = herd_milk(table for _, table in draft.entries("groups"))
    places: dict[str, str] = {}
    for faults, table in draft.entries("groups"):
        if table.id in places:
            problem = f'the id "{table.id}" is taken already, in {places[table.id]}'
            faults.add("IN116", problem, "give every group its own id")
        places[table.id] = faults.place
        group = _group(table, faults.at(), draft, herd)
        if group is not None:
            groups.append(group)
    return tuple(groups)


def _group(table: GroupTable, faults: Faults, draft: Draft, herd: HerdMilk | None) -> Group | None:
    """A group; None where it has a fault."""
    name = table.animal_class
    if name not in CLASSES:
        valid = f"classes: {', '.join(CLASSES)}"
        faults.at("class").unknown("IN404", f'no class "{name}"', name, CLASSES, valid)
        return None
    dated = read_calendar(table, faults, draft.winter, herd)
    facts = read_facts(name, dated.facts, faults)
    if traits(name).stated and not table.quantity_limits:
        remedy = f"add at least one {faults.spelling.entry('groups.quantity_limits')}"
        faults.add("IN120", "class stated without needs of its own", remedy)
    offer_ids = draft.ids("stores", "bought")
    _check_barred(table, faults, offer_ids)
    group = Group(
        id=table.id,
        name=table.name or table.id,
        animal_class=name,
        head=table.head,
        fed=table.fed or ("rationed" if traits(name).stated else "to_appetite"),
        facts=facts,
        barred=frozenset(table.barred),
        feed_limits=_feed_limits(table, faults, offer_ids),
        quantity_limits=_quantity_limits(table, faults, draft),
        family_caps=_family_caps(table, faults),
        parlour_feed=table.parlour_feed,
        intake_kg_dm=table.intake_kg_dm,
        intake_equation=table.intake_equation,
        appetite_share=table.appetite_share,
        maint_factor=table.maint_factor,
        standard=table.standard or draft.standard,
        calendar=dated.calendar,
    )
    if not faults.clean:
        return None
    return group


def _check_barred(table: GroupTable, faults: Faults, offer_ids: list[str]) -> None:
    for name in table.barred:
        if name not in offer_ids:
            _no_offer(faults.at("barred"), name, offer_ids)
    if offer_ids and set(offer_ids) <= set(table.barred):
        problem = "every feed of the farm is barred"
        faults.at("barred").add("IN122", problem, "leave some feed to eat")
    if table.parlour_feed is not None:
        _check_parlour(table, table.parlour_feed, faults, offer_ids)
    for limit in table.feed_limits:
        if limit.feed in table.barred and (limit.min_kg_fresh or limit.min_share_of_dm):
            problem = f'"{limit.feed}" is barred and has a floor'
            faults.add("IN123", problem, "take it out of barred, or drop the floor")


def _check_parlour(table: GroupTable, feed: str, faults: Faults, offer_ids: list[str]) -> None:
    if feed not in offer_ids:
        _no_offer(faults.at("parlour_feed"), feed, offer_ids)
    if feed in table.barred:
        remedy = "take it out of barred, or name another parlour_feed"
        faults.add("IN123", f'"{feed}" is barred and fed in the parlour', remedy)
    if not traits(table.animal_class).parlour:
        problem = f"a parlour_feed for class {table.animal_class}"
        remedy = f"only {' and '.join(classes_with('parlour'))} are fed in the parlour"
        faults.at("parlour_feed").add("IN110", problem, remedy)


def _no_offer(faults: Faults, name: str, offer_ids: list[str]) -> None:
    remedy = f"ids of this farm: {', '.join(sorted(offer_ids)) or 'none'}"
    faults.unknown("IN124", f'"{name}" is neither in store nor bought', name, offer_ids, remedy)


def _feed_limits(table: GroupTable, faults: Faults, offer_ids: list[str]) -> tuple[FeedLimit, ...]:
    seen: set[str] = set()
    for number, limit in enumerate(table.feed_limits):
        place = faults.at("feed_limits", number)
        if limit.feed not in offer_ids:
            _no_offer(place.at("feed"), limit.feed, offer_ids)
        if limit.feed in seen:
            place.add("IN125", f'"{limit.feed}" has limits already', "put them in one table")
        seen.add(limit.feed)
        _check_sides(limit, place)
    floors = sum(limit.min_share_of_dm or 0.0 for limit in table.feed_limits)
    if floors > 1.0:
        problem = f"shares of dry matter of at least {floors:g} in all"
        faults.at("feed_limits").add("IN126", problem, "shares together cannot pass 1")
    return tuple(copied(FeedLimit, limit, offer=limit.feed) for limit in table.feed_limits)


def _check_sides(limit: FeedLimitTable, faults: Faults) -> None:
    if limit.model_fields_set <= {"feed"}:
        remedy = "give min_kg_fresh, max_kg_fresh, min_share_of_dm or max_share_of_dm"
        faults.add("IN128", f'no limit on "{limit.feed}"', remedy)
    for what, low, high in (
        ("kg_fresh", limit.min_kg_fresh, limit.max_kg_fresh),
        ("share_of_dm", limit.min_share_of_dm, limit.max_share_of_dm),
    ):
        if low is not None and high is not None and low > high:
            problem = f"min_{what} above max_{what} ({low:g} and {high:g})"
            faults.add("IN126", problem, FLOOR_ABOVE_CEILING)


def _family_caps(table: GroupTable, faults: Faults) -> tuple[FamilyCap, ...]:
    """Own caps on families of feeds; each must replace a printed one, or it is stated in vain."""
    known = family_names()
    for number, limit in enumerate(table.family_limits):
        place = faults.at("family_limits", number)
        if limit.family not in known:
            valid = f"families: {', '.join(known)}"
            problem = f'no family of feeds "{limit.family}"'
            place.at("family").unknown("IN129", problem, limit.family, known, valid)
        elif limit.basis not in known[limit.family]:
            remedy = f"printed limits of this family are in {', '.join(known[limit.family])}"
            problem = f'"{limit.basis}" has no printed limit to replace'
            place.at("basis").add("IN129", problem, remedy)
    return tuple(FamilyCap(limit.family, limit.basis, limit.cap) for limit in table.family_limits)


def _quantity_limits(table: GroupTable, faults: Faults, draft: Draft) -> tuple[QuantityLimit, ...]:
    in_dm = [name for name, quantity in quantities().items() if quantity.basis == "dm"]
    known = [*in_dm, *OF_THE_DIET, *AMOUNTS, *draft.own_quantities]
    seen: set[tuple[str, str]] = set()
    for number, limit in enumerate(table.quantity_limits):
        place = faults.at("quantity_limits", number)
        name = limit.quantity
        if name not in known:
            remedy = "use a column of the feed tables, or declare own_quantities"
            place.at("quantity").unknown("IN127", f'no quantity "{name}"', name, known, remedy)
        _check_limit(limit, place)
        if (name, limit.per) in seen:
            place.add("IN125", f'"{name}" has a limit already', "put both sides in one table")
        seen.add((name, limit.per))
    return tuple(
        QuantityLimit(limit.quantity, limit.per, limit.at_least, limit.at_most)
        for limit in table.quantity_limits
    )


def _check_limit(limit: QuantityLimitTable, faults: Faults) -> None:
    lowest, highest = limit.at_least, limit.at_most
    if lowest is None and highest is None:
        faults.add("IN128", "neither at_least nor at_most", "give one of them, or both")
    elif lowest is not None and highest is not None and lowest > highest:
        problem = f"at_least {lowest:g} above at_most {highest:g}"
        faults.add("IN126", problem, FLOOR_ABOVE_CEILING)
    if limit.quantity in AMOUNTS and limit.per == "kg_dm":
        remedy = 'use per = "head_day" for an amount'
        faults.add("IN135", f"{limit.quantity} per kg DM", remedy)
    if limit.quantity in SHARES and limit.per == "head_day":
        remedy = 'use per = "kg_dm" for a share of the diet'
        faults.add("IN135", f"{limit.quantity} as an amount", remedy)
    else:
        _check_range(limit, faults)


def _check_range(limit: QuantityLimitTable, faults: Faults) -> None:
    """A side that no diet can reach, or that every diet keeps: most often a slip of unit."""
    quantity = quantities().get(limit.quantity)
    if quantity is None:
        return
    low, high = quantity.hard_range
    unit = quantity.unit
    if limit.per == "head_day":
        low, high, unit = min(low, 0.0), inf, quantity.amount_unit
    for side, bound in (("at_least", limit.at_least), ("at_most", limit.at_most)):
        if bound is not None and not low <= bound <= high:
            problem = f"{bound:g} {unit} is no limit on {quantity.title} (from {low:g} to {high:g})"
            faults.at(side).add("IN113", problem, slip(bound, low, high, unit))
