"""What follows from the answers about a day by arithmetic: rations, what is fed, sheets."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from rationlp.after.cautions import farm_cautions, gravest_first, ration_cautions
from rationlp.after.changeover import ChangeOver, fed_before
from rationlp.after.plan_changes import News
from rationlp.farm.farm import Farm
from rationlp.model.bales import OpenBale, bales_line, eaters_of, open_too_long
from rationlp.records import dataclass
from rationlp.result import Caution, FedSupply, GroupRation, Rations
from rationlp.yard.parlour import Parlour, parlour
from rationlp.yard.sheets import GroupSheet, YardSheets


@dataclass(frozen=True)
class RationFacts:
    """Rations and what follows from them.

    called_for: cautions of the farm. cautions, parlours: by group id, what each ration calls for
    and what it gives by yield (None without a `parlour_feed`). bales: those that lie open too long,
    in a sentence, empty where none does.
    """

    rations: Rations
    called_for: tuple[Caution, ...]
    cautions: Mapping[str, tuple[Caution, ...]]
    parlours: Mapping[str, Parlour | None]
    bales: str


def ration_facts(rations: Rations, changes: Mapping[str, ChangeOver] | None = None) -> RationFacts:
    """Everything worked out from rations without solving again. changes: by group id."""
    farm, groups = rations.farm, rations.groups
    fed = (group for group in groups if group.feed_cost is not None)
    return RationFacts(
        rations,
        farm_cautions(farm),
        {
            group.group: ration_cautions(farm, group, fed_before(changes, group.group))
            for group in groups
        },
        {group.group: parlour(farm, group) for group in groups},
        bales_line(_open_too_long(rations, fed)),
    )


def _open_too_long(rations: Rations, fed: Iterable[GroupRation]) -> Iterator[OpenBale]:
    """Bales that lie open too long. Where only some groups of the farm were asked for, others may
    eat of the same bale: then only those that sheep eat of are told.
    """
    whole = {group.group for group in rations.groups} >= {group.id for group in rations.farm.groups}
    for bale in open_too_long(rations.farm, tuple(eaters_of(fed))):
        if whole or bale.sheep:
            yield bale


@dataclass(frozen=True)
class FedFacts:
    """What groups are given, and what it calls for.

    called_for: cautions of the farm. cautions: by group id, of what it is given.
    """

    fed: tuple[FedSupply, ...]
    called_for: tuple[Caution, ...]
    cautions: Mapping[str, tuple[Caution, ...]]


def fed_facts(farm: Farm | None, fed: Iterable[FedSupply]) -> FedFacts:
    """What is given with its cautions; none without a farm."""
    groups = tuple(fed)
    if farm is None:
        return FedFacts(groups, (), {})
    cautions = {group.group: ration_cautions(farm, group) for group in groups}
    return FedFacts(groups, farm_cautions(farm), cautions)


@dataclass(frozen=True)
class SheetFacts:
    """The sheets of a yard and what follows from them.

    cautions: of the whole day, gravest first. of_sheets, of_fed: by group id, what its ration calls
    for before and after rounding, and what it calls for as rounded. bales: those that lie open too
    long, in a sentence, empty where none does.
    """

    yard: YardSheets
    cautions: tuple[Caution, ...]
    of_sheets: Mapping[str, tuple[Caution, ...]]
    of_fed: Mapping[str, tuple[Caution, ...]]
    bales: str


def sheet_facts(yard: YardSheets) -> SheetFacts:
    """Everything that is worked out from sheets without solving again."""
    fed = tuple(eaters_of(sheet.before for sheet in yard.sheets))
    return SheetFacts(
        yard,
        yard_cautions(yard),
        {sheet.group: sheet_cautions(yard, sheet) for sheet in yard.sheets},
        {sheet.group: ration_cautions(yard.farm, sheet.fed) for sheet in yard.sheets},
        bales_line(open_too_long(yard.farm, fed)),
    )


def with_news(yard: YardSheets, news: News) -> YardSheets:
    """The sheets with the news of a plan's day: a change-over comes first in the notes."""
    sheets = []
    for sheet in yard.sheets:
        if sheet.group in news.changing:
            sheet = replace(sheet, notes=(news.changing[sheet.group], *sheet.notes))
        sheets.append(sheet)
    return replace(yard, sheets=tuple(sheets), news=news)


def sheet_cautions(yard: YardSheets, sheet: GroupSheet) -> tuple[Caution, ...]:
    """The cautions of one group's ration, gravest first: before and after rounding."""
    farm = _with_group(yard.farm, sheet.group)
    before = yard.news.kg_dm_before.get(sheet.group)
    cautions = {caution.id: caution for caution in ration_cautions(farm, sheet.before, before)}
    cautions |= {caution.id: caution for caution in ration_cautions(farm, sheet.fed, before)}
    return gravest_first(yard.news.marked(caution) for caution in cautions.values())


def yard_cautions(yard: YardSheets) -> tuple[Caution, ...]:
    """All cautions of a day, gravest first: of groups, stores and feeds."""
    every = [caution for sheet in yard.sheets for caution in sheet_cautions(yard, sheet)]
    for ration in yard.without:
        cautions = ration_cautions(_with_group(yard.farm, ration.group), ration)
        every += [yard.news.marked(caution) for caution in cautions]
    return gravest_first([*every, *farm_cautions(yard.farm)])


def _with_group(farm: Farm, group: str) -> Farm:
    return replace(farm, groups=tuple(present for present in farm.groups if present.id == group))
