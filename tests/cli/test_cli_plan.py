"""The plan in force and the log as a person types them."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest
from ask_plans import copied
from schema_check import against_schema
from typer.testing import CliRunner, Result

from rationlp.cli.app import app


def run(*words: str) -> Result:
    """A command at a fixed width."""
    return CliRunner().invoke(app, [*words], env={"COLUMNS": "100"})


def document(*words: str) -> dict[str, Any]:
    """The JSON of a command, kept to the schema."""
    done = run(*words, "--format", "json")
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)
    assert against_schema(found) == []
    return found


def test_keeping_and_feeding_by_it(tmp_path: Path) -> None:
    """`winter --keep` writes the plan; sheet, supply, ration, last, record and page read it, and
    name the same kilograms.
    """
    farm = str(copied("few", tmp_path, keep=False))
    kept = run("winter", farm, "--keep")
    assert kept.exit_code == 0
    assert "Plan in force: " in kept.stderr
    plan = document("winter", farm)
    (period,) = [one for one in plan["periods"] if one["first"] <= "2027-02-10" < one["last"]]
    (ration,) = [one for one in plan["rations"] if one["period"] == period["number"]]
    planned = {one["offer"]: one["kg_fresh"] for one in ration["amounts"]}
    sheet = document("sheet", farm, "--on", "2027-02-10")
    assert sheet["made_from"]["how"] == "plan_in_force"
    assert sheet["groups"][0]["kg_fresh"] == pytest.approx(planned)
    supply = document("supply", farm, "--on", "2027-02-10")
    assert {
        one["offer"]: one["kg_fresh"] for one in supply["groups"][0]["amounts"]
    } == pytest.approx(planned)
    assert document("ration", farm, "--on", "2027-02-10")["plan_in_force"]["plan"] == "plan.json"
    assert document("last", farm)["made_from"]["plan"] == "plan.json"
    record = document("sheet", farm, "--record", "--on", "2027-02-10")
    assert record["made_from"]["plan"] == "plan.json"
    assert record["weeks"][0]["first"] == "2027-02-10"


def test_the_page_is_of_the_plan_in_force(tmp_path: Path) -> None:
    """It says so; with --from a new plan is made."""
    farm = copied("few", tmp_path)
    page = tmp_path / "page.html"
    assert run("report", str(farm), "--output", str(page)).exit_code == 0
    assert "This is the plan in force" in page.read_text(encoding="utf-8")
    assert run("report", str(farm), "--from", "2026-11-01", "--output", str(page)).exit_code == 0
    assert "This is the plan in force" not in page.read_text(encoding="utf-8")


def test_each_sheet_says_what_it_is_and_that_the_other_differs(tmp_path: Path) -> None:
    """By the plan in force, by a plan made now, and the cheapest of the day; on paper too."""
    farm = copied("few", tmp_path)
    told = {
        "plan in force": " ".join(run("sheet", str(farm)).stdout.split()),
        "cheapest": " ".join(run("sheet", str(farm), "--cheapest-today").stdout.split()),
    }
    assert "The plan in force, from 1 November 2026 (plan.json)." in told["plan in force"]
    assert "usually different: --cheapest-today." in told["plan in force"]
    assert "Cheapest ration of this day, not the winter's plan" in told["cheapest"]
    (farm / "plan.json").unlink()
    assert "none is kept yet" in run("sheet", str(farm)).stdout
    page = tmp_path / "sheets.html"
    run("sheet", str(farm), "--cheapest-today", "--html", str(page))
    assert "not the winter" in page.read_text(encoding="utf-8")
    assert document("sheet", str(farm), "--cheapest-today")["made_from"]["how"] == "cheapest_today"


def test_a_change_in_the_farm_is_noticed_on_the_sheet(tmp_path: Path) -> None:
    """What changed, what the plan comes to, and what to do; and the animals there are now."""
    farm = copied("dairy", tmp_path)
    text = (farm / "farm.toml").read_text(encoding="utf-8")
    (farm / "farm.toml").write_text(text.replace("head = 62", "head = 66"), encoding="utf-8")
    told = " ".join(run("sheet", str(farm), "--group", "high").stdout.split())
    assert told.startswith("High yielders (66 head)")
    assert "high.head 62 → 66" in told
    assert "First-cut clamp runs out on" in told
    assert "Plan again and keep it" in told
    since = document("sheet", str(farm))["made_from"]["since"]
    assert since["figures"] == [{"path": "high.head", "before": 62, "now": 66}]
    assert {one["store"] for one in since["stores"]} >= {"maize", "first_cut"}


def test_a_group_that_the_plan_does_not_know_is_named(tmp_path: Path) -> None:
    """No sheet for it, and the others have theirs."""
    farm = copied("few", tmp_path)
    path = farm / "farm.toml"
    more = (
        '[[groups]]\nid = "bull"\nname = "The bull"\nclass = "breeding_bull"\n'
        'head = 1\nlive_weight_kg = 900\nmaturity = "late"\n'
    )
    path.write_text(f"{path.read_text(encoding='utf-8')}\n{more}", encoding="utf-8")
    done = run("sheet", str(farm))
    assert "no ration for The bull" in " ".join(done.stdout.split())
    assert "Eleven suckler cows" in done.stdout


def test_no_answer_is_written_over_a_kept_plan_or_the_log(tmp_path: Path) -> None:
    """They stand among the inputs."""
    farm = copied("few", tmp_path)
    run("log", str(farm), "head", "cows", "8", "--on", "2026-12-01")
    for name in ("plan.json", "log.csv"):
        before = (farm / name).read_bytes()
        done = run("winter", str(farm), "--format", "json", "--output", str(farm / name))
        assert (done.exit_code, "IN602" in done.stderr) == (2, True)
        assert (farm / name).read_bytes() == before


def test_how_long_stores_last_at_the_rations_of_the_day(tmp_path: Path) -> None:
    """First lines of `ration`; left out where a group is left out."""
    farm = str(copied("dairy", tmp_path, keep=False))
    first = " ".join(run("ration", farm).stdout.split("\n\n")[0].split())
    assert (
        "At these rations, all groups together from 15 October 2026, the stores last: First-cut"
        " clamp" in first
    )
    assert "`rationlp winter` shares them out." in first
    assert run("ration", farm, "--group", "high").stdout.startswith("High yielders (62 head)")


def test_a_line_is_added_and_shown(tmp_path: Path) -> None:
    """Checked, written, in order of date, in all forms."""
    farm = copied("few", tmp_path)
    done = run(
        "log", str(farm), "left", "bales", "9", "--on", "2027-01-15", "--note", "counted twice"
    )
    assert (done.exit_code, done.stdout) == (0, "")
    assert "15 January 2027, Big bales: what is left of a store, 9 bales." in done.stderr
    assert run("log", str(farm), "face", "wide_clamp", "7", "--on", "2027-01-02").exit_code == 0
    rows = list(csv.DictReader(io.StringIO(run("log", str(farm), "--format", "csv").stdout)))
    assert [(row["date"], row["of"], row["unit"]) for row in rows] == [
        ("2027-01-02", "wide_clamp", "m"),
        ("2027-01-15", "bales", "bales"),
    ]
    assert [one["figure"] for one in document("log", str(farm))["lines"]] == [7.0, 9.0]
    assert "counted twice" in run("log", str(farm)).stdout


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["face"], "IN802"),
        (["face", "wide_clamp", "7"], "IN802"),
        (["--note", "x"], "IN802"),
        (["face", "wide_clamp", "20", "--on", "2027-01-15"], "IN801"),
        (["face", "bales", "2", "--on", "2027-01-15"], "IN794"),
        (["left", "bales", "two", "--on", "2027-01-15"], "IN795"),
        (["left", "bales", "2", "--on", "January"], "IN797"),
    ],
)
def test_a_line_that_is_refused_changes_nothing(
    words: list[str], code: str, tmp_path: Path
) -> None:
    """Exit code 2 with its code, and no log."""
    farm = copied("few", tmp_path, keep=False)
    done = run("log", str(farm), *words)
    assert (done.exit_code, code in done.stderr) == (2, True)
    assert not (farm / "log.csv").exists()


def test_januarys_question_is_one_command(tmp_path: Path) -> None:
    """Drift by store and what is due in the first lines; the same in the document."""
    farm = str(copied("few", tmp_path))
    run("log", farm, "left", "bales", "9", "--on", "2027-01-15")
    done = run("winter", farm, "--from", "2027-01-15")
    told = " ".join(done.stdout.split())
    assert "Planned from 15 January 2027: 1 line of the log counts" in told
    assert "What the stores hold on 15 January" in told
    assert "WA245" in done.stderr
    part = document("winter", farm, "--from", "2027-01-15")["so_far_this_winter"]
    bales = next(one for one in part["stores"] if one["store"] == "bales")
    assert bales["measured"] == "2027-01-15"
    assert bales["drift_t_dm"] == pytest.approx(bales["measured_t_dm"] - bales["planned_t_dm"])
    assert run("winter", farm, "--from", "2027-01-15", "--keep").exit_code == 0
    assert (Path(farm) / "plan-2026-11-01.json").exists()


def test_forage_left_lying_is_told(tmp_path: Path) -> None:
    """Tonnes by default, what they are worth with --full, and in the document."""
    farm = str(copied("dairy", tmp_path, keep=False))
    assert (
        "Left at turnout (t fresh) while feed is bought: Maize clamp" in run("winter", farm).stdout
    )
    told = " ".join(run("winter", farm, "--full").stdout.split())
    assert "t are left at turnout, worth GBP" in told
    found = document("winter", farm)["left_lying"]
    assert {one["store"] for one in found} == {"hay", "maize", "straw"}


def test_options_of_a_day_do_not_go_with_the_record(tmp_path: Path) -> None:
    """The record is of the whole plan."""
    done = run("sheet", str(copied("few", tmp_path)), "--record", "--cheapest-today")
    assert (done.exit_code, "IN523" in done.stderr) == (2, True)


def test_a_supply_that_nobody_plans(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No file of what is fed, and no plan."""
    from winter_plans import without_plan

    monkeypatch.setattr("rationlp.wintering.plan.solve_winter", lambda *_: without_plan())
    done = run("supply", str(copied("few", tmp_path, keep=False)))
    assert (done.exit_code, "IN803" in done.stderr) == (2, True)
