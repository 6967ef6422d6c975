"""README and guide say what the program does: commands, keys, facts, outputs and codes are compared
with the code.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from documents import everything, pages
from generated_pages import MADE, part
from readme_commands import WIDTH, shown

from rationlp.cli.guide import GUIDE, questions, topics
from rationlp.farm.animals import CLASSES
from rationlp.read.schema import INNER, LISTS, TABLES
from rationlp.read.stores import KINDS

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
GUIDE_TEXT = everything()
PAGES = pages()


def run(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """A README command by this environment's own interpreter, in a folder, at the README's
    width.
    """
    words = [sys.executable, "-m", "rationlp", *command.split()[1:]]
    environment = {"COLUMNS": WIDTH, "PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin"}
    return subprocess.run(
        words, capture_output=True, text=True, check=False, cwd=folder, env=environment
    )


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_command_of_a_page_runs_as_shown(page: Path, tmp_path: Path) -> None:
    """In an empty folder with the examples beside it, in the order of the page, outputs included
    where shown.
    """
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    for item in shown(page.read_text(encoding="utf-8")):
        done = run(item.command, tmp_path)
        assert done.returncode == item.code, (item.command, done.stderr)
        assert "Traceback" not in done.stderr
        if item.output:
            assert item.as_printed(done.stdout) == item.output, item.command


def test_the_pages_show_commands_and_outputs() -> None:
    """The test above has something to compare."""
    commands = [item for page in PAGES for item in shown(page.read_text(encoding="utf-8"))]
    assert len(commands) >= 20
    assert sum(bool(item.output) for item in commands) >= 10


def test_the_readme_is_short() -> None:
    """What it is, two commands, an example, a map of questions, where to go on: at most 250
    lines.
    """
    assert len(README.splitlines()) <= 250


def test_the_guide_has_a_page_for_each_topic_and_no_other() -> None:
    """Topics and files agree, and each page opens with its title."""
    assert {path.stem for path in GUIDE.glob("*.md")} == set(topics())
    for topic, title in topics().items():
        assert (GUIDE / f"{topic}.md").read_text(encoding="utf-8").startswith(f"# {title}\n")


def test_the_guide_answers_the_questions_of_a_winter() -> None:
    """Forty-four questions, each with a page that exists and a command of the program that the
    page names.
    """
    asked = questions()
    assert len({row["question"] for row in asked}) == 44
    for row in asked:
        page = (GUIDE / f"{row['topic']}.md").read_text(encoding="utf-8")
        assert f"rationlp {row['command'].split()[0]}" in page, row["question"]


def test_the_readme_opens_with_one_paragraph_stating_the_job() -> None:
    """Title, one paragraph, then a heading."""
    first = README.split("\n\n")
    assert first[0] == "# rationlp"
    assert first[1].startswith("`rationlp` takes a livestock farm through the winter")
    assert first[2].startswith("## ")


def test_every_command_is_in_the_guide() -> None:
    """Each command and its line in the table of commands."""
    from rationlp.cli.app import app

    names = [command.name for command in app.registered_commands] + [
        group.name for group in app.registered_groups
    ]
    assert [name for name in names if f"`rationlp {name}" not in GUIDE_TEXT] == []


@pytest.mark.parametrize("animal_class", CLASSES)
def test_every_class_and_fact_is_in_the_guide(animal_class: str) -> None:
    """Each class by name, each of its facts by key."""
    assert f"`{animal_class}`" in GUIDE_TEXT
    assert [fact.key for fact in CLASSES[animal_class] if f"`{fact.key}`" not in GUIDE_TEXT] == []


def test_every_key_of_the_farm_file_is_in_the_guide() -> None:
    """Tables, lists, the inner lists of groups, and the sizes of stores."""
    keys: set[str] = set()
    for model in (*TABLES.values(), *LISTS.values(), *INNER.values()):
        keys |= {field.alias or name for name, field in model.model_fields.items()}
    keys |= {size.key for sizes in KINDS.values() for size in sizes}
    nested = {"analysis", "feed_limits", "quantity_limits", "family_limits", "grazing"}
    missing = [
        key
        for key in sorted(keys - nested)
        if not re.search(rf"`{key}[`*]", GUIDE_TEXT) and f"`{key}`" not in GUIDE_TEXT
    ]
    assert missing == []
    assert [key for key in nested & keys if key not in GUIDE_TEXT] == []


@pytest.mark.parametrize("page", MADE, ids=lambda page: page.stem)
def test_made_parts_are_those_of_the_data(page: Path) -> None:
    """Glossary, errors and questions; `python tests/generated_pages.py` makes them again."""
    assert part(page) == MADE[page]()


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
    assert done.stdout.startswith("No ration for High yielders (62 head): see below. The other ")
    head = " ".join(done.stdout.split("\n\n")[:3])
    assert "High yielders (62 head): no ration exists." in head
    assert re.search(r"Short by: .*metabolisable energy [\d.]+ MJ", head)
    assert "Cost, GBP a head a day" in done.stdout
    assert re.search(r"Feed +Late +Dry cows", done.stdout)
    assert "At its limit there: dry matter intake is at its most (12 kg DM)" in " ".join(
        done.stdout.split()
    )
