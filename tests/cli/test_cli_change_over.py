"""`ration --instead-of`: the way from what is fed now, in all three forms, and what is refused."""

from __future__ import annotations

import csv
import io
import json
from itertools import pairwise
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from rationlp.cli.app import app
from rationlp.folders import examples_folder

BEEF = str(examples_folder() / "beef")
NOW = str(examples_folder() / "beef" / "fed.csv")
GROUPS = ["--group", "dry_cows", "--group", "heifers"]


def ration(*more: str, groups: bool = True) -> Result:
    """`ration` on the beef example, by default its dry cows (fed now) and its heifers (not in the
    file).
    """
    return CliRunner().invoke(
        app, ["ration", BEEF, *(GROUPS if groups else []), *more], env={"COLUMNS": "100"}
    )


@pytest.fixture(scope="module")
def groups() -> dict[str, dict[str, object]]:
    """The groups of the JSON answer by id."""
    done = ration("--instead-of", NOW, "--fed-for", "5", "--format", "json")
    assert done.exit_code == 0, done.output
    return {group["group"]: group for group in json.loads(done.stdout)["groups"]}


def fed_now(folder: Path, *lines: str) -> list[str]:
    """The options for a file of what is fed now."""
    path = folder / "now.csv"
    path.write_text("\n".join(["group,feed,kg_fresh", *lines, ""]), encoding="utf-8")
    return ["--instead-of", str(path)]


def test_the_ramp_stands_after_the_ration_of_a_group_that_is_fed_now() -> None:
    """One table, under the dry cows; the heifers are answered without."""
    text = ration("--instead-of", NOW, "--full").stdout
    assert text.count("from what is fed now to this ration") == 1
    ramp = text.index("Spring-calving cows, dry: from what is fed now")
    assert (
        text.index("Spring-calving cows, dry: what to feed")
        < ramp
        < text.index("In-calf heifers: what to feed")
    )


@pytest.mark.parametrize(
    ("lines", "words"), [(["dry_cows,hay,14"], "saves GBP"), (["dry_cows,straw,6"], "costs GBP")]
)
def test_the_cost_of_the_change_is_one_sentence(
    tmp_path: Path, lines: list[str], words: str
) -> None:
    """14 kg of hay is dearer than the answer, 6 kg of straw is cheaper; both costs are said."""
    text = " ".join(ration(*fed_now(tmp_path, *lines)).stdout.split())
    assert f"The change {words}" in text
    assert text.count("both at today's prices.") == 1


def test_a_change_that_costs_nothing_is_said_so() -> None:
    """What the example feeds now costs the same to the penny."""
    text = " ".join(ration("--instead-of", NOW).stdout.split())
    assert "a head a day, the same as this ration." in text


def test_without_the_option_nothing_is_said_of_changing() -> None:
    """No table, and `change_over` is null in the JSON of every group."""
    assert "fed now" not in ration().stdout
    document = json.loads(ration("--format", "json").stdout)
    assert [group["change_over"] for group in document["groups"]] == [None, None]


def test_json_has_the_way_of_a_group_that_is_fed_now(groups: dict[str, dict[str, object]]) -> None:
    """The last step is the answer, feed by feed; the other group has null."""
    assert groups["heifers"]["change_over"] is None
    change = groups["dry_cows"]["change_over"]
    amounts = {amount["offer"]: amount["kg_dm"] for amount in groups["dry_cows"]["amounts"]}
    assert {key: kg for key, kg in change["steps"][-1]["kg_dm"].items() if kg} == amounts
    assert change["steps"][0]["kg_fresh"]["early_bales"] == pytest.approx(14.0)


@pytest.mark.parametrize(("days", "soon"), [("5", True), ("30", False)])
def test_days_on_the_ration_now_count(tmp_path: Path, days: str, soon: bool) -> None:
    """From hay to silage after five days is a change of forage too soon, after thirty it is not."""
    options = fed_now(tmp_path, "dry_cows,hay,10")
    done = ration(*options, "--fed-for", days, "--format", "json")
    change = json.loads(done.stdout)["groups"][0]["change_over"]
    assert ("forage" in [one["what"] for one in change["changes"]]) == soon


def test_csv_has_every_step() -> None:
    """Day 0 to the last day for the dry cows; the new ration from day 1 for the heifers."""
    rows = list(csv.DictReader(io.StringIO(ration("--instead-of", NOW, "--format", "csv").stdout)))
    cows = {float(row["day"]) for row in rows if row["group"] == "dry_cows"}
    assert min(cows) == 0
    assert len(cows) > 2
    assert {float(row["day"]) for row in rows if row["group"] == "heifers"} == {1.0}


def test_ewes_step_by_a_tenth_of_a_kilo(tmp_path: Path) -> None:
    """The hill farm's twins from 0.3 kg of rolls: no step of three days is larger than 0.1 kg as
    bagged feed.
    """
    hill = str(examples_folder() / "hill")
    options = fed_now(tmp_path, "twins,good_bales,3", "twins,ewe_rolls,0.3")
    done = CliRunner().invoke(
        app, ["ration", hill, "--group", "twins", *options, "--format", "json"]
    )
    assert done.exit_code == 0, done.output
    steps = json.loads(done.stdout)["groups"][0]["change_over"]["steps"]
    rolls = [step["kg_dm"].get("ewe_rolls", 0.0) / 0.87 for step in steps]
    assert abs(rolls[-1] - rolls[0]) > 0.1
    assert max(abs(two - one) for one, two in pairwise(rolls)) <= 0.1 + 1e-9


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("dry_cows,early_bale,14", "IN153"),
        ("dry_cow,early_bales,14", "IN153"),
        ("dry_cows,early_bales,1400", "IN152"),
        ("dry_cows,early_bales,0", "IN502"),
    ],
)
def test_bad_input_is_told_as_for_supply(tmp_path: Path, line: str, code: str) -> None:
    """An unknown feed, an unknown group, an amount of the whole group, nothing at all."""
    options = fed_now(tmp_path, line)
    done = ration(*options)
    assert done.exit_code == 2
    assert code in done.stderr
    assert done.stdout == ""
    supply = CliRunner().invoke(app, ["supply", BEEF, options[1]])
    assert code in supply.stderr


def test_days_without_a_ration_fed_now_are_refused() -> None:
    """--fed-for goes with --instead-of."""
    done = ration("--fed-for", "5")
    assert done.exit_code == 2
    assert "--instead-of" in done.stderr


def test_the_answer_is_never_written_over_what_is_fed_now(tmp_path: Path) -> None:
    """The file of --instead-of is an input."""
    options = fed_now(tmp_path, "dry_cows,early_bales,14")
    done = ration(*options, "--output", options[1])
    assert done.exit_code == 2
    assert Path(options[1]).read_text(encoding="utf-8").startswith("group,feed")
