"""Two standards beside each other, stories and tables: both bills, where they part and why."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from rationlp.ask.outcome import Outcome
from rationlp.ask.standards import (
    ENOUGH,
    ByStandards,
    GroupByStandards,
    Judgement,
    Side,
    WinterByStandards,
    WinterSide,
)
from rationlp.errors import EXIT_NO_RATION
from rationlp.farm.farm import Farm
from rationlp.needs.standards import STANDARDS, TITLES
from rationlp.report.story import Part, Story, Words, always, full
from rationlp.report.tables.table import Column, Table, difference, shown, small_decimals, table_of

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


MOST_FEEDS = 3
"""Feeds named where two rations part; the table has all of them."""
MOST_GROUPS = 3
"""Groups named that a plan leaves short; the table has all of them."""
NO_GAP = 1e-3
"""A gap below which a bill of a winter is told as proved and no more [currency]."""
SAME_SHARE = 0.02
"""Difference of a feed, as a share of the larger amount, below which two rations are alike [-]."""
SAME = "Both feed the same."
OPINION = (
    "A difference is one of opinion between standards, no error of yours. Where both agree a ration"
    " stands on firmer ground; where they part, watch weight and condition, and ask a nutritionist."
)


TO_THE_KILOGRAM = (
    "Both are cheapest plans to the last kilogram. `winter` brings its plan to what a yard can"
    " weigh and keeps its rules, which costs a little more."
)


def rations_by_standards_story(answer: ByStandards) -> Story:
    """The story of `ration --compare-standards`."""
    parts: list[Part] = []
    for group in answer.groups:
        parts += always(Words(_of_group(answer.farm, group), what="standards", about=group.name))
    parts += always(Words(_alone(answer.alone)), bills_table(answer))
    parts += full(rations_by_standard_table(answer), judged_table(answer))
    parts += always(Words((OPINION,)))
    sides = [side for group in answer.groups for side in (group.first, group.second)]
    return Story(
        "standards",
        tuple(parts),
        lambda: judged_table(answer),
        exit_code=_exit_code(*sides),
        hint="Every feed by both, and each ration judged by both: `--full`.",
    )


def _exit_code(*sides: Side | WinterSide) -> int:
    if any(side.outcome.cost is None for side in sides):
        return EXIT_NO_RATION
    return 0


def _alone(names: tuple[str, ...]) -> tuple[str, ...]:
    if not names:
        return ()
    listed = ", ".join(names)
    return (
        f"By AFRC (1993) alone as they are now, as no second standard holds for them: {listed}.",
    )


def _of_group(farm: Farm, group: GroupByStandards) -> tuple[str, ...]:
    """The bill, where the rations part and why, a sentence each."""
    first, second = group.first, group.second
    missing = [side for side in (first, second) if side.outcome.cost is None]
    if missing:
        return tuple(_without(farm, group, side) for side in missing)
    bill = (
        f"{group.name}: {farm.currency} {shown(first.outcome.cost, 3)} a head a day by"
        f" {TITLES[first.standard]}, {shown(second.outcome.cost, 3)} by {TITLES[second.standard]}."
    )
    if group.bare_cost is not None:
        bill += f" {TITLES[first.standard]} without margins: {_bare(group.bare_cost, first)}."
    parting = _parting(farm, first.outcome, second.outcome, "kg")
    if parting == SAME:
        return bill, SAME
    return bill, parting, _why(first, second)


def _bare(cost: float, first: Side) -> str:
    """The bill without margins; why it may be more, where a ceiling stands over the need."""
    told = shown(cost, 3)
    ceiling = any(judgement.energy_most_mj is not None for judgement in first.judged[:1])
    if ceiling and cost > (first.outcome.cost or inf) + NO_GAP:
        told += ", dearer, since a lower need also lowers the most energy they may have"
    return told


def _without(farm: Farm, group: GroupByStandards, side: Side) -> str:
    standing = group.first
    if side is group.first:
        standing = group.second
    sentence = f"{group.name}: no ration by {TITLES[side.standard]} ({side.outcome.short})"
    if standing.outcome.cost is None:
        return f"{sentence}."
    cost = f"{farm.currency} {shown(standing.outcome.cost, 3)}"
    return f"{sentence}; {cost} a head a day by {TITLES[standing.standard]}."


def _parting(farm: Farm, first: Outcome, second: Outcome, unit: str) -> str:
    """Which feeds differ most, with both amounts fresh."""
    differ = []
    for offer in farm.offers:
        kg_first, kg_second = first.fed.get(offer.id, 0.0), second.fed.get(offer.id, 0.0)
        if abs(kg_second - kg_first) > SAME_SHARE * max(kg_first, kg_second):
            dry = offer.feed.dm_g_per_kg * abs(kg_second - kg_first)
            differ.append((dry, offer.name, kg_first, kg_second))
    if not differ:
        return SAME
    differ.sort(reverse=True)
    feeds = ", ".join(
        f"{name} ({_amount(kg_first, unit)} against {_amount(kg_second, unit)})"
        for _, name, kg_first, kg_second in differ[:MOST_FEEDS]
    )
    return f"They differ most in {feeds}."


def _amount(value: float, unit: str) -> str:
    if value:
        return f"{shown(value, small_decimals(value, 1))} {unit}"
    return "none"


def _why(first: Side, second: Side) -> str:
    """What each standard finds too little, or too much, of in the ration of the other."""
    name, by = TITLES[second.standard], TITLES[first.standard]
    if len(first.judged) < 2 or len(second.judged) < 2:
        return (
            "Why: these cows milk off their backs, and each standard counts on its own share of"
            " that, so that neither can judge the ration of the other."
        )
    found = []
    for judge, whose, judgement in ((name, by, first.judged[1]), (by, name, second.judged[1])):
        lacks = list(_lacks(judgement))
        if lacks:
            found.append(f"on the ration by {whose}, {judge} finds {' and '.join(lacks)}")
    if found:
        return f"Why: {'; '.join(found)}."
    if first.judged[1].energy_share is None:
        return ""
    return (
        "Why: each ration has the energy and protein that the other standard asks for; what is"
        " asked for besides parts them."
    )


def _lacks(judgement: Judgement) -> Iterator[str]:
    """What a standard finds too little of in a ration, and energy above what it allows."""
    kind = STANDARDS[judgement.standard].short_energy
    energy, protein = judgement.energy_share, judgement.protein_share
    if energy is not None and energy < ENOUGH:
        brought, needed = judgement.energy_mj, judgement.energy_needed_mj
        yield f"{shown(brought, 1)} of {shown(needed, 1)} MJ of {kind}"
    if protein is not None and protein < ENOUGH:
        brought_g, needed = judgement.mp_g, judgement.mp_needed_g
        yield f"{shown(brought_g, 0)} of {shown(needed, 0)} g of protein"
    ceiling = judgement.energy_most_mj
    if ceiling is not None and judgement.energy_mj > ceiling / ENOUGH:
        above = f"above the {shown(ceiling, 1)} at which they get too fat"
        yield f"{shown(judgement.energy_mj, 1)} MJ of {kind}, {above}"


def winter_by_standards_story(answer: WinterByStandards) -> Story:
    """The story of `winter --compare-standards`."""
    first, second = answer.first.outcome, answer.second.outcome
    lines = [_winter_bill(answer.farm, side) for side in (answer.first, answer.second)]
    both = first.cost is not None and second.cost is not None
    if both:
        lines.append(_parting(answer.farm, first, second, "t"))
        lines += _winter_why(answer)
    parts = [
        *always(Words((*lines, *_alone(answer.alone)), what="standards", about="the farm")),
        *always(winter_by_standard_table(answer)),
        *full(winter_judged_table(answer)),
        *always(Words((TO_THE_KILOGRAM, OPINION))),
    ]
    return Story(
        "winter_standards",
        tuple(parts),
        lambda: winter_by_standard_table(answer),
        days=(answer.farm.start, answer.farm.turnout),
        exit_code=_exit_code(answer.first, answer.second),
        hint="Each plan judged by the other standard, group by group: `--full`.",
    )


def _winter_bill(farm: Farm, side: WinterSide) -> str:
    outcome = side.outcome
    if outcome.cost is None:
        return f"{side.title}: no plan ({outcome.short})."
    return (
        f"{side.title}: {farm.currency} {shown(outcome.cost, 0)} for the winter, of it"
        f" {shown(outcome.bought_cost, 0)} bought; {_proved(outcome.gap)}."
    )


def _proved(gap: float | None) -> str:
    if gap is None or gap == inf:
        return "not proved to be the least"
    return f"proved to within {shown(gap, 0, 'up')}" if gap >= NO_GAP else "proved"


def _winter_why(answer: WinterByStandards) -> Iterator[str]:
    """Whose plan leaves which groups short by the other."""
    pairs = ((answer.first, answer.second), (answer.second, answer.first))
    for side, opposite in pairs:
        short = [judged for judged in side.judged if judged.short_share > 0.0]
        if not short:
            yield f"The plan by {side.title} is enough by {opposite.title} too."
            continue
        short.sort(key=lambda judged: -judged.short_share)
        groups = "; ".join(
            f"{judged.name} {_least(judged.energy_share, judged.protein_share)}"
            for judged in short[:MOST_GROUPS]
        )
        if len(short) > MOST_GROUPS:
            groups += f"; and {len(short) - MOST_GROUPS} more"
        by, judge = side.title, opposite.title
        yield f"Why: of the plan by {by}, {judge} would call short: {groups}."


def _least(energy: float | None, protein: float | None) -> str:
    """The scarcer of energy and protein, as a share of what is asked for."""
    shares = [
        (share, name)
        for share, name in ((energy, "energy"), (protein, "protein"))
        if share is not None
    ]
    share, name = min(shares)
    return f"({name} down to {shown(100.0 * share, 0)} %)"
