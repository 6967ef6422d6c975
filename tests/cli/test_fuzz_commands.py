"""Spoilt farms through all commands: an answer, or findings with code, place and remedy; never a
traceback, never exit 1.

Plain pytest runs a hundred, RATIONLP_FULL=1 a thousand, RATIONLP_FUZZ=20000 as many as it says;
RATIONLP_FUZZ_SEED moves the seeds. The seed and the words of a command that fails are printed.
"""

from __future__ import annotations

import io
import os
import random
import re
import tempfile
from pathlib import Path

import pytest
from spoilt_farms import spoilt_book, spoilt_folder, spoilt_text
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.folders import examples_folder
from rationlp.report.workbook_form import write_farm_workbook

USUAL = 1000 if os.environ.get("RATIONLP_FULL") == "1" else 100
COUNT = int(os.environ.get("RATIONLP_FUZZ", USUAL))
FIRST_SEED = int(os.environ.get("RATIONLP_FUZZ_SEED", 20_261_128))
BATCHES = 10 if COUNT <= 1000 else 100
FARM = examples_folder() / "few"
TEXTS = {
    path.name: path.read_text(encoding="utf-8")
    for path in sorted(FARM.iterdir())
    if path.suffix in (".toml", ".csv")
} | {
    "feeds.csv": "key,name,kind,dm_g_per_kg,me_mj_per_kg_dm\n"
    "barley,,,870,13.1\nmash,Mash,cereal,880,12.8\n",
    "prices.csv": "feed,price_per_t_fresh,most_t\nbarley,201,40\nwheat,214,\n",
}  # fmt: skip
FED = "group,feed,kg_fresh\ncows,clamp,30\ncows,barley,1\n"
SCENARIOS = '[[scenarios]]\nname = "dear"\nset = ["barley.price_per_t_fresh+=20%", "cows.head=9"]\n'
QUICK = [
    "check",
    "check --figures",
    "needs",
    "needs --over-winter",
    "needs --compare",
    "clamp",
    "ration",
    "sheet",
    "supply",
]
SLOW = [
    "last", "winter", "winter --since {plan}", "report --output {out}.html", "worth", "grow",
    "whatif --scenarios {scenarios}",
    "sure --draws 2 --cores 1", "switch --from clamp --to straw", "new --workbook {out}.xlsx",
    "ration --explain", "promise --less soya", "manure",
    "sheet --record",
]  # fmt: skip
FINDING = re.compile(r"(IN|WA|PA)\d{3} \S.* — .* — .*\S")
USAGE = (
    "Usage:",
    "Error",
    "Try ",
    "Note: ",
    "Next: ",
    "Written: ",
    "Nothing was written.",
    "No answer: ",
)


@pytest.fixture(scope="module")
def book() -> bytes:
    """A good workbook."""
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / "farm.xlsx"
        write_farm_workbook(path, FARM)
        return path.read_bytes()


def words_of(chance: random.Random, farm: Path, scratch: Path) -> list[str]:
    """A command with its options, the farm in its place."""
    line = chance.choice(QUICK if chance.random() < 0.85 else SLOW)
    places = {
        "out": scratch / "out",
        "plan": scratch / "plan.json",
        "scenarios": scratch / "scenarios.toml",
    }
    name, *options = line.format(**{key: str(path) for key, path in places.items()}).split()
    (scratch / "plan.json").write_text(
        spoilt_text(chance, '{"kind": "winter",\n"periods": [],\n"stocks": [],\n"stores": []}')
    )
    (scratch / "scenarios.toml").write_bytes(
        spoilt_text(chance, SCENARIOS).encode("utf-8", "replace")
    )
    (scratch / "fed.csv").write_bytes(spoilt_text(chance, FED).encode("utf-8", "replace"))
    if name == "new":
        return [name, *options, "--from", str(farm)]
    fed = [str(scratch / "fed.csv")] if name == "supply" else []
    form = (
        chance.choice([[], [], ["--format", "json"], ["--format", "csv"]])
        if name != "report"
        else []
    )
    return [name, str(farm), *fed, *options, *form]


def spoil_and_run(seed: int, book: bytes) -> int:
    """One spoilt farm through one command; gives the exit code."""
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        scratch = Path(folder)
        if chance.random() < 0.25:
            farm = spoilt_book(chance, book, scratch / "farm.xlsx")
        else:
            farm = spoilt_folder(chance, TEXTS, scratch / "farm")
        words = words_of(chance, farm, scratch)
        result = CliRunner(env={"COLUMNS": "80"}).invoke(app, words)
    told = f"seed {seed}: rationlp {' '.join(words)}\n{result.stderr[-2000:]}"
    assert result.exception is None or isinstance(result.exception, SystemExit), (
        f"{told}{result.exception!r}"
    )
    assert result.exit_code in (0, 2, 3), told
    check_lines(result.stderr, result.exit_code, told)
    if result.exit_code == 2:
        assert result.stdout == "", told
    return result.exit_code


def check_lines(text: str, exit_code: int, told: str) -> None:
    """Every line is a finding, or talk that is known; none steers a terminal or goes on without
    end.
    """
    lines = list(io.StringIO(text))
    assert all(sign.isprintable() or sign == "\n" for sign in text), told
    assert max(map(len, lines), default=0) < 4000, told
    if exit_code == 2:
        findings = [line for line in lines if FINDING.match(line)]
        assert findings, told
        assert all(FINDING.match(line) or line.startswith(USAGE) for line in lines), told


@pytest.mark.parametrize("batch", range(BATCHES))
def test_a_spoilt_farm_ends_in_an_answer_or_in_findings(batch: int, book: bytes) -> None:
    """Whatever the command."""
    each = COUNT // BATCHES
    first = FIRST_SEED + batch * each
    ends = [spoil_and_run(seed, book) for seed in range(first, first + each)]
    assert 2 in ends
