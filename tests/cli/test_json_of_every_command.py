"""Every kind of answer as JSON keeps to the schema, by the commands on the examples."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from schema_check import against_schema
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.folders import examples_folder
from rationlp.report.json_answer import KINDS

LAST_YEAR = "--store hay --thought 33 --had 30"
COMMANDS = {
    "check": "check few",
    "clamp": "clamp few",
    "last_year": f"clamp dairy {LAST_YEAR}",
    "feeds": "feeds list --kind straw",
    "grow": "grow dairy",
    "last": "last few",
    "log": "log few",
    "manure": "manure few",
    "needs": "needs few --show-working",
    "needs_over_winter": "needs few --over-winter",
    "promise": "promise few --most meal=1",
    "promise_winter": "promise few --winter --less soya --most soya=0",
    "ration": "ration few --explain --show-rows",
    "record": "sheet few --record",
    "sheet": "sheet few",
    "standards": "ration few --compare-standards",
    "supply": "supply few",
    "sure_rations": "sure dairy --group dry",
    "sure_winter": "sure few --draws 2 --cores 1",
    "switch": "switch few",
    "switch_winter": "switch few --by tonnes",
    "what_if": "whatif few --set barley.price_per_t_fresh=240 --cores 1",
    "winter": "winter few --explain",
    "winter_standards": "winter few --compare-standards",
    "worth": "worth few",
}
MORE = [
    ("ration", "ration short --explain"),
    ("winter", "winter short --explain"),
    ("needs", "needs few --compare"),
]


def test_every_kind_is_looked_at() -> None:
    """No kind of answer without a command below."""
    assert COMMANDS.keys() == KINDS.keys()


@pytest.mark.parametrize(("kind", "words"), [*COMMANDS.items(), *MORE], ids=lambda word: word)
def test_json_keeps_to_the_schema(kind: str, words: str) -> None:
    """Of its kind, every key known, no key missing, no path of the machine; exit code 3 has its
    answer too.
    """
    result = CliRunner().invoke(app, [*_arguments(words), "--format", "json"])
    assert result.exit_code in (0, 3), result.output
    assert str(examples_folder()) not in result.stdout
    document = json.loads(result.stdout)
    assert document["kind"] == kind
    assert against_schema(document) == []


def _arguments(words: str) -> Iterator[str]:
    """The words of a command, an example in place of its name."""
    for word in words.split():
        folder = examples_folder() / word
        yield str(folder) if folder.is_dir() else word
