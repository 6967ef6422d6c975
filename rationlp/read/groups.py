"""Groups of animals: their class's facts, the feeds barred, and their own limits, checked against
what the farm has.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from typing import Any

from rationlp.errors import Finding
from rationlp.farm.animals import CLASSES
from rationlp.farm.group import FamilyCap, FeedLimit, Group, QuantityLimit
from rationlp.named import nearest
from rationlp.quantities import Quantity, quantities
from rationlp.read.after_calving import herd_milk
from rationlp.read.calendar import Dated, Winter, read_calendar
from rationlp.read.facts import read_facts
from rationlp.read.schema import FeedLimitTable, GroupTable, QuantityLimitTable, place
from rationlp.rules.feedchecks import slip
from rationlp.rules.limits import family_names

PARLOUR_CLASSES = ("dairy_cow_milking", "first_calver_milking")
AMOUNTS = ("dm_kg", "fresh_kg")
SHARES = ("forage_share", "straw_share", "concentrate_share")
OF_THE_DIET = (
    *SHARES,
    "forage_ndf_g_per_kg_dm",
    "starch_and_sugar_g_per_kg_dm",
    "urea_g_per_kg_dm",
)


def read_groups(
    tables: list[tuple[int, GroupTable | None]],
    raw: Mapping[str, Any],
    offer_ids: set[str],
    own_quantities: Mapping[str, Quantity],
    winter: Winter | None,
) -> tuple[tuple[Group, ...], list[Finding], list[Finding]]:
    """All groups that could be read, everything that is wrong with any of them, and notices."""
    groups: list[Group] = []
    findings: list[Finding] = []
    notices: list[Finding] = []
    herd = herd_milk(table for _, table in tables if table is not None)
    seen: dict[str, str] = {}
    for number, table in tables:
        if table is None:
            continue
        where = place(("groups", number), raw)
        if table.id in seen:
            found = f'the id "{table.id}" stands in {seen[table.id]} already'
            findings.append(Finding("IN116", where, found, "give every group its own id"))
        seen[table.id] = where
        dated = None
        if table.animal_class in CLASSES:
            dated = read_calendar(table, where, winter, herd)
            notices += dated.notices
        group, more = _group(table, where, offer_ids, own_quantities, dated)
        findings += more
        if group is not None:
            groups.append(group)
    return tuple(groups), findings, notices


def _group(
    table: GroupTable,
    where: str,
    offer_ids: set[str],
    own_quantities: Mapping[str, Quantity],
    dated: Dated | None,
) -> tuple[Group | None, list[Finding]]:
    if dated is None:
        near = nearest(table.animal_class, CLASSES, 1, 0.4)
        remedy = f'nearest: "{near[0]}"' if near else f"classes: {', '.join(CLASSES)}"
        return None, [
            Finding("IN404", f"{where}.class", f'no class "{table.animal_class}"', remedy)
        ]
    facts, findings = read_facts(table.animal_class, dated.facts, where)
    findings += dated.findings
    stated = table.animal_class == "stated"
    if stated and not table.quantity_limits:
        found = "class stated without needs of its own"
        findings.append(
            Finding("IN120", where, found, "add at least one [[groups.quantity_limits]]")
        )
    findings += _barred(table, where, offer_ids)
    feed_limits = _feed_limits(table, where, offer_ids, findings)
    quantity_limits = _quantity_limits(table, where, own_quantities, findings)
    family_caps = _family_caps(table, where, findings)
    if findings:
        return None, findings
    return (
        Group(
            id=table.id,
            name=table.name or table.id,
            animal_class=table.animal_class,
            head=table.head,
            fed=table.fed or ("rationed" if stated else "to_appetite"),
            facts=facts,
            barred=frozenset(table.barred),
            feed_limits=feed_limits,
            quantity_limits=quantity_limits,
            family_caps=family_caps,
            parlour_feed=table.parlour_feed,
            intake_kg_dm=table.intake_kg_dm,
            intake_equation=table.intake_equation,
            appetite_share=table.appetite_share,
            maint_factor=table.maint_factor,
            calendar=dated.calendar,
        ),
        [],
    )


def _barred(table: GroupTable, where: str, offer_ids: set[str]) -> list[Finding]:
    findings = [
        _no_offer(f"{where}.barred", name, offer_ids)
        for name in table.barred
        if name not in offer_ids
    ]
    if offer_ids and offer_ids <= set(table.barred):
        findings.append(
            Finding(
                "IN122",
                f"{where}.barred",
                "every feed of the farm is barred",
                "leave some feed to eat",
            )
        )
    if table.parlour_feed is not None:
        if table.parlour_feed not in offer_ids:
            findings.append(_no_offer(f"{where}.parlour_feed", table.parlour_feed, offer_ids))
        if table.parlour_feed in table.barred:
            found = f'"{table.parlour_feed}" is barred and fed in the parlour'
            findings.append(
                Finding(
                    "IN123", where, found, "take it out of barred, or name another parlour_feed"
                )
            )
        if table.animal_class not in PARLOUR_CLASSES:
            found = f"a parlour_feed for class {table.animal_class}"
            remedy = f"only {' and '.join(PARLOUR_CLASSES)} are fed in the parlour"
            findings.append(Finding("IN110", f"{where}.parlour_feed", found, remedy))
    for limit in table.feed_limits:
        if limit.feed in table.barred and (limit.min_kg_fresh or limit.min_share_of_dm):
            found = f'"{limit.feed}" is barred and has a floor'
            findings.append(
                Finding("IN123", where, found, "take it out of barred, or drop the floor")
            )
    return findings


def _no_offer(where: str, name: str, offer_ids: set[str]) -> Finding:
    near = nearest(name, sorted(offer_ids), 1, 0.4)
    remedy = (
        f'nearest: "{near[0]}"'
        if near
        else f"ids of this farm: {', '.join(sorted(offer_ids)) or 'none'}"
    )
    return Finding("IN124", where, f'"{name}" is neither in store nor bought', remedy)


def _feed_limits(
    table: GroupTable, where: str, offer_ids: set[str], findings: list[Finding]
) -> tuple[FeedLimit, ...]:
    limits = []
    for number, limit in enumerate(table.feed_limits, start=1):
        here = f"{where}.feed_limits[{number}]"
        if limit.feed not in offer_ids:
            findings.append(_no_offer(f"{here}.feed", limit.feed, offer_ids))
        if any(other.feed == limit.feed for other in table.feed_limits[: number - 1]):
            findings.append(
                Finding(
                    "IN125", here, f'"{limit.feed}" has limits already', "put them in one table"
                )
            )
        if limit.model_fields_set <= {"feed"}:
            remedy = "give min_kg_fresh, max_kg_fresh, min_share_of_dm or max_share_of_dm"
            findings.append(Finding("IN128", here, f'no limit on "{limit.feed}"', remedy))
        for low, high, words in (
            (limit.min_kg_fresh, limit.max_kg_fresh, "min_kg_fresh above max_kg_fresh"),
            (limit.min_share_of_dm, limit.max_share_of_dm, "min_share_of_dm above max_share_of_dm"),
        ):
            if low is not None and high is not None and low > high:
                findings.append(
                    Finding(
                        "IN126",
                        here,
                        f"{words} ({low:g} and {high:g})",
                        "a floor cannot pass its ceiling",
                    )
                )
        limits.append(_feed_limit(limit))
    floors = sum(limit.min_share_of_dm or 0.0 for limit in limits)
    if floors > 1.0:
        found = f"shares of dry matter of at least {floors:g} in all"
        findings.append(
            Finding("IN126", f"{where}.feed_limits", found, "shares together cannot pass 1")
        )
    return tuple(limits)


def _feed_limit(table: FeedLimitTable) -> FeedLimit:
    return FeedLimit(
        table.feed,
        table.min_kg_fresh,
        table.max_kg_fresh,
        table.min_share_of_dm,
        table.max_share_of_dm,
    )


def _family_caps(table: GroupTable, where: str, findings: list[Finding]) -> tuple[FamilyCap, ...]:
    """Own caps on families of feeds; each must replace a printed one, so that nothing is stated in
    vain.
    """
    caps = []
    known = family_names()
    for number, limit in enumerate(table.family_limits, start=1):
        here = f"{where}.family_limits[{number}]"
        if limit.family not in known:
            near = nearest(limit.family, list(known), 1, 0.4)
            remedy = f'nearest: "{near[0]}"' if near else f"families: {', '.join(known)}"
            findings.append(
                Finding("IN129", f"{here}.family", f'no family of feeds "{limit.family}"', remedy)
            )
        elif limit.basis not in known[limit.family]:
            remedy = f"printed limits of this family stand in {', '.join(known[limit.family])}"
            findings.append(
                Finding(
                    "IN129",
                    f"{here}.basis",
                    f'"{limit.basis}" has no printed limit to replace',
                    remedy,
                )
            )
        caps.append(FamilyCap(limit.family, limit.basis, limit.cap))
    return tuple(caps)


def _quantity_limits(
    table: GroupTable, where: str, own_quantities: Mapping[str, Quantity], findings: list[Finding]
) -> tuple[QuantityLimit, ...]:
    known = [name for name, quantity in quantities().items() if quantity.basis == "dm"]
    allowed = [*known, *OF_THE_DIET, *AMOUNTS, *own_quantities]
    limits = []
    for number, limit in enumerate(table.quantity_limits, start=1):
        here = f"{where}.quantity_limits[{number}]"
        if limit.quantity not in allowed:
            near = nearest(limit.quantity, allowed, 1, 0.5)
            remedy = (
                f'nearest: "{near[0]}"'
                if near
                else "use a column of the feed tables, or declare own_quantities"
            )
            findings.append(
                Finding("IN127", f"{here}.quantity", f'no quantity "{limit.quantity}"', remedy)
            )
        findings += _limit_faults(limit, here, table.quantity_limits[: number - 1])
        limits.append(QuantityLimit(limit.quantity, limit.per, limit.at_least, limit.at_most))
    return tuple(limits)


def _limit_faults(
    limit: QuantityLimitTable, here: str, before: list[QuantityLimitTable]
) -> list[Finding]:
    faults = []
    if limit.at_least is None and limit.at_most is None:
        faults.append(
            Finding("IN128", here, "neither at_least nor at_most", "give one of them, or both")
        )
    elif (
        limit.at_least is not None and limit.at_most is not None and limit.at_least > limit.at_most
    ):
        found = f"at_least {limit.at_least:g} above at_most {limit.at_most:g}"
        faults.append(Finding("IN126", here, found, "a floor cannot pass its ceiling"))
    faults += _limit_range(limit, here)
    if limit.quantity in AMOUNTS and limit.per == "kg_dm":
        faults.append(
            Finding(
                "IN135", here, f"{limit.quantity} per kg DM", 'use per = "head_day" for an amount'
            )
        )
    if any(other.quantity == limit.quantity and other.per == limit.per for other in before):
        faults.append(
            Finding(
                "IN125",
                here,
                f'"{limit.quantity}" has a limit already',
                "put both sides in one table",
            )
        )
    return faults


def _limit_range(limit: QuantityLimitTable, here: str) -> list[Finding]:
    """A side that no diet can reach, or that every diet keeps: a limit in vain, most often a slip
    of unit.
    """
    quantity = quantities().get(limit.quantity)
    if quantity is None:
        return []
    if limit.quantity in SHARES and limit.per == "head_day":
        return [
            Finding(
                "IN135",
                here,
                f"{limit.quantity} as an amount",
                'use per = "kg_dm" for a share of the diet',
            )
        ]
    low = -inf if quantity.hard_low is None else quantity.hard_low
    high = inf if quantity.hard_high is None or limit.per == "head_day" else quantity.hard_high
    low = min(low, 0.0) if limit.per == "head_day" else low
    unit = quantity.amount_unit if limit.per == "head_day" else quantity.unit
    faults = []
    for side, bound in (("at_least", limit.at_least), ("at_most", limit.at_most)):
        if bound is not None and not low <= bound <= high:
            found = f"{bound:g} {unit} is no limit on {quantity.title} (from {low:g} to {high:g})"
            faults.append(Finding("IN113", f"{here}.{side}", found, slip(bound, low, high, unit)))
    return faults
