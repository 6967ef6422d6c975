"""The farm folder: farm.toml and the CSV files beside it, checked whole, every error told at once.

`read_farm` is the entrance. The folder holds farm.toml; beside it, if wanted, feeds.csv (own
feeds), lab.csv (analyses), prices.csv (prices of bought feeds). A workbook (.xlsx) in place of the
folder gives the same tables (read/workbook.py) and passes the same checks.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rationlp.errors import InputError
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.penalties import penalties
from rationlp.read.draft import Draft, draft_of
from rationlp.read.folder import Overrides, Source, by_standard, open_source
from rationlp.read.groups import read_groups
from rationlp.read.growing import read_growing
from rationlp.read.later import read_later
from rationlp.read.leaving import leaving
from rationlp.read.loading import read_feeding
from rationlp.read.offers import check_kept_for, read_offers
from rationlp.read.winter import read_winter
from rationlp.read.yard_rules import read_yard_rules
from rationlp.rules.usual_prices import price_notices

LONGEST_WINTER_DAYS = 300
NO_OVERRIDES = Overrides({}, {})


def read_farm(path: Path | str, standard: str | None = None) -> Farm:
    """A farm folder or workbook (.xlsx), checked. Raises one InputError with everything wrong, each
    with place and remedy.

    standard: of the needs of every group it holds for, whatever the farm says; None leaves it.
    """
    source = open_source(Path(path))
    return farm_of(source if standard is None else by_standard(source, standard))


def farm_of(
    source: Source, raw: Mapping[str, Any] | None = None, over: Overrides | None = None
) -> Farm:
    """The farm of a source, checked as `read_farm` does. raw, over: of a question."""
    draft = draft_of(source, source.raw if raw is None else raw, over or NO_OVERRIDES)
    read_offers(draft)
    groups = read_groups(draft)
    check_kept_for(draft)
    feeding, groups = read_feeding(draft, groups)
    parts = read_winter(draft)
    groups = leaving(groups, parts.stays, draft.winter, draft.faults)
    crops, later = read_growing(draft), read_later(draft)
    _check_whole(draft)
    _refuse_faults(draft, source)
    tables = draft.tables
    prices, margins, winter = tables["prices"], tables["margins"], tables["winter"]
    mj_price, over_energy, mineral_shortage = penalties(
        prices.over_energy_per_mj, prices.mineral_shortage_per_g, draft.offers
    )
    return Farm(
        place=str(source.path),
        name=tables["farm"].name,
        currency=tables["farm"].currency,
        start=winter.start,
        turnout=winter.turnout,
        margins=Margins(margins.me, margins.mp, margins.me_milking),
        home_grown_price=tables["home_grown"].price,
        over_energy_price_per_mj=over_energy,
        mineral_shortage_price_per_g=mineral_shortage,
        mj_price=mj_price,
        offers=draft.offers,
        stores=draft.stores,
        groups=groups,
        feeds=draft.feeds,
        growing=crops,
        land_ha=tables["land"].hectares,
        own_quantities=draft.own_quantities,
        notices=tuple(dict.fromkeys([*draft.faults.notices, *price_notices(draft.offers)])),
        feeding=feeding,
        yard_rules=read_yard_rules(tables["yard"]),
        outlets=parts.outlets,
        beddings=parts.beddings,
        mixes=parts.mixes,
        periods=parts.periods,
        milk_price_per_litre=prices.milk_per_litre,
        later=later,
    )


def _refuse_faults(draft: Draft, source: Source) -> None:
    """Raises InputError with everything that is wrong, each thing once."""
    findings = draft.faults.findings
    if source.book is not None:
        findings = source.book.all_findings(findings)
    if findings:
        raise InputError(dict.fromkeys(findings))


def _check_whole(draft: Draft) -> None:
    """What only shows when all is read: dates, no feeds, no groups."""
    faults = draft.faults
    winter = draft.tables["winter"]
    if winter is not None:
        days = (winter.turnout - winter.start).days
        if days <= 0:
            problem = f"turnout {winter.turnout} is not after start {winter.start}"
            faults.at("winter").add("IN130", problem, "give the turnout of the coming spring")
        elif days > LONGEST_WINTER_DAYS:
            problem = f"a winter of {days} days"
            faults.at("winter").tell("WA201", problem, "check the years of both dates")
    entry = faults.spelling.entry
    if not draft.lists["groups"] and draft.raw.get("groups", []) == []:
        faults.add("IN131", "no group of animals", f"add at least one {entry('groups')}")
    if not draft.lists["stores"] and not draft.lists["bought"]:
        remedy = f"add at least one {entry('stores')} or {entry('bought')}"
        faults.add("IN132", "neither a store nor a bought feed", remedy)
