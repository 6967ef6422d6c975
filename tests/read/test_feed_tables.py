"""The packaged feed tables: against published tables, against themselves, and what the stated rules
fill.

Outside values: tests/read/published/feed_checks.csv, each row with its source; `independent` says
whether that source was used to set the feed's row (no: it only proves that it was copied well).
Tolerances are common practice, no source (c).
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from rationlp.csvfile import parse_number, read_rows
from rationlp.errors import Faults, Finding
from rationlp.farm.feed import Feed, Figure
from rationlp.farm.feed_table import KINDS, WORDS, sorts
from rationlp.folders import feeds_folder, packaged_rows
from rationlp.quantities import quantities
from rationlp.read.feeds import overlay_own, read_feed_tables
from rationlp.read.lab import LabAnalysis, overlay_lab
from rationlp.rules.blanks import complete, fme_rule
from rationlp.rules.feedchecks import check_feed

TABLES = read_feed_tables()
PUBLISHED = Path(__file__).with_name("published") / "feed_checks.csv"
COLUMNS = {
    "dm": ("dm_g_per_kg", 0.12, 40.0),
    "me": ("me_mj_per_kg_dm", 0.0, 0.8),
    "cp": ("cp_g_per_kg_dm", 0.15, 12.0),
    "ndf": ("ndf_g_per_kg_dm", 0.15, 40.0),
    "starch": ("starch_g_per_kg_dm", 0.10, 40.0),
    "sugar": ("sugar_g_per_kg_dm", 0.30, 30.0),
}
VICTORIA = (
    "Nutritive characteristics of supplementary feeds used in the Victorian dairy industry, state"
    " agriculture department"
)
BEEF = "Useful tables: beef, state government of Victoria"
DISAGREEMENTS = {
    (VICTORIA, "barley", "me"),
    (VICTORIA, "brewers_grains", "dm"),
    (VICTORIA, "lupins", "me"),
    (VICTORIA, "oats", "me"),
    (VICTORIA, "oats", "cp"),
    (VICTORIA, "potatoes", "ndf"),
    (VICTORIA, "soya_meal_44", "me"),
    (VICTORIA, "soya_meal_44", "ndf"),
    (BEEF, "oats", "me"),
    (BEEF, "oats", "cp"),
    ("Nutritional value of feeds, Australian dairy body", "straw_wheat", "me"),
}
"""Known disagreements between tables: cereals of other climates, pooled products, hull shares."""


def published() -> list[tuple[dict[str, str], str, float]]:
    """(row, column, printed value) of every figure of the check set."""
    with PUBLISHED.open(encoding="utf-8", newline="") as handle:
        return [
            (row, name, float(row[name]))
            for row in csv.DictReader(handle)
            for name in COLUMNS
            if row[name]
        ]


def outside() -> set[tuple[str, str, str]]:
    """Independent figures that lie outside their tolerance."""
    found = set()
    for row, name, printed in published():
        quantity, share, least = COLUMNS[name]
        ours = TABLES[row["key"]].value(quantity)
        assert ours is not None
        if row["independent"] == "yes" and abs(ours - printed) > max(share * printed, least) + 1e-9:
            found.add((row["source"], row["key"], name))
    return found


def test_independent_tables_agree_but_for_the_known_disagreements() -> None:
    """125 figures of 18 feeds from sources that did not set the row: exactly the eleven listed lie
    outside.
    """
    independent = [(row, name) for row, name, _ in published() if row["independent"] == "yes"]
    assert len(independent) == 125
    assert len({row["key"] for row, _ in independent}) >= 18
    assert outside() == DISAGREEMENTS


def test_mean_differences_are_small() -> None:
    """Over the independent figures the tables run 0.3 MJ above in ME and within 15 g in CP, NDF and
    starch on average.
    """
    differences: dict[str, list[float]] = {name: [] for name in COLUMNS}
    for row, name, printed in published():
        if row["independent"] == "yes":
            differences[name].append((TABLES[row["key"]].value(COLUMNS[name][0]) or 0.0) - printed)
    means = {name: sum(values) / len(values) for name, values in differences.items() if values}
    assert means["me"] == pytest.approx(0.3, abs=0.15)
    assert all(abs(means[name]) < 15.0 for name in ("cp", "ndf", "starch"))


def test_rows_that_were_set_from_a_source_still_carry_its_figures() -> None:
    """Copied well: figures of sources that set or bracketed the row lie within the same tolerances,
    two products aside.
    """
    off = []
    for row, name, printed in published():
        quantity, share, least = COLUMNS[name]
        if row["independent"] in ("no", "part"):
            ours = TABLES[row["key"]].value(quantity) or 0.0
            if abs(ours - printed) > max(share * printed, least) + 1e-9:
                off.append((row["key"], name))
    # One sugar figure of a single sample, and a hay of less protein than a good ley hay has here.
    assert off == [("lucerne_silage", "sugar"), ("hay_good", "cp")]


def test_all_feeds_are_there_with_source_and_status() -> None:
    """82 feeds of known kinds, every row with a source and a status, none of which names one of our
    own sheets.
    """
    rows = [
        row
        for path in sorted((feeds_folder() / "tables").glob("*.csv"))
        for row in read_rows(path).rows
    ]
    assert len(rows) == len(TABLES) == 82
    for row in rows:
        assert row.cells["kind"] in KINDS
        assert row.cells["source"]
        assert set(row.cells["status"].split(",")) <= {"a", "b", "c"}
        assert ".md" not in row.cells["source"]
    assert all(
        figure.source and figure.status
        for feed in TABLES.values()
        for figure in feed.figures.values()
    )


@pytest.mark.parametrize("key", sorted(TABLES))
def test_a_feed_does_not_contradict_itself(key: str) -> None:
    """Parts, ADF and NDF, FME and ME, degradability, ADIN, and ME against what its parts could
    bring.
    """
    feed = TABLES[key]
    faults = Faults(key)
    check_feed(feed, faults)
    assert faults.findings == []
    value = {name: figure.value for name, figure in feed.figures.items()}
    parts = [
        value.get(f"{part}_g_per_kg_dm", 0.0)
        for part in ("cp", "ndf", "starch", "sugar", "oil", "ash")
    ]
    if feed.kind != "npn":
        assert sum(parts) <= (960.0 if sorts()[key] in ("grass_silage", "maize_silage") else 1000.0)
    assert value["fme_mj_per_kg_dm"] <= value["me_mj_per_kg_dm"]
    assert value.get("adin_g_n_per_kg_dm", 0.0) * 6.25 <= 0.2 * value["cp_g_per_kg_dm"] + 1e-9
    if feed.kind in ("npn", "mineral", "fat"):
        return
    cp, ndf, starch, sugar, oil, ash = parts
    assert (
        value["me_mj_per_kg_dm"]
        >= 0.030 * oil + 0.013 * (starch + sugar) + 0.008 * cp + 0.002 * ndf
    )
    gross = 0.0241 * cp + 0.0366 * oil + 0.0170 * (1000.0 - cp - oil - ash)
    assert 0.30 * gross <= value["me_mj_per_kg_dm"] <= 0.82 * gross


@pytest.mark.parametrize("key", sorted(TABLES))
def test_the_fme_rule_reproduces_the_table(key: str) -> None:
    """FME by the stated rule agrees with the printed column to rounding. AFRC (1993) rules, from
    memory (b).
    """
    feed = TABLES[key]
    bare = Feed(
        key,
        feed.name,
        feed.kind,
        {n: f for n, f in feed.figures.items() if n != "fme_mj_per_kg_dm"},
    )
    computed = complete(bare).figures["fme_mj_per_kg_dm"]
    assert computed.origin == "computed"
    assert computed.value == pytest.approx(feed.value("fme_mj_per_kg_dm"), abs=0.06)


def test_a_blank_is_never_nought() -> None:
    """Straw has no degradability in the table; only `complete` fills it, and says that it is a
    default.
    """
    straw = TABLES["straw_barley"]
    assert straw.value("prot_a_fraction") is None
    filled = complete(straw).figures["prot_a_fraction"]
    assert (filled.value, filled.origin, filled.status) == (0.30, "default", "c")
    assert complete(straw).figures["adin_g_n_per_kg_dm"].origin == "default"
    assert TABLES["pot_ale_syrup"].value("cu_mg_per_kg_dm") is None
    assert complete(TABLES["pot_ale_syrup"]).value("cu_mg_per_kg_dm") is None


def test_fme_follows_an_analysis_unless_it_was_analysed() -> None:
    """A new ME moves FME by the rule; an own FME is kept."""
    silage = overlay_own(TABLES["grass_silage_2nd"], {"me_mj_per_kg_dm": 11.0}, Faults("own"))
    assert fme_rule(silage) == "grass_silage"
    dm = silage.dm_g_per_kg
    expected = 11.0 * (0.467 + 0.00136 * dm - 0.00000115 * dm * dm)
    assert complete(silage).value("fme_mj_per_kg_dm") == pytest.approx(expected)
    own = overlay_own(silage, {"fme_mj_per_kg_dm": 8.0}, Faults("own"))
    assert complete(own).value("fme_mj_per_kg_dm") == 8.0
    assert complete(own).figures["fme_mj_per_kg_dm"].origin == "farm"


def sheet(**figures: float) -> LabAnalysis:
    """A corrected sheet with these figures."""
    return LabAnalysis("pit", figures, "lab.csv row 2", "2026-09-02")


def laid(key: str, sort: str, *sheets: LabAnalysis) -> tuple[Feed, list[Finding]]:
    """A feed of the tables with sheets over it, and the notices; nothing is wrong."""
    faults = Faults("lab.csv")
    feed = overlay_lab(TABLES[key], sheets, sort, faults)
    assert faults.findings == []
    return feed, faults.notices


def test_a_sheet_replaces_its_own_figures_only() -> None:
    """Analysed figures carry the sheet, all others keep the table as their origin."""
    feed, said = laid("grass_silage_2nd", "grass_silage", sheet(me_mj_per_kg_dm=11.2))
    assert feed.figures["me_mj_per_kg_dm"] == Figure(
        11.2, "lab", "lab.csv row 2, sampled 2026-09-02", sampled="2026-09-02"
    )
    assert feed.figures["ndf_g_per_kg_dm"].origin == "table"
    assert said == []


def test_oven_dry_matter_is_corrected_once() -> None:
    """20.8 + 0.975·250 = 264.55 g/kg for grass, 22.2 + 0.960·300 = 310.2 for maize; hay is left as
    it is.
    """
    oven = LabAnalysis("pit", {"dm_g_per_kg": 250.0}, "lab.csv row 2", "", True)
    grass, _ = laid("grass_silage_2nd", "grass_silage", oven)
    assert grass.dm_g_per_kg == pytest.approx(264.55)
    assert grass.figures["dm_g_per_kg"].origin == "computed"
    maize = LabAnalysis("pit", {"dm_g_per_kg": 300.0}, "lab.csv row 2", "", True)
    assert laid("maize_silage_typical", "maize_silage", maize)[0].dm_g_per_kg == pytest.approx(
        310.2
    )
    both = LabAnalysis(
        "pit", {"dm_g_per_kg": 250.0, "cp_g_per_kg_dm": 140.0}, "lab.csv row 2", "", True
    )
    fed, _ = laid("grass_silage_2nd", "grass_silage", both)
    assert fed.value("cp_g_per_kg_dm") == pytest.approx(140.0 * 250.0 / 264.55)
    hay = LabAnalysis("hay", {"dm_g_per_kg": 850.0}, "lab.csv row 2", "", True)
    assert laid("hay_average", "hay", hay)[0].dm_g_per_kg == 850.0


def test_me_comes_from_the_d_value_only_where_there_is_none() -> None:
    """D 68 is 10.88 MJ in silage (0.016 a gram) and 10.676 in hay (0.0157); a printed ME beats
    both.
    """
    d_value = sheet(d_value_percent_of_dm=68.0)
    silage, _ = laid("grass_silage_2nd", "grass_silage", d_value)
    assert silage.figures["me_mj_per_kg_dm"].value == pytest.approx(10.88)
    assert silage.figures["me_mj_per_kg_dm"].origin == "computed"
    hay, _ = laid("hay_average", "hay", d_value)
    assert hay.value("me_mj_per_kg_dm") == pytest.approx(10.676)
    both, _ = laid(
        "grass_silage_2nd", "grass_silage", sheet(d_value_percent_of_dm=68.0, me_mj_per_kg_dm=11.3)
    )
    assert both.figures["me_mj_per_kg_dm"].value == 11.3


def test_two_sheets_are_averaged_and_their_spread_is_said() -> None:
    """10.4 and 11.0 make 10.7, with one notice that names both ends."""
    first, second = sheet(me_mj_per_kg_dm=10.4), sheet(me_mj_per_kg_dm=11.0)
    feed, said = laid("grass_silage_2nd", "grass_silage", first, second)
    assert feed.value("me_mj_per_kg_dm") == pytest.approx(10.7)
    assert [notice.code for notice in said] == ["WA102"]
    assert "ME 10.4 to 11.0 MJ/kg DM" in said[0].found


def test_an_unusual_figure_warns_and_forbids_nothing() -> None:
    """Ash of 140 g/kg DM in grass silage is said with the threshold and whose it is."""
    feed, said = laid("grass_silage_2nd", "grass_silage", sheet(ash_g_per_kg_dm=140.0))
    assert feed.value("ash_g_per_kg_dm") == 140.0
    assert [notice.code for notice in said] == ["WA101"]
    assert "usual from 55 to 120 (common practice)" in said[0].remedy


def test_the_vocabulary_is_whole() -> None:
    """Every column of the tables is a quantity; ranges are ordered; units, titles and sources are
    there.
    """
    columns = {name for feed in TABLES.values() for name in feed.figures}
    assert columns <= set(quantities())
    for quantity in quantities().values():
        ends = [quantity.hard_low, quantity.soft_low, quantity.soft_high, quantity.hard_high]
        known = [end for end in ends if end is not None]
        assert known == sorted(known), quantity.name
        assert quantity.title
        assert quantity.unit
        assert quantity.source
        assert 0 <= quantity.decimals <= 4


SHIPPED = sorted(str(path.relative_to(feeds_folder())) for path in feeds_folder().rglob("*.csv"))


@pytest.mark.parametrize("name", SHIPPED)
def test_what_is_shipped_reads_the_same_with_and_without_care(name: str) -> None:
    """Our own tables, read quickly, hold what the reader of a farm's files finds in them."""
    careful = read_rows(feeds_folder() / name)
    assert packaged_rows(name) == [row.cells for row in careful.rows]


def test_every_shipped_figure_is_a_plain_number() -> None:
    """No cell of the feed tables needs the reader of a farm's files: each is blank or a number as
    it stands.
    """
    figures = [
        (cell, value)
        for name in SHIPPED
        if name.startswith("tables/")
        for row in packaged_rows(name)
        for heading, cell in row.items()
        if heading not in WORDS
        for value in [parse_number(cell, name)]
    ]
    assert len(figures) > 1000
    assert all(
        (value is None) == (cell == "") and (not cell or float(cell) == value)
        for cell, value in figures
    )
