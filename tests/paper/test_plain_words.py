"""Capitals, blanks and trade words in a farm's tables; one wrong cell is one error; advice speaks
of the thing at hand.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from openpyxl import load_workbook

from rationlp.errors import Finding, InputError
from rationlp.read.farm import read_farm
from rationlp.read.plain_words import in_plain_words
from rationlp.report.workbook_form import write_farm_workbook

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
FEW = (EXAMPLES / "few" / "farm.toml").read_text(encoding="utf-8")
DAIRY = (EXAMPLES / "dairy" / "farm.toml").read_text(encoding="utf-8")


def write(folder: Path, text: str) -> Path:
    """A farm folder with this farm.toml alone."""
    folder.mkdir(exist_ok=True)
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    return folder


def faults(folder: Path, text: str) -> tuple[Finding, ...]:
    """Everything that is wrong with a farm.toml."""
    with pytest.raises(InputError) as refused:
        read_farm(write(folder, text))
    return refused.value.findings


def test_words_of_people_are_understood(tmp_path: Path) -> None:
    """Kinds, classes, feeds and choices in other letters or by trade words, which are told."""
    text = FEW.replace('kind = "clamp"', 'kind = "Clamp"').replace('"round"', '"Round"')
    text = text.replace('feed = "straw_barley"', 'feed = "barley straw"')
    text = text.replace('kind = "bales"', 'kind = "big bales"')
    text = text.replace('class = "suckler_cow_dry"', 'class = "Dry suckler cow"')
    farm, plain = read_farm(write(tmp_path, text)), read_farm(write(tmp_path / "plain", FEW))
    assert farm.stores == plain.stores
    assert [group.animal_class for group in farm.groups] == ["suckler_cow_dry"]
    assert {offer.feed.key for offer in farm.offers} == {offer.feed.key for offer in plain.offers}
    told = [notice for notice in farm.notices if notice.code == "PA150"]
    assert [notice.found for notice in told] == [
        '"big bales" (and once more)', '"barley straw"', '"Dry suckler cow"',
    ]  # fmt: skip


def test_a_trade_word_is_told_once_however_often_it_is_written(tmp_path: Path) -> None:
    """Haylage in two stores and among what is bought: one note, at the first place."""
    text = FEW.replace('feed = "grass_silage_big_bale"', 'feed = "haylage"')
    text = text.replace('feed = "grass_silage_1st_typical"', 'feed = "haylage"')
    text = text.replace('kind = "clamp"', 'kind = "bag"').replace(
        'feed = "barley"', 'feed = "haylage"'
    )
    words = in_plain_words(tomllib.loads(text))[1]
    assert [(notice.code, notice.found) for notice in words] == [
        ("PA150", '"haylage" (and in 2 more places)')
    ]
    assert "stores" in words[0].where


def test_a_dairy_cow_is_one_in_milk(tmp_path: Path) -> None:
    """Not the dry one."""
    text = DAIRY.replace('class = "dairy_cow_milking"', 'class = "dairy cow"', 1)
    assert read_farm(write(tmp_path, text)).groups[0].animal_class == "dairy_cow_milking"


def test_a_compound_is_never_taken_unasked(tmp_path: Path) -> None:
    """Dairy nuts may be any compound: the finding names the one there is."""
    found = faults(tmp_path, FEW.replace('feed = "barley"', 'feed = "dairy nuts"'))
    assert [finding.code for finding in found] == ["IN119"]
    assert "dairy_compound_18" in found[0].remedy


def test_several_feeds_are_listed(tmp_path: Path) -> None:
    """Soya is four feeds."""
    (found,) = faults(tmp_path, FEW.replace('feed = "barley"', 'feed = "soya"'))
    assert "soya_meal_48, soya_meal_44" in found.remedy


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ('kind = "clamp"', 'kind = "Klamp"'),
        ('feed = "grass_silage_1st_typical"', 'feed = "gras silage 1st"'),
        ('class = "suckler_cow_dry"', 'class = "sukler cow"'),
        ("length_m = 13", 'length_m = "13 paces"'),
    ],
)
def test_one_wrong_cell_is_one_error(before: str, after: str, tmp_path: Path) -> None:
    """Its lab sheet, its limits and what names it elsewhere say nothing."""
    farm = write(tmp_path, FEW.replace(before, after))
    (farm / "lab.csv").write_bytes((EXAMPLES / "few" / "lab.csv").read_bytes())
    with pytest.raises(InputError) as refused:
        read_farm(farm)
    assert len(refused.value.findings) == 1


TOML = {
    "start = 01/11/2026": "2026-11-01",
    "start = 1.11.2026": "2026-11-01",
    "start = 2026/11/01": "2026-11-01",
    "start = 2026-11-1": "2026-11-01",
    "start = 1 November": "quotation marks",
}


@pytest.mark.parametrize("line", TOML)
def test_a_date_as_people_write_it(line: str, tmp_path: Path) -> None:
    """The remedy is the date as farm.toml has it."""
    (found,) = faults(tmp_path, FEW.replace("start = 2026-11-01", line))
    assert found.code == "IN104"
    assert TOML[line] in found.remedy


def test_texts_and_decimal_commas_of_toml(tmp_path: Path) -> None:
    """A text without quotation marks, a number with a comma."""
    (found,) = faults(tmp_path, FEW.replace('kind = "clamp"', "kind = clamp"))
    assert found.remedy == 'put the text in quotation marks: "clamp"'
    (found,) = faults(tmp_path, FEW.replace("height_m = 1.9", "height_m = 1,9"))
    assert "1.9" in found.remedy


def test_a_date_far_off_has_no_slip_guessed(tmp_path: Path) -> None:
    """Nobody typed the days to lambing that a date comes to."""
    text = (EXAMPLES / "hill" / "farm.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError) as refused:
        read_farm(write(tmp_path, text.replace("lambing = 2027", "lambing = 2029")))
    assert not any("was it" in finding.remedy for finding in refused.value.findings)


def test_a_workbook_hears_of_its_sheets(tmp_path: Path) -> None:
    """No error of a workbook speaks of a table in double brackets; capitals are understood."""
    path = tmp_path / "farm.xlsx"
    write_farm_workbook(path, EXAMPLES / "few")
    book = load_workbook(path)
    book["Stores"]["D3"] = "Clamp"
    book["Groups"]["C3"] = "stated"
    book["Groups"]["D3"] = None
    book.save(path)
    with pytest.raises(InputError) as refused:
        read_farm(path)
    text = str(refused.value)
    assert "Stores" not in text
    assert "[[" not in text
    assert "farm.toml" not in text


def test_a_misspelt_key_is_not_missing_too(tmp_path: Path) -> None:
    """Milk in litres, a clamp's lenght: one finding each."""
    (found,) = faults(tmp_path, FEW.replace("length_m = 13", "lenght_m = 13"))
    assert found.remedy == 'nearest: "length_m"'
    text = DAIRY.replace("milk_kg_per_day", "milk_litres", 1)
    (found,) = faults(tmp_path, text)
    assert found.remedy == 'nearest: "milk_kg_per_day"'


def test_a_change_cannot_make_another_class(tmp_path: Path) -> None:
    """The finding says what to do instead of naming the key that was typed."""
    change = 'head = 11\nchanges = [{ from = 2027-01-01, class = "suckler_cow_milking" }]'
    found = faults(tmp_path, FEW.replace("head = 11", change))
    assert "a group of their own" in found[0].remedy
