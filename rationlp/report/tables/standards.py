"""Tables of two standards beside each other: bills, what is fed, and each ration judged by both."""

from __future__ import annotations

from rationlp.ask.outcome import Outcome
from rationlp.ask.standards import ByStandards, GroupByStandards, WinterByStandards
from rationlp.needs.standards import TITLES
from rationlp.report.tables.table import Column, Table, difference, table_of

MARGINS = (
    "AFRC (1993) carries the farm's margins, 5 % unless it has others; the other standard has none."
)
MP = (
    "Energy: ME, by NRC (2001) net energy. MP: metabolisable protein; by CSIRO (2007)"
    " protein digested in the intestine, less what eating costs."
)


def bills_table(answer: ByStandards) -> Table:
    """One row a group: what its ration costs by each standard."""
    money = f"{answer.farm.currency} a day"
    columns = (
        Column("group", "Group", of="name"),
        Column("first", "AFRC (1993)", money, 3, of="first.outcome.cost"),
        Column("first_without_margins", "Without margins", money, 3, of="bare_cost"),
        Column("second", "The second", money, 3, of="second.outcome.cost"),
        Column("more", "More by it", money, 3, of=_more),
        Column("second_is", "The second is", of=lambda group: TITLES[group.second.standard]),
    )
    title = "The cheapest ration by two standards, a head a day"
    return table_of("bills", title, answer.groups, columns, (MARGINS,))


def _more(group: GroupByStandards) -> float | None:
    """What a ration costs more by the second standard."""
    return difference(group.second.outcome.cost, group.first.outcome.cost)


def rations_by_standard_table(answer: ByStandards) -> Table:
    """One row a group and feed: kg fresh by each standard. Blank: not fed."""
    columns = (
        Column("group", "Group"),
        Column("feed", "Feed"),
        Column("first_kg", "AFRC (1993)", "kg", 2),
        Column("second_kg", "The second", "kg", 2),
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
        Column("group", "Group", of=lambda row: row[0]),
        Column("ration_by", "Ration by", of=lambda row: TITLES[row[1].standard]),
        Column("judged_by", "Judged by", of=lambda row: TITLES[row[2].standard]),
        Column("energy_mj", "Energy", "MJ", 1, of=lambda row: row[2].energy_mj),
        Column("energy_needed_mj", "Asked for", "MJ", 1, of=lambda row: row[2].energy_needed_mj),
        Column("mp_g", "MP", "g", 0, of=lambda row: row[2].mp_g),
        Column("mp_needed_g", "Asked for", "g", 0, of=lambda row: row[2].mp_needed_g),
    )
    sides = [(group.name, side) for group in answer.groups for side in (group.first, group.second)]
    rows = ((name, side, judged) for name, side in sides for judged in side.judged)
    title = "Each ration judged by both, a head a day"
    return table_of("judged", title, rows, columns, (MP,))


def winter_by_standard_table(answer: WinterByStandards) -> Table:
    """One row a feed: t fresh over the winter by each standard. Blank: not fed."""
    columns = (
        Column("feed", "Feed"),
        Column("first_t", "AFRC (1993)", "t", 1),
        Column("second_t", "The second", "t", 1),
        Column("more_t", "More by the second", "t", 1),
    )
    names = {offer.id: offer.name for offer in answer.farm.offers}
    before = answer.first.outcome.fed
    rows = tuple(
        (names[offer], before.get(offer), amount, (amount or 0.0) - before.get(offer, 0.0))
        for offer, amount in _either(names, answer.first.outcome, answer.second.outcome)
    )
    title = "What leaves the stores or is bought, t fresh over the winter"
    return Table("winter_by_standards", title, columns, rows)


def winter_judged_table(answer: WinterByStandards) -> Table:
    """One row a group and standard: its rations by that standard, judged by the other."""
    columns = (
        Column("group", "Group", of=lambda row: row[2].name),
        Column("ration_by", "Ration by", of=lambda row: row[0].title),
        Column("judged_by", "Judged by", of=lambda row: row[1].title),
        Column("energy_percent", "Energy, least", "%", 0, of="2.energy_share", share=True),
        Column("protein_percent", "Protein, least", "%", 0, of="2.protein_share", share=True),
        Column("short_percent", "Days short", "%", 0, of="2.short_share", share=True),
    )
    pairs = ((answer.first, answer.second), (answer.second, answer.first))
    judgements = ((by, other, group) for by, other in pairs for group in by.judged)
    notes = (
        "Least: supply as a share of what is asked for, in the leanest period. Days short: share of"
        " head-days with less than 99.5 % of either.",
    )
    title = "Each plan judged by the other standard"
    return table_of("winter_judged", title, judgements, columns, notes)
