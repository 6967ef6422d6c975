"""Tables of two standards beside each other: bills, what is fed, and each ration judged by both."""

from __future__ import annotations

from rationlp.ask.outcome import Outcome
from rationlp.ask.standards import ByStandards, GroupByStandards, Side, WinterByStandards
from rationlp.needs.standards import TITLES
from rationlp.report.tables.table import Column, Table

MARGINS = (
    "AFRC (1993) carries the farm's margins, 5 % unless it has others; the other standard has none."
)
MP = (
    "Energy: ME, by NRC (2001) net energy of milk. MP: metabolisable protein; by CSIRO (2007)"
    " protein digested in the intestine, less what eating costs."
)


def bills_table(answer: ByStandards) -> Table:
    """One row a group: what its ration costs by each standard."""
    money = f"{answer.farm.currency} a day"
    columns = (
        Column("group", "Group"),
        Column("first", "AFRC (1993)", money, 3, "right"),
        Column("first_without_margins", "Without margins", money, 3, "right"),
        Column("second", "CSIRO (2007)", money, 3, "right"),
        Column("more", "More by the second", money, 3, "right"),
    )
    rows = []
    for group in answer.groups:
        first, second = group.first.outcome.cost, group.second.outcome.cost
        more = None
        if first is not None and second is not None:
            more = second - first
        rows.append((group.name, first, group.bare_cost, second, more))
    title = "The cheapest ration by two standards, a head a day"
    return Table("bills", title, columns, tuple(rows), (MARGINS,))


def rations_by_standard_table(answer: ByStandards) -> Table:
    """One row a group and feed: kg fresh by each standard. Blank: not fed."""
    columns = (
        Column("group", "Group"),
        Column("feed", "Feed"),
        Column("first_kg", "AFRC (1993)", "kg", 2, "right"),
        Column("second_kg", "CSIRO (2007)", "kg", 2, "right"),
    )
    names = {offer.id: offer.name for offer in answer.farm.offers}
    rows = tuple(
        (group.name, names[offer], group.first.outcome.fed.get(offer), amount)
        for group in answer.groups
        for offer, amount in _either(names, group.first.outcome, group.second.outcome)
    )
    return Table("fed_by_standards", "What is fed, kg fresh a head a day", columns, rows)


def _either(
    names: dict[str, str], first: Outcome, second: Outcome
) -> list[tuple[str, float | None]]:
    """The feeds of either, in the farm's order, with the amount of the second."""
    fed = (offer for offer in names if offer in first.fed or offer in second.fed)
    return [(offer, second.fed.get(offer)) for offer in fed]


def judged_table(answer: ByStandards) -> Table:
    """Each ration by each standard: what it brings, and what is asked for."""
    columns = (
        Column("group", "Group"),
        Column("ration_by", "Ration by"),
        Column("judged_by", "Judged by"),
        Column("energy_mj", "Energy", "MJ", 1, "right"),
        Column("energy_needed_mj", "Asked for", "MJ", 1, "right"),
        Column("mp_g", "MP", "g", 0, "right"),
        Column("mp_needed_g", "Asked for", "g", 0, "right"),
    )
    rows = [
        row for group in answer.groups for side in _sides(group) for row in _rows(group.name, side)
    ]
    rows += [row for cows in answer.cows for row in _rows(cows.name, cows.first)]
    title = "Each ration judged by both, a head a day"
    return Table("judged", title, columns, tuple(rows), (MP,))


def _sides(group: GroupByStandards) -> tuple[Side, Side]:
    return group.first, group.second


def _rows(name: str, side: Side) -> list[tuple[object, ...]]:
    return [
        (
            name,
            TITLES[side.standard],
            TITLES[one.standard],
            one.energy_mj,
            one.energy_needed_mj,
            one.mp_g,
            one.mp_needed_g,
        )
        for one in side.judged
    ]


def winter_by_standard_table(answer: WinterByStandards) -> Table:
    """One row a feed: t fresh over the winter by each standard. Blank: not fed."""
    columns = (
        Column("feed", "Feed"),
        Column("first_t", "AFRC (1993)", "t", 1, "right"),
        Column("second_t", "CSIRO (2007)", "t", 1, "right"),
        Column("more_t", "More by the second", "t", 1, "right"),
    )
    names = {offer.id: offer.name for offer in answer.farm.offers}
    rows = tuple(
        (
            names[offer],
            answer.first.outcome.fed.get(offer),
            amount,
            (amount or 0.0) - answer.first.outcome.fed.get(offer, 0.0),
        )
        for offer, amount in _either(names, answer.first.outcome, answer.second.outcome)
    )
    title = "What leaves the stores or is bought, t fresh over the winter"
    return Table("winter_by_standards", title, columns, rows)


def winter_judged_table(answer: WinterByStandards) -> Table:
    """One row a group and standard: its rations by that standard, judged by the other."""
    columns = (
        Column("group", "Group"),
        Column("ration_by", "Ration by"),
        Column("judged_by", "Judged by"),
        Column("energy_percent", "Energy, least", "%", 0, "right"),
        Column("protein_percent", "Protein, least", "%", 0, "right"),
        Column("short_percent", "Days short", "%", 0, "right"),
    )
    pairs = ((answer.first, answer.second), (answer.second, answer.first))
    rows = tuple(
        (
            one.name,
            TITLES[side.standard],
            TITLES[other.standard],
            None if one.energy_share is None else 100.0 * one.energy_share,
            None if one.protein_share is None else 100.0 * one.protein_share,
            100.0 * one.short_share,
        )
        for side, other in pairs
        for one in side.judged
    )
    notes = (
        "Least: supply as a share of what is asked for, in the leanest period. Days short: share of"
        " head-days with less than 99.5 % of either.",
    )
    return Table("winter_judged", "Each plan judged by the other standard", columns, rows, notes)
