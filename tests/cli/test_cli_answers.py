"""Every command on the farm that `new` writes: the answer on stdout and nowhere else, in all three
forms.
"""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

import rationlp
from rationlp.cli.app import app
from rationlp.farm.farm import Farm

ROOT = Path(rationlp.__file__).resolve().parents[1]
SETTINGS = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "100", "PYTHONUTF8": "1"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A farm folder as `new` writes it."""
    made = tmp_path_factory.mktemp("cli") / "myfarm"
    assert CliRunner().invoke(app, ["new", str(made)]).exit_code == 0
    return made


@pytest.fixture(scope="module")
def farm(folder: Path) -> Farm:
    """The same farm, read."""
    return rationlp.read_farm(folder)


@pytest.fixture(scope="module")
def fed(folder: Path, farm: Farm) -> Path:
    """A ration already fed to the first group: 5 kg DM of the first store's feed."""
    path = folder.parent / "fed.csv"
    path.write_text(
        f"group,feed,kg_dm\n{farm.groups[0].id},{farm.offers[0].id},5\n", encoding="utf-8"
    )
    return path


def process(*arguments: str) -> subprocess.CompletedProcess[str]:
    """A command as a process of its own."""
    command = [sys.executable, "-m", "rationlp", *arguments]
    return subprocess.run(
        command, capture_output=True, text=True, check=False, env=SETTINGS, encoding="utf-8"
    )


@pytest.fixture(scope="module")
def as_json(folder: Path) -> str:
    """The rations as a document, from a process of its own."""
    return process("ration", str(folder), "--format", "json").stdout


def test_ration_prints_the_answer_and_nothing_else_on_stdout(folder: Path, farm: Farm) -> None:
    """Not even the solver's banner comes before the first headline; as many proofs as groups."""
    done = process("ration", str(folder), "--full")
    assert done.returncode == 0
    assert done.stdout.startswith("All 219 head: GBP ")
    assert done.stdout.rstrip().endswith("local rules come first.")
    assert " ".join(done.stdout.split()).count("Proved cheapest to within") == len(farm.groups)


def test_ration_as_json_is_pure_and_the_same_each_time(folder: Path, as_json: str) -> None:
    """Two processes give the same bytes, and they are JSON."""
    assert process("ration", str(folder), "--format", "json").stdout == as_json
    assert json.loads(as_json)["kind"] == "ration"
    assert len(as_json) > 10_000


def test_a_ration_printed_as_tables_does_not_load_pandas(folder: Path) -> None:
    """pandas is only for files."""
    code = (
        "import sys\nfrom rationlp.cli import main\n"
        f"sys.argv = ['rationlp', 'ration', {str(folder)!r}]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\nsys.exit('pandas' in sys.modules)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, env=SETTINGS
    )
    assert done.returncode == 0


@pytest.mark.parametrize("command", ["check", "needs", "ration"])
@pytest.mark.parametrize("form", ["table", "csv", "json"])
def test_every_command_answers_in_every_form(folder: Path, command: str, form: str) -> None:
    """A table to read, rows with a heading, or a document of the command's kind."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(app, [command, str(folder), "--format", form])
    assert result.exit_code == 0
    if form == "json":
        assert json.loads(result.stdout)["kind"] == command
    elif form == "csv":
        assert len(list(csv.DictReader(io.StringIO(result.stdout)))) > 0
    else:
        assert max(len(line) for line in result.stdout.splitlines()) <= 100


def test_one_group_can_be_asked_for(folder: Path, farm: Farm) -> None:
    """The others are left out."""
    result = CliRunner().invoke(
        app, ["ration", str(folder), "--group", farm.groups[1].id, "--format", "json"]
    )
    assert [group["group"] for group in json.loads(result.stdout)["groups"]] == [farm.groups[1].id]


def test_an_unknown_group_is_bad_input(folder: Path) -> None:
    """Exit 2, nothing on stdout."""
    result = CliRunner().invoke(app, ["ration", str(folder), "--group", "nobody"])
    assert (result.exit_code, result.stdout) == (2, "")
    assert '"nobody"' in result.stderr


def test_figures_show_where_each_comes_from(folder: Path) -> None:
    """The option adds the tables of origins."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(app, ["ration", str(folder), "--figures"])
    assert "where each figure comes from" in result.stdout


def test_supply_sets_a_fed_ration_against_need(folder: Path, fed: Path) -> None:
    """5 kg DM of forage are short of energy."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(app, ["supply", str(folder), str(fed)])
    assert result.exit_code == 0
    assert "Short: ME (MJ), MP" in result.stdout


def test_supply_as_json_names_its_kind(folder: Path, fed: Path) -> None:
    """The document is that of the command."""
    result = CliRunner().invoke(app, ["supply", str(folder), str(fed), "--format", "json"])
    assert json.loads(result.stdout)["kind"] == "supply"


def test_output_goes_to_the_file_and_stdout_stays_empty(
    folder: Path, as_json: str, tmp_path: Path
) -> None:
    """The file holds what stdout would have held."""
    target = tmp_path / "ration.json"
    result = CliRunner().invoke(
        app, ["ration", str(folder), "--format", "json", "--output", str(target)]
    )
    assert (result.exit_code, result.stdout) == (0, "")
    assert target.read_text(encoding="utf-8") == as_json


def test_an_input_is_never_written_over(folder: Path) -> None:
    """The farm file stands as it was."""
    before = (folder / "farm.toml").read_bytes()
    result = CliRunner().invoke(app, ["ration", str(folder), "--output", str(folder / "farm.toml")])
    assert result.exit_code == 2
    assert "IN602" in result.stderr
    assert (folder / "farm.toml").read_bytes() == before


def test_every_csv_of_the_farm_is_safe_from_output(folder: Path) -> None:
    """Each of them is refused as a target."""
    for path in sorted(folder.rglob("*.csv")):
        result = CliRunner().invoke(app, ["check", str(folder), "--output", str(path)])
        assert "IN602" in result.stderr, path


def test_the_fed_ration_is_safe_from_output(folder: Path, fed: Path) -> None:
    """It is an input as well."""
    result = CliRunner().invoke(app, ["supply", str(folder), str(fed), "--output", str(fed)])
    assert "IN602" in result.stderr


def test_new_does_not_write_over_a_farm(folder: Path) -> None:
    """A second `new` on the same folder is refused."""
    before = (folder / "farm.toml").read_bytes()
    assert CliRunner().invoke(app, ["new", str(folder)]).exit_code == 2
    assert (folder / "farm.toml").read_bytes() == before


def test_a_group_that_cannot_be_fed_gives_three_and_the_others_are_answered(
    folder: Path, tmp_path: Path
) -> None:
    """Exit 3; the answer still names every group."""
    copy = tmp_path / "hungry"
    copy.mkdir()
    for path in folder.iterdir():
        (copy / path.name).write_bytes(path.read_bytes())
    text = (copy / "farm.toml").read_text(encoding="utf-8")
    head, mark, rest = text.partition("[[groups]]")
    (copy / "farm.toml").write_text(f"{head}{mark}\nintake_kg_dm = 2.0{rest}", encoding="utf-8")
    result = CliRunner().invoke(app, ["ration", str(copy), "--format", "json"])
    statuses = [group["status"] for group in json.loads(result.stdout)["groups"]]
    assert result.exit_code == 3
    assert statuses[0] in ("none_exists", "none_found")
    assert set(statuses[1:]) == {"proven"}


def test_a_reader_that_goes_away_gives_no_traceback(folder: Path) -> None:
    """A closed pipe ends the command quietly."""
    command = [
        sys.executable,
        "-m",
        "rationlp",
        "check",
        str(folder),
        "--figures",
        "--format",
        "json",
    ]
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as pipe:
        done = subprocess.run(
            command, stdout=pipe, stderr=subprocess.PIPE, text=True, check=False, env=SETTINGS
        )
    assert (done.returncode, done.stderr) == (141, "")


@pytest.mark.parametrize("form", ["table", "csv", "json"])
def test_feeds_are_listed(form: str) -> None:
    """Every feed of the packaged tables."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(
        app, ["feeds", "list", "--full", "--format", form]
    )
    assert result.exit_code == 0
    assert "straw_barley" in result.stdout


def test_feeds_of_one_kind() -> None:
    """Straws are no cereals."""
    result = CliRunner().invoke(app, ["feeds", "list", "--kind", "straw", "--format", "json"])
    assert {feed["kind"] for feed in json.loads(result.stdout)["feeds"]} == {"straw"}


def test_an_unknown_kind_lists_the_kinds() -> None:
    """The message names what there is."""
    result = CliRunner().invoke(app, ["feeds", "list", "--kind", "hay"])
    assert result.exit_code == 2
    assert "by_product, cereal" in result.stderr


def test_one_feed_is_shown_with_sources() -> None:
    """Every figure has an origin and a source."""
    result = CliRunner().invoke(app, ["feeds", "show", "barley", "--format", "json"])
    (feed,) = json.loads(result.stdout)["feeds"]
    assert all(figure["source"] for figure in feed["figures"].values())


def test_an_unknown_feed_names_the_nearest() -> None:
    """Each unknown key is a finding of its own."""
    result = CliRunner().invoke(app, ["feeds", "compare", "barlee", "wheet"])
    assert result.exit_code == 2
    assert 'nearest: "barley"' in result.stderr
    assert 'nearest: "wheat"' in result.stderr


def test_two_feeds_are_compared() -> None:
    """A line a figure, with the difference."""
    result = CliRunner().invoke(app, ["feeds", "compare", "barley", "wheat", "--format", "csv"])
    rows = {row["quantity"]: row for row in csv.DictReader(io.StringIO(result.stdout))}
    assert float(rows["ME"]["difference"]) == pytest.approx(
        float(rows["ME"]["second"]) - float(rows["ME"]["first"])
    )


def test_a_table_of_ones_own_is_validated(tmp_path: Path) -> None:
    """A sound table lists what it adds; stdout has no remark in it."""
    path = tmp_path / "own.csv"
    path.write_text(
        "key,name,kind,dm_g_per_kg,me_mj_per_kg_dm\nown_hay,Own hay,forage,850,9\n",
        encoding="utf-8",
    )
    result = CliRunner().invoke(app, ["feeds", "validate", str(path), "--format", "json"])
    assert result.exit_code == 0, result.stderr
    assert [feed["key"] for feed in json.loads(result.stdout)["feeds"]] == ["own_hay"]


def test_a_bad_table_of_ones_own_is_refused(tmp_path: Path) -> None:
    """Dry matter above 100 % is found, with its row."""
    path = tmp_path / "own.csv"
    path.write_text(
        "key,name,kind,dm_g_per_kg,me_mj_per_kg_dm\nown_hay,Own hay,forage,1850,9\n",
        encoding="utf-8",
    )
    result = CliRunner().invoke(app, ["feeds", "validate", str(path)])
    assert (result.exit_code, result.stdout) == (2, "")
    assert "own.csv" in result.stderr
