"""A valid farm is read as it is meant: defaults, order, prices, overlays, files in any common
form.
"""

from __future__ import annotations

import pickle
import re
import shutil
from datetime import date
from pathlib import Path

import pytest
from farms import FARM, FED, changed, write_farm

from rationlp.csvfile import parse_number, read_rows
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.folders import examples_folder
from rationlp.read.farm import read_farm
from rationlp.read.fed import read_fed
from rationlp.read.template import write_new_farm


def read(folder: Path, text: str = FARM, **files: str | bytes) -> Farm:
    """Write and read a farm."""
    return read_farm(write_farm(folder / "farm", text, **files))


def test_defaults_and_order(tmp_path: Path) -> None:
    """Stores come first, then bought feeds; what is left out has its default."""
    farm = read(tmp_path)
    assert [offer.id for offer in farm.offers] == ["pit", "straw", "barley", "soya_meal_48"]
    assert [offer.bought for offer in farm.offers] == [False, False, True, True]
    assert (farm.start, farm.turnout) == (date(2026, 10, 15), date(2027, 4, 10))
    cows, sucklers = farm.groups
    assert cows.fed == "to_appetite"
    assert cows.maint_factor == 1.0
    assert cows.facts["live_weight_change_kg_per_day"] == 0.0
    assert sucklers.name == "sucklers"
    assert farm.over_energy_price_per_mj == pytest.approx(5.5 * farm.mj_price)
    assert farm.mineral_shortage_price_per_g == pytest.approx(0.55 * farm.mj_price)
    assert farm.stores[0].size == {"length_m": 30.0, "width_m": 10.0, "height_m": 2.5}


def test_a_farm_can_be_pickled(tmp_path: Path) -> None:
    """Everything that passes between stages survives a trip to another process."""
    farm = read(tmp_path)
    assert pickle.loads(pickle.dumps(farm)) == farm


@pytest.mark.parametrize(
    ("basis", "price"), [("nothing", 0.0), ("cost", 36.0), ("would_fetch", 41.0)]
)
def test_the_price_put_on_home_grown_feed(basis: str, price: float, tmp_path: Path) -> None:
    """Nothing, what it cost, what it would fetch."""
    text = FARM.replace('price = "cost"', f'price = "{basis}"')
    text = text.replace(
        "cost_per_t_fresh = 36", "cost_per_t_fresh = 36\nwould_fetch_per_t_fresh = 41"
    )
    text = text.replace(
        "cost_per_t_fresh = 80", "cost_per_t_fresh = 80\nwould_fetch_per_t_fresh = 90"
    )
    assert read(tmp_path, text).offers[0].price_per_t_fresh == price


def test_prices_of_a_file_come_over_those_of_the_farm(tmp_path: Path) -> None:
    """prices.csv changes barley, keeps its limits, and adds wheat."""
    farm = read(tmp_path, prices="feed,price_per_t_fresh\nbarley,190\nwheat,200\n")
    found = {offer.id: offer for offer in farm.offers}
    assert found["barley"].price_per_t_fresh == 190.0
    assert found["barley"].most_t == 60.0
    assert found["wheat"].bought
    assert found["wheat"].price_per_t_fresh == 200.0


def test_a_price_may_stand_in_the_file_only(tmp_path: Path) -> None:
    """A bought feed without a price in farm.toml takes it, and a name, from prices.csv."""
    text = changed("price_per_t_fresh = 205\n", "")
    farm = read(tmp_path, text, prices="feed,price_per_t_fresh,name\nbarley,190,Our barley\n")
    found = {offer.id: offer for offer in farm.offers}
    assert (found["barley"].price_per_t_fresh, found["barley"].name) == (190.0, "Our barley")


TWICE = changed('feed = "soya_meal_48"\nprice', 'id = "late_barley"\nfeed = "barley"\nprice')


def test_a_price_goes_to_the_id_before_the_feed(tmp_path: Path) -> None:
    """Of two lots of barley, the row goes to the one whose id it names."""
    text = TWICE.replace('[[bought]]\nfeed = "barley"', '[[bought]]\nid = "early"\nfeed = "barley"')
    text = text.replace('id = "late_barley"\n', "")
    farm = read(tmp_path, text, prices="feed,price_per_t_fresh\nbarley,190\n")
    assert {offer.id: offer.price_per_t_fresh for offer in farm.offers if offer.bought} == {
        "early": 205.0,
        "barley": 190.0,
    }


def test_a_price_that_two_lots_could_take_is_refused(tmp_path: Path) -> None:
    """Where only the feed key is named and two lots have it, the ids are named."""
    text = TWICE.replace('[[bought]]\nfeed = "barley"', '[[bought]]\nid = "early"\nfeed = "barley"')
    text = text.replace(
        '[[groups.feed_limits]]\nfeed = "barley"', '[[groups.feed_limits]]\nfeed = "early"'
    )
    with pytest.raises(InputError, match=r"IN141 .*early, late_barley"):
        read(tmp_path, text, prices="feed,price_per_t_fresh\nbarley,190\n")


@pytest.mark.parametrize("file", ["farm.toml", "feeds.csv", "prices.csv"])
def test_every_file_that_is_not_utf8_is_noticed(file: str, tmp_path: Path) -> None:
    """A remark in Latin-1 is read, and the notice names the file."""
    folder = write_farm(
        tmp_path / "farm",
        feeds="key,name,kind,dm_g_per_kg\nmine,Mine,forage,300\n",
        prices="feed,price_per_t_fresh\nbarley,190\n",
    )
    path = folder / file
    path.write_bytes(path.read_bytes() + "# gr\u00fcn\n".encode("latin-1"))
    assert [(notice.code, notice.where) for notice in read_farm(folder).notices] == [
        ("IN205", file)
    ]


def test_a_winter_of_years_is_noticed(tmp_path: Path) -> None:
    """Two and a half years between the dates is a question, not an error."""
    text = changed("turnout = 2027-04-10", "turnout = 2029-04-10")
    # The sucklers calve within such a winter, which would be noticed too.
    farm = read(
        tmp_path, text.replace("days_to_calving = 200", "days_to_calving = 200\nsteady = true")
    )
    assert [notice.code for notice in farm.notices] == ["WA201"]


def test_a_figure_of_the_farm_and_a_sheet(tmp_path: Path) -> None:
    """The farm's own figure lies over the table's, the laboratory's over both, and each says where
    it came from.
    """
    text = changed(
        "cost_per_t_fresh = 36",
        "cost_per_t_fresh = 36\n[stores.analysis]\ndm_g_per_kg = 260\ncp_g_per_kg_dm = 150",
    )
    farm = read(tmp_path, text, lab="for,dm_percent,me_mj_per_kg_dm\npit,28.5,11.0\n")
    figures = farm.offers[0].feed.figures
    assert (figures["dm_g_per_kg"].value, figures["dm_g_per_kg"].origin) == (285.0, "lab")
    assert (figures["cp_g_per_kg_dm"].value, figures["cp_g_per_kg_dm"].origin) == (150.0, "farm")
    assert figures["ndf_g_per_kg_dm"].origin == "table"
    assert figures["fme_mj_per_kg_dm"].origin == "computed"
    assert figures["fme_mj_per_kg_dm"].value == pytest.approx(
        11.0 * (0.467 + 0.00136 * 285 - 0.00000115 * 285**2)
    )


def test_units_of_a_sheet_are_converted_once(tmp_path: Path) -> None:
    """Per cent of DM, g/kg fresh, Mcal and nitrate-N as a laboratory may print them, against hand
    arithmetic.
    """
    headings = (
        "for,dm_percent,cp_percent_of_dm,sugar_g_per_kg_fresh,me_mcal_per_kg_dm,"
        "nitrate_n_g_per_kg_dm"
    )
    farm = read(tmp_path, lab=f"{headings}\npit,30,14.6,12,2.6,0.5\n")
    value = farm.offers[0].feed.value
    assert value("cp_g_per_kg_dm") == pytest.approx(146.0)
    assert value("sugar_g_per_kg_dm") == pytest.approx(12 * 1000 / 300)
    assert value("me_mj_per_kg_dm") == pytest.approx(2.6 * 4.184)
    assert value("nitrate_g_per_kg_dm") == pytest.approx(0.5 * 4.43)


LAB = "for,sampled,dm_percent,me_mj_per_kg_dm\npit,2026-09-02,28.5,11.0\n"
FORMS: dict[str, bytes] = {
    "plain": LAB.encode(),
    "byte-order mark": LAB.encode("utf-8-sig"),
    "Windows line ends": LAB.replace("\n", "\r\n").encode(),
    "semicolons and decimal commas": (
        LAB.replace(",", ";").replace("28.5", "28,5").replace("11.0", "11,0").encode()
    ),
    "tabs": LAB.replace(",", "\t").encode(),
    "remarks and blank lines": ("# a remark\n\n" + LAB).encode(),
    "quoted decimal commas": LAB.replace("28.5", '"28,5"').encode(),
    "Latin-1 remark": LAB.replace("for,", "for,").encode() + "# gr\u00fcn\n".encode("latin-1"),
}


@pytest.mark.parametrize("form", FORMS)
def test_a_sheet_in_any_common_form(form: str, tmp_path: Path) -> None:
    """However the file was saved, the figures are the same."""
    feed = read(tmp_path, lab=FORMS[form]).offers[0].feed
    assert feed.dm_g_per_kg == pytest.approx(285.0)
    assert feed.value("me_mj_per_kg_dm") == 11.0


def test_a_file_that_is_not_utf8_is_noticed(tmp_path: Path) -> None:
    """It is read as Windows-1252, and the farm's notices say so."""
    assert "IN205" in [
        notice.code for notice in read(tmp_path, lab=FORMS["Latin-1 remark"]).notices
    ]


def test_numbers_and_blanks() -> None:
    """Blank, dash and n/a are unknown; a decimal comma is read; spaces between thousands are let
    through.
    """
    assert [parse_number(text, "here") for text in ("", " - ", "n/a")] == [None, None, None]
    assert [parse_number(text, "here") for text in ("11,5", "1 234.5", "-0.5")] == [
        11.5,
        1234.5,
        -0.5,
    ]


def test_own_feeds_and_own_quantities(tmp_path: Path) -> None:
    """A new feed, a changed figure of a packaged one, and a column that the farm declared."""
    text = FARM + '\n[[own_quantities]]\nname = "biotin"\nunit = "mg/kg DM"\n'
    own = (
        "key,name,kind,dm_g_per_kg,me_mj_per_kg_dm,biotin\nmine,My"
        " mash,cereal,870,13,-2\nbarley,,,,12.9,4\n"
    )
    farm = read(tmp_path, text, feeds=own)
    assert farm.feeds["mine"].value("biotin") == -2.0
    assert farm.feeds["barley"].value("me_mj_per_kg_dm") == 12.9
    assert farm.feeds["barley"].figures["me_mj_per_kg_dm"].origin == "farm"
    assert farm.feeds["barley"].value("cp_g_per_kg_dm") == 118.0
    assert farm.own_quantities["biotin"].amount_unit == "mg"


def test_a_fed_ration_in_fresh_or_dry_weight(tmp_path: Path) -> None:
    """40 kg of silage at 290 g DM/kg is 11.6 kg DM."""
    farm = read(tmp_path)
    path = tmp_path / "fed.csv"
    path.write_text(FED, encoding="utf-8")
    assert read_fed(path, farm)["cows"]["pit"] == pytest.approx(11.6)
    path.write_text("group,feed,kg_fresh,kg_dm\ncows,pit,,11.6\n", encoding="utf-8")
    assert read_fed(path, farm)["cows"]["pit"] == 11.6


@pytest.mark.parametrize(
    "example", sorted(path.name for path in examples_folder().iterdir() if path.is_dir())
)
def test_the_examples_are_read_without_a_word(example: str) -> None:
    """Every example is complete: no notice, every figure of every feed with an origin and a
    source.
    """
    farm = read_farm(examples_folder() / example)
    # Two sheets of one store are averaged, which is said; nothing else is.
    assert {notice.code for notice in farm.notices} <= {"WA102"}
    origins = {figure.origin for offer in farm.offers for figure in offer.feed.figures.values()}
    analysed = (examples_folder() / example / "lab.csv").exists()
    least = {"table", "lab", "farm", "computed"} if analysed else {"table"}
    assert least <= origins <= {"table", "lab", "farm", "computed", "default"}
    assert all(figure.source for offer in farm.offers for figure in offer.feed.figures.values())


def test_a_new_farm_runs_at_once(tmp_path: Path) -> None:
    """It is written whole into a new or an empty folder, commented, and reads."""
    written = write_new_farm(tmp_path / "one")
    assert {path.name for path in written} == {"farm.toml", "lab.csv", "fed.csv"}
    assert read_farm(tmp_path / "one").name == "Lower Meadow, an invented farm"
    (tmp_path / "two").mkdir()
    write_new_farm(tmp_path / "two")
    text = (tmp_path / "two" / "farm.toml").read_text(encoding="utf-8")
    assert text.count("\n#") > 20
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_rows_keep_their_line_numbers(tmp_path: Path) -> None:
    """Errors name the line of the file, remarks and blank lines counted."""
    path = tmp_path / "table.csv"
    path.write_text("# remark\n\nfor,ph\n\npit,4\n", encoding="utf-8")
    assert [row.line for row in read_rows(path).rows] == [5]


def test_a_condition_score_is_a_change_of_weight(tmp_path: Path) -> None:
    """Half a score in 100 days at 650 kg is 0.5 · 12.5 % · 650 / 100 = 0.406 kg a day; a loss is
    negative.
    """
    for score, change in ((0.5, 0.40625), (-0.5, -0.40625)):
        text = changed(
            "days_to_calving = 200",
            f"days_to_calving = 200\ncondition_score_change = {score}\ncondition_change_days = 100",
        )
        facts = read(tmp_path, text).groups[1].facts
        assert facts["live_weight_change_kg_per_day"] == pytest.approx(change)


def test_a_currency_whose_tonne_costs_millions(tmp_path: Path) -> None:
    """A price of 3,500,000 a tonne is a price; no currency's tonne costs two thousand million."""
    folder = tmp_path / "farm"
    shutil.copytree(examples_folder() / "beef", folder)
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    for price, taken in ((3_500_000.0, True), (2e9, False)):
        dear = re.sub(r"price_per_t_fresh = [\d.]+", f"price_per_t_fresh = {price}", text)
        (folder / "farm.toml").write_text(dear, encoding="utf-8")
        if taken:
            bought = [offer for offer in read_farm(folder).offers if offer.bought]
            assert bought
            assert {offer.price_per_t_fresh for offer in bought} == {price}
        else:
            with pytest.raises(InputError):
                read_farm(folder)
