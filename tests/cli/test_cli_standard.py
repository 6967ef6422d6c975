"""--standard: on every command that solves, over whatever the farm says."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.cli.commands import commands
from rationlp.farm.group import AFRC, CSIRO
from rationlp.folders import examples_folder
from rationlp.read.changed import begin, changed, parse_change
from rationlp.read.farm import read_farm

SOLVES = {
    *("check", "needs", "ration", "sheet", "supply", "winter", "last", "report"),
    *("switch", "worth", "whatif", "sure", "grow"),
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


@pytest.mark.parametrize("standard", [AFRC, CSIRO])
def test_a_changed_farm_is_solved_by_it(standard: str) -> None:
    """As it stands, a group costs in `whatif` what its ration costs by the same standard."""
    asked = [str(examples_folder() / "hill"), "--group", "store_lambs", "--standard", standard]
    asked += ["--format", "json"]
    run = CliRunner().invoke
    ration = json.loads(run(app, ["ration", *asked]).stdout)
    what = json.loads(run(app, ["whatif", *asked, "--set", "store_lambs.head+=1"]).stdout)
    now = next(row for row in what["now"] if row["group"] == "store_lambs")
    assert now["cost"] == pytest.approx(ration["groups"][0]["proof"]["cost"], abs=1e-9)
