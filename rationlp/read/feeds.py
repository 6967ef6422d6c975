"""Feed tables: the packaged ones, the farm's own laid over them, and the stated rules that fill
what a table leaves blank.

A blank is never 0. What a rule fills says so: origin `computed` (FME by a published rule) or
`default` (class defaults of degradability, a blank ADIN taken as 0).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from rationlp.csvfile import CsvRow, CsvTable, parse_number, read_rows
from rationlp.errors import Finding, InputError
from rationlp.farm.feed import Feed, Figure
from rationlp.farm.feed_table import FME_RULES, KINDS, SORTS, WORDS, packaged_feeds, sort_of
from rationlp.named import nearest
from rationlp.quantities import Quantity, quantities
from rationlp.rules.feedchecks import check_feed, check_range, check_sort


def read_feed_tables(
    own: Path | CsvTable | None = None, own_quantities: Mapping[str, Quantity] | None = None
) -> dict[str, Feed]:
    """The packaged feed tables by key, with the farm's own CSV laid over them.

    own: a CSV (or its table once read) with the same columns, plus those that the farm declared
    itself (`own_quantities`). A key of the packaged tables replaces single figures of that feed
    (origin `farm`); a new key is a new feed. Raises InputError with everything that is wrong.
    """
    feeds = dict(packaged_feeds())
    if own is not None:
        feeds.update(read_own_feeds(own, feeds, own_quantities or {}))
    return feeds


def read_own_feeds(
    own: Path | CsvTable, known: Mapping[str, Feed], own_quantities: Mapping[str, Quantity]
) -> dict[str, Feed]:
    """The feeds of a farm's own CSV, laid over `known`. Raises InputError with everything that is
    wrong.
    """
    table = own if isinstance(own, CsvTable) else read_rows(own)
    findings = _heading_findings(table, own_quantities)
    if findings:
        raise InputError(findings)
    feeds: dict[str, Feed] = {}
    first: dict[str, int] = {}
    for row in table.rows:
        key = row.cells.get("key", "")
        where = table.where(row, "key")
        if not key:
            findings.append(
                Finding("IN221", where, "no key", "give each feed a short key of its own")
            )
        elif key in first:
            found = f'"{key}" stands in row {first[key]} already'
            findings.append(Finding("IN222", where, found, "keep one row for each feed"))
        else:
            first[key] = row.line
            try:
                feeds[key] = _own_feed(table, row, known.get(key), own_quantities)
            except InputError as trouble:
                findings += trouble.findings
    if findings:
        raise InputError(findings)
    return feeds


def _heading_findings(table: CsvTable, own_quantities: Mapping[str, Quantity]) -> list[Finding]:
    allowed = [
        *WORDS,
        *(name for name, q in quantities().items() if q.basis in ("fresh", "dm", "feed")),
        *own_quantities,
    ]
    findings = []
    if "key" not in table.headings:
        findings.append(
            Finding(
                "IN220",
                f"{table.name} headings",
                'no column "key"',
                "the first column holds the feed's key",
            )
        )
    for heading in table.headings:
        if heading not in allowed:
            near = nearest(heading, allowed, 1, 0.5)
            hint = (
                f'nearest: "{near[0]}"' if near else "declare it under own_quantities in farm.toml"
            )
            findings.append(
                Finding("IN220", f"{table.name} headings", f'unknown column "{heading}"', hint)
            )
    return findings


def _own_feed(
    table: CsvTable, row: CsvRow, known: Feed | None, own_quantities: Mapping[str, Quantity]
) -> Feed:
    findings: list[Finding] = []
    figures: dict[str, Figure] = {} if known is None else dict(known.figures)
    for name in table.headings:
        if name in WORDS:
            continue
        where = table.where(row, name)
        try:
            value = parse_number(row.cells[name], where)
            if value is not None:
                check_range(name, value, where, own_quantities)
                figures[name] = Figure(value, "farm", f"{table.name} row {row.line}")
        except InputError as trouble:
            findings += trouble.findings
    kind = row.cells.get("kind", "") or ("" if known is None else known.kind)
    if kind not in KINDS:
        near = nearest(kind, KINDS, 1, 0.4)
        hint = f'nearest: "{near[0]}"' if near else f"use one of {', '.join(KINDS)}"
        findings.append(Finding("IN223", table.where(row, "kind"), f'no feed kind "{kind}"', hint))
    words = {}
    for heading, allowed in (("sort", SORTS), ("fme_rule", FME_RULES)):
        words[heading] = row.cells.get(heading, "") or (
            "" if known is None else getattr(known, heading)
        )
        if words[heading] and words[heading] not in allowed:
            found = f'no {heading} "{words[heading]}"'
            hint = f"use one of {', '.join(allowed)}, or leave it empty"
            findings.append(Finding("IN223", table.where(row, heading), found, hint))
    if "dm_g_per_kg" not in figures and not findings:
        where = table.where(row, "dm_g_per_kg")
        findings.append(
            Finding(
                "IN224",
                where,
                "no dry matter",
                "give dm_g_per_kg: grams of dry matter in a kg fresh",
            )
        )
    key = row.cells["key"]
    name = row.cells.get("name", "") or (key if known is None else known.name)
    feed = Feed(
        key, name, kind, figures, row.cells.get("note", ""), words["sort"], words["fme_rule"]
    )
    if not findings:
        # An own kind or sort may contradict the packaged row, so the dry matter is looked at even
        # where it is that row's.
        for name in dict.fromkeys(
            ["dm_g_per_kg", *(name for name, one in figures.items() if one.origin == "farm")]
        ):
            findings += check_sort(
                name, figures[name].value, (sort_of(feed), kind), table.where(row, name)
            )
        findings += check_feed(feed, f"{table.name} row {row.line}")
    if findings:
        raise InputError(findings)
    return feed


def overlay_own(feed: Feed, figures: Mapping[str, float], where: str) -> Feed:
    """A feed with the farm's own figures over the table's (origin `farm`). Raises InputError
    outside the hard ranges.
    """
    findings: list[Finding] = []
    laid = dict(feed.figures)
    for name, value in figures.items():
        try:
            check_range(name, value, f"{where}.{name}", {})
        except InputError as trouble:
            findings += trouble.findings
        laid[name] = Figure(value, "farm", where)
    over = replace(feed, figures=laid)
    if not findings:
        for name, value in figures.items():
            findings += check_sort(name, value, (sort_of(feed), feed.kind), f"{where}.{name}")
    findings = findings or check_feed(over, where)
    if findings:
        raise InputError(findings)
    return over
