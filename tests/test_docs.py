"""The README says what the program does: commands, keys, facts, outputs and codes are compared with the code."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from readme_commands import WIDTH, shown
from readme_glossary import BEGIN, END, table

from rationlp.read.animals import CLASSES
from rationlp.read.schema import INNER, LISTS, TABLES
from rationlp.read.stores import KINDS

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = shown(README)


def run(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """A README command by this environment's own interpreter, in a folder, at the README's width."""
    words = [sys.executable, "-m", "rationlp", *command.split()[1:]]
    environment = {"COLUMNS": WIDTH, "PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin"}
    return subprocess.run(words, capture_output=True, text=True, check=False, cwd=folder, env=environment)


def test_every_command_of_the_readme_runs_as_shown(tmp_path: Path) -> None:
    """In an empty folder with the examples beside it, in the README's own order, outputs included where shown."""
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    assert len(COMMANDS) >= 6
    assert any(one.output for one in COMMANDS)
    for one in COMMANDS:
        done = run(one.command, tmp_path)
        assert done.returncode == one.code, (one.command, done.stderr)
        assert "Traceback" not in done.stderr
        if one.output:
            assert done.stdout.strip("\n") == one.output, one.command


def test_the_readme_opens_with_one_paragraph_stating_the_job() -> None:
    """Title, one paragraph, then a heading."""
    first = README.split("\n\n")
    assert first[0] == "# rationlp"
    assert first[1].startswith("`rationlp` takes a livestock farm through the winter")
    assert first[2].startswith("## ")


def test_every_command_is_in_the_readme() -> None:
    """Each command and its line in the table of commands."""
    from rationlp.cli.app import app

    names = [command.name for command in app.registered_commands] + [group.name for group in app.registered_groups]
    assert [name for name in names if f"`rationlp {name}" not in README] == []


@pytest.mark.parametrize("animal_class", CLASSES)
def test_every_class_and_fact_is_in_the_readme(animal_class: str) -> None:
    """Each class by name, each of its facts by key."""
    assert f"`{animal_class}`" in README
    assert [fact.key for fact in CLASSES[animal_class] if f"`{fact.key}`" not in README] == []


def test_every_key_of_the_farm_file_is_in_the_readme() -> None:
    """Tables, lists, the inner lists of groups, and the sizes of stores."""
    keys: set[str] = set()
    for model in (*TABLES.values(), *LISTS.values(), *INNER.values()):
        keys |= {field.alias or name for name, field in model.model_fields.items()}
    keys |= {size.key for sizes in KINDS.values() for size in sizes}
    nested = {"analysis", "feed_limits", "quantity_limits", "family_limits", "grazing"}
    missing = [
        key for key in sorted(keys - nested) if not re.search(rf"`{key}[`*]", README) and f"`{key}`" not in README
    ]
    assert missing == []
    assert [key for key in nested & keys if key not in README] == []


def test_the_glossary_is_that_of_the_vocabulary() -> None:
    """Made from quantities.csv and glossary.csv; `python tests/readme_glossary.py README.md` makes it anew."""
    assert README.partition(BEGIN)[2].partition(END)[0].strip() == table()


def test_the_same_farm_gives_the_same_bytes(tmp_path: Path) -> None:
    """Two runs of the example write identical JSON."""
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    texts = []
    for name in ("one.json", "two.json"):
        done = run(f"rationlp ration examples/dairy --format json --output {name}", tmp_path)
        assert done.returncode == 0, done.stderr
        texts.append((tmp_path / name).read_bytes())
    assert texts[0] == texts[1]
    assert len(texts[0]) > 10_000


def test_a_group_without_a_ration_is_answered_and_the_others_too(tmp_path: Path) -> None:
    """Exit code 3; the group, the need, how much short and what binds are named; no traceback."""
    folder = tmp_path / "farm"
    shutil.copytree(ROOT / "examples" / "dairy", folder)
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    text = text.replace("milk_kg_per_day = 34", "milk_kg_per_day = 34\nintake_kg_dm = 12")
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    done = run("rationlp ration farm", tmp_path)
    assert done.returncode == 3
    assert "Traceback" not in done.stderr
    head = done.stdout.split("\n\n")[0]
    assert "High yielders (62 head): no ration exists." in head
    assert re.search(r"Short by: .*metabolisable energy [\d.]+ MJ", head)
    assert "Dry cows (24 head): GBP" in head
    assert "At its limit there: dry matter intake is at its most (12 kg DM)" in " ".join(done.stdout.split())
