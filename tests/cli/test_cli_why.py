"""The options that say why: what a person types, in all three forms."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from rationlp.cli.app import app
from rationlp.folders import examples_folder

EXAMPLES = examples_folder()


MUCH_MILK = "milk_kg_per_day = 60\nintake_kg_dm = 20"


def run(*words: str) -> Result:
    """A command, 100 columns wide."""
    return CliRunner().invoke(app, list(words), env={"COLUMNS": "100"})


def document(*words: str) -> dict[str, object]:
    """The first group of a JSON answer."""
    done = run(*words, "--format", "json")
    found: dict[str, object] = json.loads(done.stdout)["groups"][0]
    return found


@pytest.fixture
def short(tmp_path: Path) -> str:
    """The dairy example with cows in late lactation that are to give 60 litres from 20 kg of dry
    matter.
    """
    folder = tmp_path / "farm"
    folder.mkdir()
    for path in (EXAMPLES / "dairy").iterdir():
        text = path.read_text(encoding="utf-8")
        (folder / path.name).write_text(
            text.replace("milk_kg_per_day = 22", MUCH_MILK), encoding="utf-8"
        )
    return str(folder)


def test_explain_says_why_and_shows_ranges() -> None:
    """The paragraph, the table of ranges, and what leaves the animal."""
    text = " ".join(
        run("ration", str(EXAMPLES / "beef"), "--group", "bulls", "--explain").stdout.split()
    )
    assert "Why this ration: what it stands at is its energy" in text
    assert "Finishing bulls: how far each feed could move at no more than 1 % more cost" in text
    assert "Excreted per head per day (for information):" in text


def test_without_explain_nothing_of_it_is_said() -> None:
    """The plain answer stays as it is."""
    text = run("ration", str(EXAMPLES / "beef"), "--group", "bulls").stdout
    assert "Why this ration" not in text
    assert "Excreted" not in text


def test_explain_in_json() -> None:
    """The same facts under `why`; null without the option."""
    words = ("ration", str(EXAMPLES / "beef"), "--group", "bulls")
    why = document(*words, "--explain")["why"]
    assert isinstance(why, dict)
    assert {one["what"] for one in why["binding"]} >= {"its energy"}
    assert document(*words)["why"] is None


def test_no_ration_says_what_clashes_and_what_would_help(short: str) -> None:
    """Exit code 3; the clash, and changes that are enough, in words and in JSON."""
    done = run("ration", short, "--group", "late")
    assert done.exit_code == 3
    text = " ".join(done.stdout.split())
    assert "What cannot be kept together: its whole need of energy" in text
    assert (
        "Each of these by itself would be enough (checked by solving again), the smallest change"
        " first:" in text
    )
    group = document("ration", short, "--group", "late")
    remedies = group["remedies"]
    assert isinstance(remedies, list)
    assert all(" ".join(str(one["words"]).split()) in text for one in remedies)
    assert {one["kind"] for one in remedies} >= {"produce"}


def test_less_milk_as_said_has_a_ration(short: str) -> None:
    """The litres that the answer would accept, written into the farm, are answered with exit code
    0.
    """
    remedies = document("ration", short, "--group", "late")["remedies"]
    assert isinstance(remedies, list)
    becomes = next(one["becomes"] for one in remedies if one["kind"] == "produce")
    path = Path(short) / "farm.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("milk_kg_per_day = 60", f"milk_kg_per_day = {becomes:.3f}"), encoding="utf-8"
    )
    assert run("ration", short, "--group", "late").exit_code == 0


def test_show_rows_shows_every_row_in_words() -> None:
    """The energy row with its slope, the intake row with every feed, the price of each."""
    text = " ".join(
        run("ration", str(EXAMPLES / "beef"), "--group", "bulls", "--show-rows").stdout.split()
    )
    assert "the rows of the last programme" in text
    assert "≤ 10.7" in text
    rows = document("ration", str(EXAMPLES / "beef"), "--group", "bulls", "--show-rows")["rows"]
    assert isinstance(rows, dict)
    intake = next(row for row in rows["rows"] if row["key"][0] == "intake")
    assert intake["high"] == pytest.approx(10.726, abs=1e-3)
    assert len(intake["coefs"]) == 11


def test_write_lp_writes_a_file_and_says_so(tmp_path: Path) -> None:
    """The file begins with what it is and ends as the format asks."""
    path = tmp_path / "bulls.lp"
    done = run("ration", str(EXAMPLES / "beef"), "--group", "bulls", "--write-lp", str(path))
    assert done.exit_code == 0
    text = path.read_text(encoding="utf-8")
    assert text.startswith("\\ Least-cost rations")
    assert text.endswith("End\n")
    assert f"Written: {path}" in done.stderr


def test_write_lp_never_replaces_the_farm(short: str) -> None:
    """farm.toml is refused as a place to write to, and stays as it was."""
    path = Path(short) / "farm.toml"
    before = path.read_bytes()
    assert run("ration", short, "--group", "dry", "--write-lp", str(path)).exit_code == 2
    assert path.read_bytes() == before


def test_show_working_shows_every_step() -> None:
    """Efficiencies, level of feeding, margin and the sum, as text and as JSON."""
    text = run("needs", str(EXAMPLES / "dairy"), "--group", "high", "--show-working").stdout
    for word in (
        "km, for maintenance",
        "kl, for milk",
        "L, level of feeding",
        "CL, correction",
        "margin",
    ):
        assert word in text
    assert (
        "km, for maintenance" not in run("needs", str(EXAMPLES / "dairy"), "--group", "high").stdout
    )
    steps = document("needs", str(EXAMPLES / "dairy"), "--group", "high", "--show-working")[
        "working"
    ]
    assert isinstance(steps, list)
    assert steps[-1]["unit"] == "MJ/d"


def test_supply_says_what_is_carried_and_what_puts_it_right() -> None:
    """Milk by energy and by protein, the change of two feeds, what leaves the animal; CSV stays a
    plain table.
    """
    words = ("supply", str(EXAMPLES / "dairy"), str(EXAMPLES / "dairy" / "fed.csv"))
    text = " ".join(run(*words, "--full").stdout.split())
    assert "Without any margin the energy would carry" in text
    assert "Cheapest change of at most two feeds that puts it right" in text
    why = document(*words)["why"]
    assert isinstance(why, dict)
    assert why["carried"]["product"] == "milk"
    table = list(csv.reader(io.StringIO(run(*words, "--format", "csv").stdout)))
    assert len({len(row) for row in table}) == 1


def test_explain_of_a_winter_says_what_binds_and_what_it_costs() -> None:
    """A table of what binds, and a sentence a store, within the width; nothing of it without the
    option.
    """
    text = run("winter", str(EXAMPLES / "dairy"), "--explain").stdout
    assert "What binds over the winter and what it costs" in text
    assert (
        "Barley straw: a tonne of dry matter more saves nothing: some is left at turnout." in text
    )
    assert max(map(len, text.splitlines())) <= 100
    assert "What binds over the winter" not in run("winter", str(EXAMPLES / "dairy")).stdout


def test_explain_of_a_winter_in_json() -> None:
    """The same under `why`: every group, every store; null without the option."""
    words = ("winter", str(EXAMPLES / "dairy"), "--format", "json")
    why = json.loads(run(*words, "--explain").stdout)["why"]
    assert {one["group"] for one in why["binding"]} == {"high", "late", "dry", "young", "finishers"}
    assert len(why["stores"]) == 5
    plain = json.loads(run(*words).stdout)
    assert (plain["why"], plain["short_alone"]) == (None, [])


def test_explain_of_a_winter_with_whole_numbers_says_why_there_are_no_prices() -> None:
    """The example whose clamp face is decided by yes and no."""
    text = " ".join(run("winter", str(EXAMPLES / "few"), "--explain").stdout.split())
    assert (
        "Why this plan: whole loads or open clamps were decided, so that no unit of anything has a"
        " value" in text
    )
    assert "What binds over the winter" not in text


def test_explain_of_a_winter_that_cannot_be_fed_says_what_clashes(short: str) -> None:
    """For the group that is short, by itself: the clash, and what would be enough; exit code 3."""
    done = run("winter", short, "--explain")
    assert done.exit_code == 3
    text = " ".join(done.stdout.split())
    assert "Late lactation by itself, " in text
    assert "What cannot be kept together:" in text
    assert "Late lactation by itself" not in " ".join(run("winter", short).stdout.split())


def test_explain_of_a_switch_is_about_its_cheapest_share() -> None:
    """The lines of a ration's reasons, with the share said; in JSON under `why` of the group."""
    words = (
        "switch",
        str(EXAMPLES / "dairy"),
        "--from",
        "first_cut",
        "--to",
        "maize",
        "--group",
        "finishers",
    )
    text = " ".join(run(*words, "--explain").stdout.split())
    assert (
        "At 41.1 % Maize clamp, that share held. Why this ration: what it stands at is its energy"
        in text
    )
    why = document(*words, "--explain")["why"]
    assert isinstance(why, dict)
    assert why["binding"]
    assert document(*words)["why"] is None


def test_explain_of_a_switch_goes_with_shares_only() -> None:
    """By tonnes it is refused as a wrong option is."""
    words = (
        "switch",
        str(EXAMPLES / "dairy"),
        "--from",
        "first_cut",
        "--to",
        "maize",
        "--by",
        "tonnes",
    )
    assert run(*words, "--explain").exit_code == 2
