"""What was eaten against an earlier plan: by days of periods, by two measurements, and what the
step of a face implies.
"""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from rationlp.after.sofar import StoreSoFar, planned_until, so_far
from rationlp.cli.app import app
from rationlp.errors import InputError
from rationlp.farm.store import Face, Spread, StoreStock
from rationlp.folders import examples_folder
from rationlp.read.earlier import EarlierPlan, EarlierStore, read_earlier
from rationlp.report.winter_so_far import so_far_sentences

PERIODS = ((date(2026, 11, 1), date(2026, 11, 15)), (date(2026, 11, 15), date(2026, 11, 29)))
PIT = EarlierStore("pit", "Pit", 100.0, (14.0, 21.0), 25.0, 30.0, 0.94)
PLAN = EarlierPlan(PERIODS, (PIT,))


def stock(edible: float, length: float | None) -> StoreStock:
    """The pit measured again."""
    face = None if length is None else Face(10.0, 2.5, 25.0, 5000.0, 1.0, 0.7, length)
    exact = Spread(edible, edible, edible)
    return StoreStock("pit", None, None, exact, exact, {}, exact, 0.0, 0.0, face, ())


def test_a_period_counts_by_its_days() -> None:
    """All of the first fortnight and five days of the second: 14 + 21 · 5/14; nothing before the
    first day.
    """
    assert planned_until(PLAN, PIT, date(2026, 11, 20)) == pytest.approx(14.0 + 21.0 * 5.0 / 14.0)
    assert planned_until(PLAN, PIT, date(2026, 11, 1)) == 0.0
    assert planned_until(PLAN, PIT, date(2027, 1, 1)) == 35.0


def test_the_step_of_the_face_implies_a_density() -> None:
    """35 t eaten as planned are 37.2 t off the face: 8 m of 25 m2 held 186 kg DM/m3."""
    (one,) = so_far(PLAN, {"pit": stock(60.0, 22.0)}, date(2026, 11, 29))
    assert (one.planned_t_dm, one.used_t_dm, one.more_t_dm) == (35.0, 40.0, 5.0)
    assert one.step_m == 8.0
    assert one.density_kg_dm_per_m3 == pytest.approx(35.0 / 0.94 * 1000.0 / (25.0 * 8.0))
    (still,) = so_far(PLAN, {"pit": stock(60.0, None)}, date(2026, 11, 29))
    assert (still.step_m, still.density_kg_dm_per_m3) == (None, None)


def test_only_what_differs_is_said() -> None:
    """A twentieth off is as planned; a seventh is said, with the density to give."""
    near = StoreSoFar("pit", "Pit", 35.0, 36.0, 1.0, None, None)
    far = StoreSoFar("pit", "Pit", 35.0, 40.0, 5.0, 8.0, 186.0)
    assert so_far_sentences((near,)) == ()
    assert "5.0 t DM more gone than planned (40.0 against 35.0)" in so_far_sentences((far,))[0]
    assert "186 kg DM/m3" in so_far_sentences((far,))[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "cannot be read as JSON"),
        ("[1, 2]", "no answer of rationlp"),
        ('{"kind": "ration"}', "kind 'ration'"),
        ('{"kind": "winter", "periods": []}', "without all of its parts"),
        ('{"kind": "winter", "schema_version": "3.0"}', "which this version cannot read"),
        (
            (
                '{"kind": "winter", "stocks": [], "stores": [], "periods": [{"first": "soon",'
                ' "last": "2026-11-01"}]}'
            ),
            "parts",
        ),
    ],
)
def test_a_file_that_is_no_plan_is_refused(tmp_path: Path, text: str, words: str) -> None:
    """IN521 with what was found and which file to give."""
    path = tmp_path / "plan.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as trouble:
        read_earlier(path)
    finding = trouble.value.findings[0]
    assert (finding.code, words in finding.found) == ("IN521", True)
    assert "rationlp winter" in finding.remedy


@pytest.mark.parametrize("version", ["1.0", "2.0"])
def test_plans_of_both_versions_are_read(tmp_path: Path, version: str) -> None:
    """The parts that matter are the same in both."""
    period = {"first": "2026-11-01", "last": "2026-11-15"}
    exact = {"low": 100.0, "typical": 100.0, "high": 100.0}
    edible = {"low": 94.0, "typical": 94.0, "high": 94.0}
    face = {"area_m2": 25.0, "length_m": 30.0}
    stock = {"store": "pit", "t_dm": exact, "edible_t_dm": edible, "face": face}
    store = {"store": "pit", "name": "Pit", "held_t_dm": exact, "used_t_dm": [14.0, 21.0]}
    plan = {"schema_version": version, "kind": "winter", "periods": [period]}
    path = tmp_path / "plan.json"
    path.write_text(json.dumps({**plan, "stocks": [stock], "stores": [store]}), encoding="utf-8")
    assert read_earlier(path) == EarlierPlan(PERIODS[:1], (PIT,))


def run(*words: str) -> Any:
    """A command of the program."""
    return CliRunner(env={"COLUMNS": "100"}).invoke(app, list(words))


def test_the_middle_of_a_winter_as_a_person_would_type_it(tmp_path: Path) -> None:
    """Plan, measure the clamp again in January, plan the rest: shown against the plan, in text and
    in JSON.
    """
    farm = tmp_path / "farm"
    shutil.copytree(examples_folder() / "dairy", farm)
    plan = tmp_path / "plan.json"
    assert run("winter", str(farm), "--format", "json", "--output", str(plan)).exit_code == 0
    path = farm / "farm.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace("length_m = 39 ", "length_m = 19 "),
        encoding="utf-8",
    )
    answer = run("winter", str(farm), "--from", "2027-01-15", "--since", str(plan))
    assert answer.exit_code == 0, answer.stderr
    assert "What was eaten against the earlier plan" in answer.stdout
    document = json.loads(
        run(
            "winter", str(farm), "--from", "2027-01-15", "--since", str(plan), "--format", "json"
        ).stdout
    )
    one = next(one for one in document["so_far"] if one["store"] == "first_cut")
    before = next(
        one
        for one in json.loads(plan.read_text(encoding="utf-8"))["stores"]
        if one["store"] == "first_cut"
    )
    now = next(one for one in document["stocks"] if one["store"] == "first_cut")
    assert one["used_t_dm"] == pytest.approx(
        before["held_t_dm"]["typical"] - now["edible_t_dm"]["typical"]
    )
    assert one["planned_t_dm"] == pytest.approx(
        sum(before["used_t_dm"][:6]) + before["used_t_dm"][6] * 8.0 / 14.0
    )
    assert one["step_m"] == pytest.approx(20.0)
    assert run("winter", str(farm), "--since", str(path)).exit_code == 2
