"""Figures that look right and are not: a percentage among grams, two readings of a comma, a table's
ADF beside an own NDF.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from rationlp.csvfile import parse_number, read_rows
from rationlp.errors import Faults, InputError
from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import is_silage, sort_of
from rationlp.read.feeds import overlay_own, read_feed_tables
from rationlp.read.lab import overlay_lab, read_lab
from rationlp.rules.blanks import complete, fme_rule

TABLES = read_feed_tables()
HEADINGS = "key,kind,sort,fme_rule,dm_g_per_kg,me_mj_per_kg_dm,cp_g_per_kg_dm,oil_g_per_kg_dm\n"


def own(folder: Path, row: str) -> Feed:
    """The feed `mine` of a feeds.csv with this row."""
    path = folder / "feeds.csv"
    path.write_text(HEADINGS + row + "\n", encoding="utf-8")
    return read_feed_tables(path)["mine"]


def laid(folder: Path, text: str, key: str = "grass_silage_2nd") -> tuple[Feed, list[str]]:
    """A feed of the tables with the sheets of a lab.csv for `pit`, and the codes of what was
    said.
    """
    path = folder / "lab.csv"
    path.write_text(text, encoding="utf-8")
    faults = Faults("lab.csv")
    sheets = read_lab(path).analyses["pit"]
    feed = overlay_lab(TABLES[key], sheets, sort_of(TABLES[key]), faults)
    faults.refuse()
    return feed, [notice.code for notice in faults.notices]


@pytest.mark.parametrize(
    ("kind", "dm", "meant"),
    [("cereal", 88, 880), ("compound", 86, 860), ("forage", 45, 450), ("straw", 87, 870)],
)
def test_a_percentage_of_dry_matter_is_refused_where_the_kind_shows_it(
    tmp_path: Path, kind: str, dm: int, meant: int
) -> None:
    """88 g/kg could be whey; a grain of 88 is one of 88 %, and the remedy says so."""
    with pytest.raises(InputError) as caught:
        own(tmp_path, f"mine,{kind},,,{dm},11,100,20")
    assert [finding.code for finding in caught.value.findings] == ["IN225"]
    assert f"was it {meant} g/kg (a percentage)" in caught.value.findings[0].remedy


def test_a_wet_liquid_feed_may_hold_little_dry_matter(tmp_path: Path) -> None:
    """Whey of 55 g DM/kg passes."""
    assert own(tmp_path, "mine,liquid,,,55,14,130,5").dm_g_per_kg == 55.0


@pytest.mark.parametrize(
    ("key", "dm"), [("grass_silage_2nd", 45.0), ("barley", 86.0), ("maize_silage_typical", 900.0)]
)
def test_own_figures_of_a_known_feed_meet_its_dry_matter(key: str, dm: float) -> None:
    """A store's own dry matter is judged by the sort of feed in it."""
    faults = Faults("stores")
    overlay_own(TABLES[key], {"dm_g_per_kg": dm}, faults)
    assert faults.findings[0].where == "stores.dm_g_per_kg"


@pytest.mark.parametrize(
    ("words", "dm", "rule", "fme"),
    [
        (",", 300, "fermented", 11.0 - 0.035 * 35.0 - 1.1),
        ("grass_silage,", 300, "grass_silage", 11.0 * (0.467 + 0.408 - 0.1035)),
        (",grass_silage", 300, "grass_silage", 11.0 * (0.467 + 0.408 - 0.1035)),
        ("hay,", 860, "dry", 11.0 - 0.035 * 35.0),
        (",", 860, "dry", 11.0 - 0.035 * 35.0),
        ("wholecrop_alkaline,", 560, "dry", 11.0 - 0.035 * 35.0),
    ],
)
def test_an_own_forage_loses_what_its_sort_loses(
    tmp_path: Path, words: str, dm: int, rule: str, fme: float
) -> None:
    """Fermentation acids feed no microbes: sort and fme_rule of feeds.csv count, and a wet forage
    without them is a silage.
    """
    feed = own(tmp_path, f"mine,forage,{words},{dm},11,140,35")
    assert fme_rule(feed) == rule
    assert complete(feed).value("fme_mj_per_kg_dm") == pytest.approx(fme)


def test_the_sort_decides_what_is_silage(tmp_path: Path) -> None:
    """A hay of 650 g DM/kg is no silage when it says that it is hay."""
    assert is_silage(own(tmp_path, "mine,forage,,,650,9,100,15"))
    assert not is_silage(own(tmp_path, "mine,forage,hay,,650,9,100,15"))


def test_unknown_sorts_and_rules_are_refused(tmp_path: Path) -> None:
    """Neither word is passed over: both places are named."""
    with pytest.raises(InputError) as caught:
        own(tmp_path, "mine,forage,grss,wet,300,11,140,35")
    assert [finding.where.split()[-1] for finding in caught.value.findings] == ["sort", "fme_rule"]


@pytest.mark.parametrize("text", ["1,250", "12,500", "-1,000"])
def test_a_comma_with_two_readings_is_refused(text: str) -> None:
    """1,250 is 1250 or 1.25: one is a thousand times the other."""
    with pytest.raises(InputError, match="could mean two numbers"):
        parse_number(text, "here")


@pytest.mark.parametrize(
    ("text", "value"),
    [("0,250", 0.25), ("1250", 1250.0), ("41,50", 41.5), ("1e-3", 0.001), (".5", 0.5)],
)
def test_a_comma_with_one_reading_is_read(text: str, value: float) -> None:
    """A leading nought, or other than three figures behind it, leaves one reading."""
    assert parse_number(text, "here") == value


@pytest.mark.parametrize("text", ["1_000", "١٢", "0x10", "1e", "1.2.3", "<5"])
def test_what_only_a_programmer_calls_a_number_is_refused(text: str) -> None:
    """Underscores, foreign digits and the like are a slip in a farm's file."""
    with pytest.raises(InputError, match="IN211"):
        parse_number(text, "here")


def test_a_name_too_long_for_the_system_is_said() -> None:
    """No traceback from the operating system's own limit."""
    with pytest.raises(InputError, match="IN202"):
        read_rows(Path("/") / ("x" * 300))


def test_a_pipe_is_no_file(tmp_path: Path) -> None:
    """A pipe would be waited for without end."""
    os.mkfifo(tmp_path / "lab.csv")
    with pytest.raises(InputError, match="no plain file"):
        read_rows(tmp_path / "lab.csv")


def test_a_share_of_bound_nitrogen_becomes_grams(tmp_path: Path) -> None:
    """20 % of the nitrogen in 150 g crude protein is 4.8 g N/kg DM (N × 6.25), and so heat damage
    reaches the ration.
    """
    feed, said = laid(tmp_path, "for,adin_percent_of_n,cp_g_per_kg_dm\npit,20,150\n")
    assert feed.value("adin_g_n_per_kg_dm") == pytest.approx(4.8)
    assert feed.figures["adin_g_n_per_kg_dm"].origin == "computed"
    assert said == ["WA101"]


def test_a_tables_adf_does_not_gainsay_an_analysed_ndf(tmp_path: Path) -> None:
    """An NDF of 340 stands beside the table's ADF of 348; two analysed figures in that order are
    refused.
    """
    assert (
        laid(tmp_path, "for,ndf_percent_of_dm\npit,34\n", "grass_silage_1st_late")[0].value(
            "ndf_g_per_kg_dm"
        )
        == 340.0
    )
    with pytest.raises(InputError, match="IN226"):
        laid(
            tmp_path,
            "for,ndf_percent_of_dm,adf_percent_of_dm\npit,34,34.8\n",
            "grass_silage_1st_late",
        )


@pytest.mark.parametrize(("me", "said"), [(9.6, []), (10.2, ["WA101"]), (8.9, ["WA101"])])
def test_me_and_d_value_of_one_sheet_are_compared(
    tmp_path: Path, me: float, said: list[str]
) -> None:
    """ME/DOMD is 0.0150 to 0.0168 MJ/g: with D 60, ME from 9.0 to 10.08."""
    assert laid(tmp_path, f"for,d_value_percent,me_mj_per_kg_dm\npit,60,{me}\n")[1] == said


@pytest.mark.parametrize(
    ("key", "quantity", "status"),
    [
        ("oats", "prot_a_fraction", "c"),
        ("barley", "prot_a_fraction", "b"),
        ("oats", "adin_g_n_per_kg_dm", "c"),
        ("rye", "pe_ndf_factor", "b"),
        ("rye", "ca_g_per_kg_dm", "a"),
        ("wheat", "ca_g_per_kg_dm", "b,c"),
        ("barley", "fme_mj_per_kg_dm", "b"),
    ],
)
def test_a_column_of_its_own_source_does_not_borrow_its_rows(
    key: str, quantity: str, status: str
) -> None:
    """Degradability, ADIN, minerals, FME and effective fibre carry their own status, better or
    worse than the row's.
    """
    assert TABLES[key].figures[quantity].status == status
