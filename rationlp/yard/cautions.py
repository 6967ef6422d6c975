"""What the sheets of a day call for: cautions of each ration and of the farm."""

from __future__ import annotations

from dataclasses import replace

from rationlp.after.cautions import farm_cautions, gravest_first, ration_cautions
from rationlp.after.news import News
from rationlp.farm.farm import Farm
from rationlp.result import Caution
from rationlp.yard.sheets import GroupSheet, YardSheets


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
