"""`promise` and `manure` from the command line: what is told, what is refused, the page."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from rationlp.ask.promise_winter import WinterCorner, WinterWay
from rationlp.cli.app import app
from rationlp.folders import examples_folder
from rationlp.report.tables.promise import first_step_cost, step_of
from rationlp.rules.feed_carbon import BoughtCarbon

FEW = str(examples_folder() / "few")
BEEF = str(examples_folder() / "beef")
DAIRY = str(examples_folder() / "dairy")


def run(*words: str) -> Result:
    """A command, at a hundred columns."""
    return CliRunner(env={"COLUMNS": "100"}).invoke(app, list(words))


def test_a_promise_is_the_first_thing_told() -> None:
    """Kept at a price, and one that nothing keeps, each in a sentence before any table."""
    said = run("promise", DAIRY, "--group", "young", "--most", "meal=0", "--most", "nitrogen=100")
    assert said.exit_code == 0
    first, second, *_ = said.stdout.splitlines()
    assert first.startswith("Young stock, no meal: no ration keeps it (proved)")
    assert second.startswith("Young stock, nitrogen at most 100 g: GBP 0.0")


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("--less", "metane"), "IN550"),
        (("--most", "water=3"), "IN550"),
        (("--most", "soya"), "IN551"),
        (("--most", "soya=-2"), "IN551"),
        (("--group", "nobody"), "IN501"),
        (("--winter", "--group", "nobody"), "IN501"),
        (("--on", "2031-01-01"), "IN504"),
    ],
)
def test_what_is_refused(words: tuple[str, ...], code: str) -> None:
    """Code, place and remedy; no answer, no traceback."""
    said = run("promise", FEW, *words)
    assert said.exit_code == 2
    assert code in said.stderr
    assert said.stdout == ""
    assert "Traceback" not in said.stderr


def test_a_day_and_the_winter_do_not_go_together() -> None:
    """--on with --winter."""
    said = run("promise", FEW, "--winter", "--on", "2026-12-01")
    assert said.exit_code == 2
    assert "--on" in said.stderr


def test_the_page_draws_every_way(tmp_path: Path) -> None:
    """A drawing a measure with a way, its figures in words, nothing from outside."""
    page = tmp_path / "promise.html"
    options = ("--less", "methane", "--less", "nitrogen", "--html", str(page))
    assert run("promise", BEEF, "--group", "bulls", *options).exit_code == 0
    text = page.read_text(encoding="utf-8")
    assert text.count('class="curve plain"') >= 2
    assert "cost against methane" in text
    assert "corners." in text
    assert "http://" not in text.replace("http://www.w3.org", "")


def test_csv_has_every_corner_and_full_prints_them() -> None:
    """As many rows as JSON has corners; prices rise down the rows."""
    words = ("promise", BEEF, "--group", "bulls", "--less", "methane")
    rows = list(csv.DictReader(io.StringIO(run(*words, "--format", "csv").stdout)))
    assert len(rows) > 2
    prices = [float(row["next_price_per_kg"]) for row in rows[:-1]]
    assert prices == sorted(prices)
    assert rows[-1]["next_price_per_kg"] == ""
    assert "from the cheapest to the least" not in run(*words).stdout
    assert "from the cheapest to the least" in run(*words, "--full").stdout


def test_manure_of_an_example() -> None:
    """Both sums in the first sentence, storage to 1 March, deference to local rules."""
    said = run("manure", FEW)
    assert said.exit_code == 0
    first = " ".join(said.stdout.split())
    assert first.startswith("Excreted from ")
    assert "Dung and urine to 1 March:" in first
    assert "is for your own rules" in first
    assert "Put there by" in run("manure", FEW, "--full").stdout


def _way(unit: str, corners: list[tuple[float, float]]) -> WinterWay:
    """A way through corners of (amount, cost)."""
    carbon = BoughtCarbon(0.0, 0.0, (), ())
    each = tuple(WinterCorner(amount, cost, 0.0, True, {}, carbon) for amount, cost in corners)
    return WinterWay("methane", "Methane", each, unit)


@pytest.mark.parametrize(
    ("unit", "corners", "words", "cost"),
    [
        # 10 g of 400 g: 4 g at 0.01 a gram, then 6 g at 0.05.
        ("g", [(400.0, 1.0), (396.0, 1.04), (380.0, 1.84)], "10 g", 0.34),
        ("g", [(400.0, 1.0), (396.0, 1.04)], "10 g", None),
        ("kg", [(1.2, 3.0), (0.2, 3.5)], "0.1 kg", 0.05),
        ("kg", [(600.0, 3.0), (500.0, 53.0)], "10 kg", 5.0),
        ("kg", [(11600.0, 3.0), (1600.0, 203.0)], "1 t", 20.0),
    ],
)
def test_a_price_is_told_for_what_can_be_saved(
    unit: str, corners: list[tuple[float, float]], words: str, cost: float | None
) -> None:
    """Grams where grams are at stake, tonnes where tonnes are: no price of a kilogram that a head
    never gives off. By hand.
    """
    way = _way(unit, corners)
    assert step_of(way).words == words
    assert first_step_cost(way) == (None if cost is None else pytest.approx(cost))
