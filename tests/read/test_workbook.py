"""A workbook and a folder of the same farm are the same farm, whatever names it bears."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from workbooks import cell_of, filled, put, without_places

from rationlp.errors import InputError
from rationlp.folders import examples_folder
from rationlp.read.farm import read_farm
from rationlp.read.schema import LISTS, TABLES
from rationlp.read.sheets import layouts
from rationlp.report.workbook_form import write_farm_workbook

HOSTILE = (
    '=HYPERLINK("http://example.invalid","press")',
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "<script>alert(1)</script>",
    "\u05de\u05d9\u05de\u05d9\u05df",
    "🐄 cows",
    "'quoted'",
    "n" * 120,
)
OWN = """
[[outlets]]
id = "neighbour"
stores = ["hay", "straw"]
price_per_t_fresh = 100

[[bedding]]
store = "straw"
group = "dry"
kg_fresh_per_head_day = 5

[[mixes]]
id = "tub"
groups = ["high", { group = "late", portion = 0.8 }]

[[own_quantities]]
name = "selenium_mg_per_kg_dm"
unit = "mg/kg DM"

[[groups]]
id = "own"
class = "stated"
head = 3
fed = "rationed"
barred = ["straw", "wheat"]

[[groups.grazing]]
from = 2027-03-20
until = 2027-04-05
kg_dm_per_day = 2
feed = "grass_silage_1st_typical"

[[groups.quantity_limits]]
quantity = "selenium_mg_per_kg_dm"
per = "head_day"
at_least = 1

[[groups.family_limits]]
family = "cereals"
basis = "share_of_dm"
cap = 0.3
"""


EXAMPLES = sorted(path.name for path in examples_folder().iterdir() if path.is_dir())


@pytest.mark.parametrize("example", EXAMPLES)
def test_a_workbook_of_a_farm_reads_as_the_same_farm(example: str, tmp_path: Path) -> None:
    """Written from the folder, saved again by openpyxl, read: every figure, fact, limit, date and
    notice is the same.
    """
    path = filled(tmp_path, lambda book: book.calculation, example)
    assert without_places(read_farm(path)) == without_places(read_farm(examples_folder() / example))


def test_own_quantities_feeds_limits_and_prices_come_along(tmp_path: Path) -> None:
    """The lists that no example has, and the files feeds.csv and prices.csv."""
    folder = tmp_path / "farm"
    shutil.copytree(examples_folder() / "dairy", folder)
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    from rationlp.rules.limits import family_names

    family, bases = next(iter(family_names().items()))
    own = OWN.replace('"cereals"', f'"{family}"').replace('"share_of_dm"', f'"{next(iter(bases))}"')
    (folder / "farm.toml").write_text(text + own, encoding="utf-8")
    (folder / "feeds.csv").write_text(
        "key,name,kind,dm_g_per_kg,cp_g_per_kg_dm,selenium_mg_per_kg_dm\nbarley,,,850,,0.1\nacorns,Acorns,cereal,700,60,\n"
    )
    (folder / "prices.csv").write_text(
        "feed,price_per_t_fresh,most_t\nbarley,199.5,20\nacorns,90,\n"
    )
    write_farm_workbook(tmp_path / "farm.xlsx", folder)
    there, here = read_farm(folder), read_farm(tmp_path / "farm.xlsx")
    assert without_places(here) == without_places(there)
    assert here.feeds["barley"].figures["selenium_mg_per_kg_dm"].value == 0.1
    assert next(offer for offer in here.offers if offer.id == "acorns").price_per_t_fresh == 90.0


def test_every_table_and_list_of_a_farm_has_its_sheet() -> None:
    """No key of farm.toml that fits into a cell is without a place in the workbook."""
    headings = {
        (name, heading.key)
        for layout in layouts()
        for name in layout.lists
        for heading in layout.headings
    }
    farm = {heading.key for heading in layouts()[0].headings}
    assert [
        f"{name}.{key}"
        for name, model in TABLES.items()
        for key in model.model_fields
        if f"{name}.{key}" not in farm
    ] == []
    assert {name for name, _ in headings} == set(LISTS)
    for name, model in LISTS.items():
        plain = {field.alias or key for key, field in model.model_fields.items()}
        inside = {inner for layout in layouts() for inner in layout.inner} | {"analysis"}
        dotted = {key.partition(".")[0] for of, key in headings if of == name}
        assert plain - {key for of, key in headings if of == name} - inside - dotted == set()


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_name_stays_the_text_it_is(name: str, tmp_path: Path) -> None:
    """From farm.toml through a workbook and back; in the workbook it is no formula."""
    folder = tmp_path / "farm"
    shutil.copytree(examples_folder() / "beef", folder)
    file = folder / "farm.toml"
    literal = '"' + name.replace('"', '\\"') + '"'
    file.write_text(
        file.read_text(encoding="utf-8").replace('"Stock bull"', literal), encoding="utf-8"
    )
    write_farm_workbook(tmp_path / "farm.xlsx", folder)
    book = load_workbook(tmp_path / "farm.xlsx")
    cells = [cell for row in book["Groups"].iter_rows() for cell in row if cell.value == name]
    assert [cell.data_type for cell in cells] == ["s"]
    assert name in [group.name for group in read_farm(tmp_path / "farm.xlsx").groups]


def test_a_figure_says_which_cell_it_came_from(tmp_path: Path) -> None:
    """Own figures and laboratory sheets name the workbook, not farm.toml."""
    farm = read_farm(filled(tmp_path))
    figures = {offer.id: offer.feed.figures for offer in farm.offers}
    assert figures["straw"]["dm_g_per_kg"].source == "farm.xlsx Own figures"
    assert (
        figures["first_cut"]["cp_g_per_kg_dm"].source == "farm.xlsx Lab row 3, sampled 2026-09-02"
    )


def test_an_empty_workbook_lacks_what_a_farm_needs(tmp_path: Path) -> None:
    """It is opened without fault, and what is missing is said with the cell to fill."""
    write_farm_workbook(tmp_path / "farm.xlsx", empty=True)
    with pytest.raises(InputError) as refused:
        read_farm(tmp_path / "farm.xlsx")
    found = {(finding.code, finding.where) for finding in refused.value.findings}
    assert ("IN111", "farm.xlsx Farm!B3 (farm.name)") in found
    assert {"IN111", "IN131", "IN132"} == {code for code, _ in found}


def test_rows_and_columns_that_are_not_needed_may_go(tmp_path: Path) -> None:
    """Blank rows, the row of words above the headings, columns without a figure, and whole sheets
    of no use.
    """

    def tidied(book: Workbook) -> None:
        groups = book["Groups"]
        groups.delete_cols(groups[cell_of(book, "Groups", "litter_weight_kg", 2)].column)
        groups.insert_rows(4, 3)
        book["Bought"].delete_rows(1)
        for title in ("Changes", "Own quantities", "Feeds", "Read first"):
            book.remove(book[title])

    farm = read_farm(filled(tmp_path, tidied))
    assert without_places(farm) == without_places(read_farm(examples_folder() / "dairy"))


def test_words_with_commas_and_a_whole_number_as_a_name(tmp_path: Path) -> None:
    """`barred` takes commas or semicolons; an id typed as 7 is the text 7; a yes is a yes."""

    def change(book: Workbook) -> None:
        put("Groups", "id", 6, 7)(book)
        put("Groups", "barred", 6, "maize; wheat ,barley")(book)
        put("Groups", "steady", 6, True)(book)

    group = read_farm(filled(tmp_path, change)).groups[3]
    assert (group.id, group.barred, group.calendar) == (
        "7",
        frozenset({"maize", "wheat", "barley"}),
        None,
    )


def test_a_table_inside_a_group_stands_in_columns_of_its_own(tmp_path: Path) -> None:
    """`feeding.wagon` of a group is the key `wagon` of its table `feeding`."""
    farm = read_farm(filled(tmp_path, put("Groups", "feeding.wagon", 3, "none")))
    assert [group.feeding.wagon for group in farm.groups if group.feeding is not None] == ["none"]


def test_a_workbook_is_written_over_nothing(tmp_path: Path) -> None:
    """A file that is there stays as it is."""
    path = tmp_path / "farm.xlsx"
    path.write_text("mine")
    with pytest.raises(InputError, match=r"IN161 .* a file of this name is there"):
        write_farm_workbook(path)
    assert path.read_text() == "mine"


def test_dates_are_dates(tmp_path: Path) -> None:
    """In the sheet and in the farm."""
    path = filled(tmp_path)
    book = load_workbook(path)
    assert book["Stores"][cell_of(book, "Stores", "filled", 3)].is_date
    assert read_farm(path).start == date(2026, 10, 15)
