"""Mutated farm folders: whatever a person or a spreadsheet does to the files, there is an answer or
a list of findings.

Hypothesis draws the mutations. RATIONLP_FULL=1 runs two thousand mutated farms, plain pytest a
tenth.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from math import isfinite
from pathlib import Path

import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st

from rationlp.errors import InputError, RationError
from rationlp.folders import examples_folder
from rationlp.model.fed import fed_supply
from rationlp.model.ration import make_blocks, solve_rations
from rationlp.read.farm import read_farm
from rationlp.read.fed import read_fed

FULL = os.environ.get("RATIONLP_FULL") == "1"
BATCHES = 8
EACH = 250 if FULL else 25
SOLVED_OF = 6

FILES = {
    path.name: path.read_text(encoding="utf-8")
    for path in sorted((examples_folder() / "dairy").iterdir())
} | {
    "feeds.csv": "key,name,kind,dm_g_per_kg,me_mj_per_kg_dm\n"
    "barley,,,870,13.1\nmash,Mash,cereal,880,12.8\n",
    "prices.csv": "feed,price_per_t_fresh,most_t\nbarley,201,40\nwheat,214,\n",
}  # fmt: skip
VALUES = [
    "0", "-1", "-0.0", "1e400", "nan", "inf", "-inf", "1e-300", "999999999999", "0.34", "340",
    "34", "true", "false", "[]",
    "{}", "[1, 2]", "{a = 1}", '""', '"x"', "'", '"', "2026-02-30", "2026-10-15", "12:30:00",
    "2026-10-15T10:00:00Z", "1,5",
    "1.234,5", "\u00bd", "\u0660", "NaN", "None", '"\\u0000"', '"' + "a" * 500 + '"', "0x10",
    "1_000", "+5", "--5", "",
]  # fmt: skip


def mutate_line(draw: st.DrawFn, text: str) -> str:
    """One line deleted, doubled, swapped, cut, or given another value or key."""
    lines = text.split("\n")
    number = draw(st.integers(0, len(lines) - 1))
    line = lines[number]
    kind = draw(
        st.sampled_from(
            ["delete", "double", "swap", "cut", "value", "value", "value", "key", "insert"]
        )
    )
    if kind == "delete":
        del lines[number]
    elif kind == "double":
        lines.insert(number, line)
    elif kind == "swap":
        other = draw(st.integers(0, len(lines) - 1))
        lines[number], lines[other] = lines[other], line
    elif kind == "cut":
        lines[number] = line[: draw(st.integers(0, max(len(line), 1)))]
    elif kind == "insert":
        lines.insert(number, draw(st.text(max_size=20)))
    else:
        lines[number] = _other(draw, line, kind)
    return "\n".join(lines)


def _other(draw: st.DrawFn, line: str, kind: str) -> str:
    """A line with another value (or key), whether it is `key = value` or cells between commas."""
    value = draw(st.one_of(st.sampled_from(VALUES), st.floats(-1e6, 1e6).map(str)))
    if " = " in line:
        key, _, old = line.partition(" = ")
        return (
            f"{key} = {value}"
            if kind == "value"
            else f"{draw(st.sampled_from(['x', key + 's', key[:-1]]))} = {old}"
        )
    cells = line.split(",")
    cells[draw(st.integers(0, len(cells) - 1))] = value
    return ",".join(cells)


ENCODINGS: list[Callable[[str], bytes]] = [
    lambda text: text.encode("utf-8", "replace"),
    lambda text: text.encode("utf-8-sig", "replace"),
    lambda text: text.replace("\n", "\r\n").encode("utf-8", "replace"),
    lambda text: (text + "\n# gr\u00fcn").encode("latin-1", "replace"),
    lambda text: text.replace(",", ";").encode("utf-8", "replace"),
    lambda text: text.encode("utf-16", "replace"),
    lambda text: text.encode("utf-8", "replace") + b"\x00\xff",
    lambda text: text.encode("utf-8", "replace")[: len(text) // 2],
    lambda text: b"",
]


@st.composite
def folders(draw: st.DrawFn) -> dict[str, bytes]:
    """The files of a farm with one to four mutations, now and then in another encoding or
    missing.
    """
    texts = dict(FILES)
    for name in ("feeds.csv", "prices.csv", "lab.csv"):
        if draw(st.integers(0, 3)) == 0:
            del texts[name]
    for _ in range(draw(st.integers(1, 4))):
        name = draw(st.sampled_from(["farm.toml", "farm.toml", *texts]))
        texts[name] = mutate_line(draw, texts[name])
    data = {name: text.encode("utf-8", "replace") for name, text in texts.items()}
    if draw(st.integers(0, 4)) == 0:
        name = draw(st.sampled_from(sorted(data)))
        data[name] = draw(st.sampled_from(ENCODINGS))(texts[name])
    return data


def check_findings(error: InputError) -> None:
    """At least one finding; each has a code, a place, what was found and a remedy, on one line."""
    assert error.findings
    for finding in error.findings:
        assert finding.code[:2] in ("IN", "WA", "PA")
        assert all(words.strip() for words in (finding.where, finding.found, finding.remedy))
        assert "\n" not in str(finding), repr(str(finding))


def run(files: dict[str, bytes], solve: bool) -> str:
    """Read, build and perhaps solve a folder of files; how it ended. Anything but our own errors
    fails the test.
    """
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        for name, data in files.items():
            (folder / name).write_bytes(data)
        try:
            farm = read_farm(folder)
            make_blocks(farm)
            if "fed.csv" in files:
                fed_supply(farm, read_fed(folder / "fed.csv", farm))
            if solve:
                for group in solve_rations(farm).groups:
                    assert group.proof is None or group.proof.passed
                    assert all(
                        isfinite(amount.kg_fresh) and amount.kg_fresh >= 0.0
                        for amount in group.amounts
                    )
                    assert group.feed_cost is None or isfinite(group.feed_cost)
        except InputError as trouble:
            check_findings(trouble)
            return "input"
        except RationError:
            return "trouble"
        return "answer"


@pytest.mark.parametrize("batch", range(BATCHES))
def test_a_mutated_farm_never_gives_a_traceback(batch: int) -> None:
    """Every mutated folder ends in an answer or in findings; both kinds of end are met."""
    ends: set[str] = set()
    count = 0

    # A seed of its own for each batch: drawn by the test's name alone, all batches would be the
    # same.
    @seed(20261125 + batch)
    @settings(max_examples=EACH, derandomize=False, database=None)
    @given(files=folders())
    def one(files: dict[str, bytes]) -> None:
        nonlocal count
        count += 1
        ends.add(run(files, solve=count % SOLVED_OF == 0))

    one()
    assert "input" in ends
    assert "trouble" not in ends
    assert count >= EACH // 2


def test_the_unspoilt_farm_gives_an_answer() -> None:
    """The folder that the mutations begin with is good."""
    assert run({name: text.encode() for name, text in FILES.items()}, solve=True) == "answer"
