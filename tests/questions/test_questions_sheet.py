"""What people in a yard ask in winter, as they would type it; each figure of the answer is worked
out here once more.

The sums here use the ration that `ration` prints and plain arithmetic: head × kg, dry matter,
litres of tub, kilograms a meal.
"""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.folders import examples_folder

FARMS = examples_folder()


def asked(*words: str) -> str:
    """What the command prints, at 80 columns; of a sheet all of it."""
    whole = ["--full"] if words[0] == "sheet" else []
    result = CliRunner(env={"COLUMNS": "80"}).invoke(app, [*words, *whole])
    assert result.exit_code == 0, result.stderr
    return result.stdout


@cache
def ration(farm: str, group: str) -> dict[str, Any]:
    """A group's ration on the winter's first day as `winter` plans it, which sheets go by: kg DM
    and kg fresh a head by offer, dry matter by offer [g/kg].
    """
    document = json.loads(asked("winter", str(FARMS / farm), "--format", "json"))
    first = next(one for one in document["rations"] if (one["group"], one["period"]) == (group, 0))
    dm = {
        offer["id"]: offer["feed"]["figures"]["dm_g_per_kg"]["value"]
        for offer in document["offers"]
    }
    names = {offer["id"]: offer["name"] for offer in document["offers"]}
    amounts = {amount["offer"]: amount for amount in first["amounts"]}
    return {"dm": dm, "names": names, "amounts": amounts, "head": first["head"]}


def weighed(text: str, name: str) -> list[float]:
    """The weights that stand behind a feed's name, table by table [kg]."""
    weights = re.findall(rf"{re.escape(name)} +([\d,.]+)", text)
    return [float(weight.replace(",", "")) for weight in weights]


def test_22_wetter_silage_and_four_more_cows() -> None:
    """ "Silage DM went from 30 to 25 % - new load sheet please. Head count changed by four." """
    one = ration("dairy", "high")
    text = asked(
        "sheet",
        str(FARMS / "dairy"),
        "--group",
        "high",
        "--dm",
        "first_cut=25",
        "--head",
        "high=66",
    )
    kg_dm = one["amounts"]["first_cut"]["kg_dm"]
    want = 66 * kg_dm / 0.25 * 1.02 / 2
    assert "2 loads a day" in text
    assert weighed(text, "First-cut clamp")[0] == pytest.approx(want, abs=10.0)
    barley = 66 * one["amounts"]["barley"]["kg_fresh"] * 1.02 / 2
    in_premix, alone = weighed(text, "Rolled barley")[:2]
    assert in_premix + alone == pytest.approx(barley, abs=10.0)
    assert "66 animals today instead of 62." in text
    percent = 100.0 * (one["dm"]["first_cut"] / 250.0 - 1.0)
    assert f"{percent:.1f} % more fresh weight" in " ".join(text.split())


def test_23_a_wagon_of_twelve_cubic_metres() -> None:
    """ "The wagon holds 12 m3: how many loads, in what order, how many kg each, is 300 g of mineral
    per cow weighable?"
    """
    one = ration("dairy", "high")
    text = asked("sheet", str(FARMS / "dairy"), "--group", "high")
    day = sum(amount["kg_fresh"] for amount in one["amounts"].values()) * 62 * 1.02
    # 300 kg/m3 and 87.5 % of 12 m3 hold 3150 kg (common practice).
    loads = -(-day // (300.0 * 0.875 * 12.0))
    assert f"{loads:.0f} loads a day, each of" in text
    load = float(re.search(r"each of ([\d,]+) kg", text)[1].replace(",", ""))  # type: ignore[index]
    assert load == pytest.approx(day / loads, abs=6.0)
    table = text.partition("in this order")[2].partition("Supply after rounding")[0]
    order = [line.split("  ")[1].strip() for line in table.splitlines() if re.match(r"\d ", line)]
    assert order.index("Rolled barley") < order.index("Premix") < order.index("First-cut clamp")
    # The mineral of 62 cows in two loads is below five divisions of 5 kg: it goes in by the premix.
    mineral = one["amounts"]["minerals"]["kg_fresh"] * 62 * 1.02 / 2
    assert mineral < 25.0
    assert "Cattle minerals" not in order
    assert weighed(text, "Cattle minerals")[0] == pytest.approx(mineral, abs=0.05)
    assert weighed(text, "Premix")[-1] >= 25.0


def test_23_the_scale_reads_the_sum() -> None:
    """The last reading is the load, each the sum of what went in before."""
    table = asked("sheet", str(FARMS / "dairy"), "--group", "high").partition("in this order")[2]
    pairs = re.findall(r"^\d  .*? +([\d,]+) +([\d,]+)$", table.replace(",", ""), re.M)
    running = 0
    for kg, scale in pairs:
        running += int(kg)
        assert int(scale) == running
    assert len(pairs) >= 5


def test_24_no_wagon() -> None:
    """ "I have no wagon: how many kg in the parlour, at the barrier, how many bales per pen?" """
    one = ration("beef", "dry_cows")
    text = asked("sheet", str(FARMS / "beef"), "--group", "dry_cows")
    bales, days = (
        int(figure) for figure in re.search(r"(\d+) bales? of 380 kg in (\d+) days", text).groups()
    )  # type: ignore[union-attr]
    assert bales / days == pytest.approx(
        46 * one["amounts"]["late_bales"]["kg_fresh"] / 380.0, rel=0.02
    )
    rail = re.search(r"Barley straw +(\d+) +[\d.]+  at the rail", text)
    assert rail is not None
    assert float(rail[1]) == pytest.approx(46 * one["amounts"]["straw"]["kg_fresh"], abs=5.0)


def test_24_kilograms_a_meal_for_the_pen() -> None:
    """16 bulls, 6.7 kg of barley: three meals, each a third of it, since 2.5 kg is the most of one
    (common practice).
    """
    kg = ration("beef", "bulls")["amounts"]["barley"]["kg_fresh"]
    assert 5.0 < kg <= 7.5
    found = re.search(
        r"Rolled barley .* ([\d.]+) kg a meal, 3 meals",
        asked("sheet", str(FARMS / "beef"), "--group", "bulls"),
    )
    assert found is not None
    assert float(found[1]) == pytest.approx(16 * kg / 3.0, abs=0.25)


def test_24_in_the_parlour_by_yield() -> None:
    """The parlour's part stands by litres, and is in no load."""
    text = asked("sheet", str(FARMS / "dairy"), "--group", "late")
    loads = text.partition("in the parlour")[0]
    assert "in the parlour, a cow a day" in text
    assert not weighed(loads, "Dairy compound, 18 % protein")


def test_25_how_much_in_one_milking() -> None:
    """ "How much concentrate per milking before I must use out-of-parlour feeders or a third
    meal?"
    """
    text = " ".join(asked("sheet", str(FARMS / "dairy"), "--group", "late").split())
    found = re.search(
        r"up to 4 kg a milking, 8 kg in two, for cows up to (\d+) litres; above that a third meal",
        text,
    )
    assert found is not None
    lines = re.findall(r" (\d+) (\d+\.\d) (\d+\.\d) (?:protein|energy)", text)
    within = [int(litres) for litres, kg, _ in lines if float(kg) <= 8.0]
    past = [int(litres) for litres, kg, _ in lines if float(kg) > 8.0]
    assert max(within) == int(found[1])
    assert min(past) > int(found[1])


def test_36_pin_it_up_in_the_shed(tmp_path: Path) -> None:
    """ "Show the plan in plain figures I can pin up in the shed." """
    page = tmp_path / "sheets.html"
    assert asked("sheet", str(FARMS / "beef"), "--html", str(page)) == ""
    html = page.read_text(encoding="utf-8")
    assert html.count("<section") == 7  # Six groups, and the cautions.
    kg = ration("beef", "bulls")["amounts"]["barley"]["kg_fresh"] * 16 / 3.0
    found = re.search(r"Rolled barley</bdi>.*?([\d.]+) kg a meal, 3 meals", html)
    assert found is not None
    assert float(found[1]) == pytest.approx(kg, abs=0.25)
