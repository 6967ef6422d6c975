"""--standard: on every command that solves, over whatever the farm says."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from rationlp.cli.app import app
from rationlp.cli.commands import commands
from rationlp.farm.group import AFRC, CSIRO, NRC
from rationlp.folders import examples_folder
from rationlp.read.changed import begin, changed, parse_change
from rationlp.read.farm import read_farm

sys.path.insert(0, str(Path(__file__).parents[1] / "report"))
from schema_check import against_schema

SOLVES = {
    *("check", "needs", "ration", "sheet", "supply", "winter", "last", "report"),
    *("switch", "worth", "whatif", "sure", "grow", "promise", "manure"),
}


def test_every_command_that_solves_has_it_from_one_record() -> None:
    """The same option, not a copy of it; commands that work out no needs do not have it."""
    options = {
        command.name: option
        for command in commands()
        for option in command.options
        if option.name == "standard"
    }
    assert set(options) == SOLVES
    assert len({(option.help, option.type) for option in options.values()}) == 1


@pytest.fixture(name="mixed")
def _mixed(tmp_path: Path) -> Path:
    """The hill farm with a standard of its own for the farm, and another for a group."""
    for path in (examples_folder() / "hill").glob("*"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    farm = tmp_path / "farm.toml"
    text = farm.read_text(encoding="utf-8").replace("[farm]\n", f'[farm]\nstandard = "{CSIRO}"\n')
    text = text.replace('id = "twins"\n', f'id = "twins"\nstandard = "{AFRC}"\n')
    farm.write_text(text, encoding="utf-8")
    return tmp_path


def test_a_group_has_its_own_and_the_option_is_over_both(mixed: Path) -> None:
    """Also where the farm is changed and read again."""
    own = {group.id: group.standard for group in read_farm(mixed).groups}
    assert own["twins"] == AFRC
    assert {standard for name, standard in own.items() if name != "twins"} == {CSIRO}
    for standard in (AFRC, CSIRO):
        assert {group.standard for group in read_farm(mixed, standard).groups} == {standard}
        begun = begin(mixed, standard)
        after = changed(begun, [parse_change("soya_meal_48.price_per_t_fresh=500")]).farm
        assert {group.standard for group in after.groups} == {standard}


@pytest.mark.parametrize(
    ("standard", "farm", "group"),
    [(AFRC, "hill", "store_lambs"), (CSIRO, "hill", "store_lambs"), (NRC, "dairy", "late")],
)
def test_a_changed_farm_is_solved_by_it(standard: str, farm: str, group: str) -> None:
    """As it stands, a group costs in `whatif` what its ration costs by the same standard."""
    asked = [str(examples_folder() / farm), "--group", group, "--standard", standard]
    asked += ["--format", "json"]
    run = CliRunner().invoke
    ration = json.loads(run(app, ["ration", *asked]).stdout)
    what = json.loads(run(app, ["whatif", *asked, "--set", f"{group}.head+=1"]).stdout)
    now = next(row for row in what["now"] if row["group"] == group)
    assert now["cost"] == pytest.approx(ration["groups"][0]["proof"]["cost"], abs=1e-9)


def run(*words: str) -> Result:
    """A command at 100 columns."""
    return CliRunner().invoke(app, list(words), env={"COLUMNS": "100"})


def test_rations_compared_in_every_form() -> None:
    """Text with the bills; JSON by the schema; CSV a row for each ration and judge."""
    asked = ["ration", str(examples_folder() / "hill"), "--group", "rams", "--compare-standards"]
    text = run(*asked).stdout
    assert "Rams: GBP 0.149 a head a day by AFRC (1993), 0.141 by CSIRO (2007)." in text
    whole = run(*asked, "--full").stdout
    assert "Each ration judged by both" in whole
    answer = json.loads(run(*asked, "--format", "json").stdout)
    against_schema(answer)
    assert answer["kind"] == "standards"
    assert [side["standard"] for side in answer["groups"][0]["second"]["judged"]] == [CSIRO, AFRC]
    assert len(run(*asked, "--format", "csv").stdout.splitlines()) == 5


@pytest.mark.parametrize(
    ("command", "more"),
    [
        ("ration", ("--standard", "csiro_2007")),
        ("ration", ("--explain",)),
        ("ration", ("--show-rows",)),
        ("winter", ("--keep",)),
        ("winter", ("--standard", "afrc_1993")),
        ("winter", ("--explain",)),
    ],
)
def test_what_means_nothing_beside_it_is_refused(command: str, more: tuple[str, ...]) -> None:
    """Nothing is solved, nothing is kept."""
    done = run(command, str(examples_folder() / "hill"), "--compare-standards", *more)
    assert done.exit_code == 2
    assert "does not go with --compare-standards" in " ".join(done.stderr.replace("│", " ").split())


@pytest.mark.long
def test_a_winter_compared_keeps_to_the_schema() -> None:
    """Both plans, each judged by the other."""
    asked = ["winter", str(examples_folder() / "hill"), "--compare-standards", "--periods", "month"]
    done = run(*asked, "--format", "json")
    answer = json.loads(done.stdout)
    against_schema(answer)
    assert done.exit_code == 0
    assert answer["first"]["standard"] == AFRC
    assert {one["group"] for one in answer["second"]["judged"]} >= {"cows", "twins"}
