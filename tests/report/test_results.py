"""Results as DataFrames with units, and as HTML in a notebook."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from winter_plans import made_plan, without_plan

import rationlp
from rationlp.errors import RationError
from rationlp.farm.farm import Farm
from rationlp.folders import examples_folder
from rationlp.result import Rations


@pytest.fixture(scope="module")
def farm() -> Farm:
    """The invented beef farm."""
    return rationlp.read_farm(examples_folder() / "beef")


@pytest.fixture(scope="module")
def answer(farm: Farm) -> Rations:
    """Rations of two of its groups."""
    return rationlp.ration(farm, ["bulls", "dry_cows"])


def test_frames_say_their_units(answer: Rations) -> None:
    """Money in the farm's currency, amounts in kg; a column of words has none."""
    frames = rationlp.tables(answer)
    units = frames["rations"].attrs["units"]
    assert units["kg_fresh_per_head_day"] == "kg"
    assert units["cost_per_head_day"] == "GBP"
    assert "feed" not in units
    assert frames["overview"].attrs["units"]["me_mj_per_kg_dm"] == "MJ/kg DM"


def test_frames_hold_figures_unrounded(answer: Rations) -> None:
    """The costs of a group's feeds add up to its cost to the last digit."""
    frame = rationlp.tables(answer)["rations"]
    for group in answer.groups:
        cost = frame[frame["group"] == group.group]["cost_per_head_day"].sum()
        assert cost == pytest.approx(group.feed_cost, abs=1e-12)


def test_what_is_said_comes_along(answer: Rations) -> None:
    """Proof, remarks and cautions stand in a frame of their own."""
    said = rationlp.tables(answer)["said"]
    assert {"proof", "remark", "caution"} <= set(said["what"])
    assert said.attrs["title"] == "What else to know"


def test_every_result_has_frames(farm: Farm) -> None:
    """A farm, needs of one group and of several, what a ration already fed gives."""
    needs = rationlp.farm_needs(farm)
    fed = rationlp.supply(farm, examples_folder() / "beef" / "fed.csv")
    assert list(rationlp.tables(farm))[:3] == ["groups", "stores", "offers"]
    assert list(rationlp.tables(needs[0])) == list(rationlp.tables(needs[:1]))
    assert {"needs", "energy bulls", "minerals bulls", "limits bulls"} <= set(
        rationlp.tables(needs)
    )
    assert {"supply", "ration bulls"} <= set(rationlp.tables(fed))


def test_a_plan_has_frames_and_so_has_a_winter_that_cannot_be_fed() -> None:
    """What to buy, how long stores last, money; or who is short of what. Both show themselves in a
    notebook.
    """
    plan, none = made_plan(), without_plan()
    assert {"buying", "run_out", "run_down", "balance", "money", "winter", "said"} <= set(
        rationlp.tables(plan)
    )
    assert {"plan_shortfalls", "said"} <= set(rationlp.tables(none))
    assert rationlp.tables(plan)["winter"].attrs["units"]["kg_fresh_per_head_day"] == "kg"
    assert "How long each store lasts" in plan._repr_html_()
    assert "What cannot be met" in none._repr_html_()


@pytest.mark.parametrize("thing", ["farm", 3, None, {"a": 1}, [], [1, 2]], ids=repr)
def test_what_is_no_result_is_refused(thing: object) -> None:
    """With the word for what it is."""
    with pytest.raises(TypeError, match="tables"):
        rationlp.tables(thing)  # type: ignore[arg-type]


class _Balance(HTMLParser):
    """Counts tags that are open."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open.append(tag)
        self.seen.add(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_a_notebook_shows_every_result(farm: Farm, answer: Rations) -> None:
    """Well-formed HTML with the closing line, for each of the results."""
    fed = rationlp.supply(farm, examples_folder() / "beef" / "fed.csv")[0]
    for result in (farm, answer, rationlp.farm_needs(farm)[0], fed):
        text = result._repr_html_()
        balance = _Balance()
        balance.feed(text)
        assert balance.open == []
        assert {"details", "summary", "table", "th", "td"} <= balance.seen
        assert "Planning aid" in text


def test_a_hostile_name_is_escaped_in_a_notebook(farm: Farm) -> None:
    """No tag of the farm's own."""
    group = replace(farm.groups[0], name="<script>alert(1)</script>")
    text = replace(farm, groups=(group,))._repr_html_()
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text
    assert "<script" not in text


def test_showing_costs_nothing_until_it_is_asked_for() -> None:
    """A farm can be read without loading what shows it."""
    code = (
        "import sys, rationlp; from pathlib import Path; rationlp.read_farm(Path(sys.argv[1]));"
        "print([m for m in ('pandas', 'openpyxl', 'rationlp.report.results') if m in sys.modules])"
    )
    root = str(Path(rationlp.__file__).resolve().parents[1])
    words = [sys.executable, "-c", code, str(examples_folder() / "beef")]
    done = subprocess.run(words, capture_output=True, text=True, check=True, cwd=root)
    assert done.stdout.strip() == "[]"


def test_what_goes_wrong_is_an_error_of_ours(tmp_path: Path, farm: Farm) -> None:
    """Writing into a folder that is not there."""
    with pytest.raises(RationError, match="IN601"):
        rationlp.write_workbook(farm, tmp_path / "none" / "a.xlsx")
