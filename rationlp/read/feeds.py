"""Feed tables: the packaged ones, the farm's own laid over them, and the stated rules that fill
what a table leaves blank.

A blank is never 0. What a rule fills says so: origin `computed` (FME by a published rule) or
`default` (class defaults of degradability, a blank ADIN taken as 0).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches
from functools import lru_cache
from os import listdir
from pathlib import Path

from rationlp.errors import Finding, InputError
from rationlp.folders import feeds_folder, packaged_rows
from rationlp.quantities import Quantity, quantities
from rationlp.read.csvfile import CsvRow, CsvTable, parse_number, read_rows
from rationlp.read.feedchecks import check_feed, check_range, check_sort
from rationlp.read.objects import Feed, Figure

KINDS = (
    "forage", "straw", "root", "cereal", "pulse_oilseed", "by_product", "liquid", "fat", "npn",
    "mineral", "compound",
)  # fmt: skip
WORDS = ("key", "name", "kind", "sort", "fme_rule", "status", "source", "note")
FME_RULES = ("grass_silage", "fermented", "brewery_distillery", "dry", "none")
SORTS = (
    "grass_silage", "legume_silage", "maize_silage", "wholecrop", "wholecrop_alkaline", "hay",
    "cereal_straw", "treated_straw",
)  # fmt: skip
FRACTIONS = ("prot_a_fraction", "prot_b_fraction", "prot_c_per_h")
FRACTION_DEFAULTS = {
    "straw": (0.30, 0.40, 0.04),
    "molasses": (0.95, 0.05, 0.30),
    "pot_ale_syrup": (0.85, 0.12, 0.15),
}
"""Degradability where a table is blank, by kind or start of the key; common practice, no source
(c).
"""

_RULE_SOURCE = "AFRC (1993) rule for fermentable energy, from memory of the publication"


def read_feed_tables(
    own: Path | CsvTable | None = None, own_quantities: Mapping[str, Quantity] | None = None
) -> dict[str, Feed]:
    """The packaged feed tables by key, with the farm's own CSV laid over them.

    own: a CSV (or its table once read) with the same columns, plus those that the farm declared
    itself (`own_quantities`). A key of the packaged tables replaces single figures of that feed
    (origin `farm`); a new key is a new feed. Raises InputError with everything that is wrong.
    """
    feeds = dict(_packaged())
    if own is not None:
        feeds.update(read_own_feeds(own, feeds, own_quantities or {}))
    return feeds


@lru_cache(maxsize=1)
def _tables() -> tuple[tuple[str, list[dict[str, str]]], ...]:
    """The packaged tables with their names, read once."""
    names = sorted(name for name in listdir(feeds_folder() / "tables") if name.endswith(".csv"))
    return tuple((name, packaged_rows(f"tables/{name}")) for name in names)


@lru_cache(maxsize=1)
def _packaged() -> dict[str, Feed]:
    feeds: dict[str, Feed] = {}
    origins = _figure_origins()
    for table, rows in _tables():
        for cells in rows:
            key, own = cells["key"], (cells["status"], cells["source"])
            figures = {}
            for name, cell in cells.items():
                if cell and name not in WORDS:
                    # A figure's status and source are its own, else its column's, else its row's.
                    status, source = origins.get((name, key)) or origins.get((name, "")) or own
                    figures[name] = Figure(
                        float(cell), "table", f"feed tables, {table}: {source}", status
                    )
            words = (cells["sort"], cells["fme_rule"])
            feeds[key] = Feed(key, cells["name"], cells["kind"], figures, cells["note"], *words)
    return feeds


def _figure_origins() -> dict[tuple[str, str], tuple[str, str]]:
    """Status and source of figures that differ from those of their row, by (quantity, feed key);
    key "" is a whole column.
    """
    return {
        (cells["quantity"], key): (cells["status"], cells["source"])
        for cells in packaged_rows("figure-sources.csv")
        for key in cells["feeds"].split() or [""]
    }


@lru_cache(maxsize=1)
def sorts() -> dict[str, str]:
    """The sort of each packaged feed (`grass_silage`, `hay`, …) by key: what laboratory ranges and
    rules go by.
    """
    return {cells["key"]: cells["sort"] or cells["kind"] for _, rows in _tables() for cells in rows}


def sort_of(feed: Feed) -> str:
    """What laboratory ranges and rules go by: the feed's own sort, else the packaged table's, else
    its kind.
    """
    return feed.sort or sorts().get(feed.key) or feed.kind


SILAGES = frozenset(
    {"grass_silage", "legume_silage", "maize_silage", "wholecrop", "wholecrop_alkaline"}
)
LONG_SORTS = frozenset({"hay", "cereal_straw", "treated_straw"})
DRIEST_SILAGE_G_PER_KG = 700.0


def is_silage(feed: Feed) -> bool:
    """A silage, bales included; a forage of the farm's own table counts as one below 700 g
    DM/kg.
    """
    sort = feed.sort or sorts().get(feed.key)
    if sort:
        return sort in SILAGES
    return feed.kind == "forage" and feed.dm_g_per_kg < DRIEST_SILAGE_G_PER_KG


def is_long_forage(feed: Feed) -> bool:
    """Straw, hay or big-bale silage: what an animal has to chew."""
    return feed.kind == "straw" or sort_of(feed) in LONG_SORTS or "big_bale" in feed.key


@lru_cache(maxsize=1)
def _fme_rules() -> dict[str, str]:
    return {cells["key"]: cells["fme_rule"] for _, rows in _tables() for cells in rows}


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
            near = get_close_matches(heading, allowed, 1, 0.5)
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
        near = get_close_matches(kind, KINDS, 1, 0.4)
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


def complete(feed: Feed) -> Feed:
    """A feed with what stated rules can fill: FME (computed), degradability and ADIN (defaults),
    each saying so.

    FME is computed again when a figure it rests on (ME, DM, oil) came from the farm or the
    laboratory and FME did not.
    """
    figures = dict(feed.figures)
    fme = figures.get("fme_mj_per_kg_dm")
    rest = [figures.get(name) for name in ("me_mj_per_kg_dm", "dm_g_per_kg", "oil_g_per_kg_dm")]
    changed = any(figure is not None and figure.origin != "table" for figure in rest)
    if fme is None or (fme.origin == "table" and changed):
        computed = _fme(feed)
        if computed is not None:
            figures["fme_mj_per_kg_dm"] = computed
    if feed.value("cp_g_per_kg_dm"):
        _fill_fractions(feed, figures)
    if "adin_g_n_per_kg_dm" not in figures and feed.value("cp_g_per_kg_dm"):
        figures["adin_g_n_per_kg_dm"] = Figure(
            0.0, "default", "a blank ADIN counts as 0; common practice, no source", "c"
        )
    return replace(feed, figures=figures)


def _fill_fractions(feed: Feed, figures: dict[str, Figure]) -> None:
    for start, values in FRACTION_DEFAULTS.items():
        if feed.kind == start or feed.key.startswith(start):
            for name, value in zip(FRACTIONS, values, strict=True):
                if name not in figures:
                    said = (
                        f"default for {start.replace('_', ' ')} where the table is blank; common"
                        " practice, no source"
                    )
                    figures[name] = Figure(value, "default", said, "c")


def fme_rule(feed: Feed) -> str:
    """Which FME rule a feed follows: its own or its table's, else that of its sort, else that of
    its kind.

    A forage of the farm's own of which only the kind is known counts as fermented where it is wet
    enough to be a silage: the cautious side, for microbes get nothing from fermentation acids.
    """
    known = feed.fme_rule or _fme_rules().get(feed.key)
    if known:
        return known
    if feed.sort == "grass_silage":
        return "grass_silage"
    if is_silage(feed) and feed.sort != "wholecrop_alkaline":
        return "fermented"
    return "none" if feed.kind in ("fat", "npn", "mineral") else "dry"


def _fme(feed: Feed) -> Figure | None:
    """Fermentable ME [MJ/kg DM]. AFRC (1993), status (b).

    Grass silages: ME·(0.467 + 0.00136 ODM − 0.00000115 ODM²), ODM oven dry matter g/kg (taken as
    the feed's DM). Others: ME − 0.035·oil − k·ME, k 0.10 for silages, 0.05 for brewery and
    distillery by-products, 0 for dry feeds, for urea- or ammonia-treated wholecrop and straw. Fat,
    urea and minerals 0. None where a figure it needs is blank.
    """
    rule = fme_rule(feed)
    if rule == "none":
        return Figure(0.0, "computed", f"{_RULE_SOURCE}: no fermentable energy", "b")
    me = feed.value("me_mj_per_kg_dm")
    if me is None:
        return None
    if rule == "grass_silage":
        dm = feed.dm_g_per_kg
        share = 0.467 + 0.00136 * dm - 0.00000115 * dm * dm
        return Figure(
            me * share, "computed", f"{_RULE_SOURCE}: grass silage by its dry matter", "b"
        )
    oil = feed.value("oil_g_per_kg_dm")
    if oil is None:
        return None
    lost = {"fermented": 0.10, "brewery_distillery": 0.05}.get(rule, 0.0)
    value = max(me - 0.035 * oil - lost * me, 0.0)
    return Figure(
        value,
        "computed",
        f"{_RULE_SOURCE}: ME less oil and {100 * lost:.0f} % fermentation acids",
        "b",
    )
