"""The [feeding] table and a group's own: read, laid over each other, and what is wrong with
them.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from farms import FARM, changed, write_farm

from rationlp.errors import Finding, InputError
from rationlp.farm.group import Feeding
from rationlp.read.farm import read_farm

GROUP = '[[groups]]\nid = "cows"'
WAGON = '\n[feeding]\nwagon = "vertical"\ntub_m3 = 12\n'


def findings(folder: Path, text: str) -> tuple[Finding, ...]:
    """What is wrong with a farm text."""
    with pytest.raises(InputError) as trouble:
        read_farm(write_farm(folder / "farm", text))
    return tuple(trouble.value.findings)


def test_a_farm_that_says_nothing_feeds_without_a_wagon(tmp_path: Path) -> None:
    """No wagon, no refusals, and no group with a way of its own."""
    farm = read_farm(write_farm(tmp_path / "farm", FARM))
    assert farm.feeding == Feeding("none", None, 5.0, 0.0, None, None)
    assert {group.feeding for group in farm.groups} == {None}


def test_a_group_changes_single_keys_of_the_farms_way(tmp_path: Path) -> None:
    """The tub and the wagon stay the farm's, the refusals are the group's."""
    text = FARM.replace(GROUP, f"{GROUP}\nfeeding = {{ refusals = 0.04 }}", 1) + WAGON
    farm = read_farm(write_farm(tmp_path / "farm", text))
    assert farm.feeding == Feeding("vertical", 12.0)
    assert farm.groups[0].feeding == Feeding("vertical", 12.0, 5.0, 0.04)


BAD = {
    "unknown key": (FARM + WAGON + "tub = 3\n", "IN110", "feeding.tub", "tub_m3"),
    "unknown word": (
        FARM + '\n[feeding]\nwagon = "vertcal"\n',
        "IN114",
        "feeding.wagon",
        "vertical",
    ),
    "a tub like a bucket": (
        FARM + WAGON.replace("12", "0.2"),
        "IN113",
        "feeding.tub_m3",
        "at least 1",
    ),
    "refusals in per cent": (
        FARM + WAGON + "refusals = 3.0\n",
        "IN113",
        "feeding.refusals",
        "at most 0.25",
    ),
    "half a load": (
        FARM + WAGON + "loads_per_day = 1.5\n",
        "IN112",
        "feeding.loads_per_day",
        "whole number",
    ),
    "no load": (
        FARM + WAGON + "loads_per_day = 0\n",
        "IN113",
        "feeding.loads_per_day",
        "at least 1",
    ),
    "a wagon without a tub": (
        FARM + '\n[feeding]\nwagon = "vertical"\n',
        "IN111",
        "feeding.tub_m3",
        "m3",
    ),
    "a tub without a wagon": (
        FARM + "\n[feeding]\ntub_m3 = 12\n",
        "IN134",
        "feeding",
        "leave them out",
    ),
    "a group's wagon without a tub": (
        changed(GROUP, f'{GROUP}\nfeeding = {{ wagon = "horizontal" }}'),
        "IN111",
        '"cows".feeding.tub_m3',
        "m3",
    ),
    "a group's unknown key": (
        changed(GROUP, f"{GROUP}\nfeeding = {{ refusal = 0.03 }}"),
        "IN110",
        "feeding.refusal",
        "refusals",
    ),
    "one word for a table": (
        changed(GROUP, f'{GROUP}\nfeeding = "vertical"'),
        "IN112",
        ".feeding",
        "table",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_a_spoilt_feeding_table(case: str, tmp_path: Path) -> None:
    """One line: code, place, remedy."""
    text, code, where, remedy = BAD[case]
    found = findings(tmp_path, text)
    assert [one.code for one in found] == [code]
    assert where in found[0].where
    assert remedy in found[0].remedy


@pytest.mark.parametrize("sign", ["\\u001b[2J", "\\n", "\\u202e", "\\u2066", "\\u0085"])
def test_a_name_with_control_signs_is_refused(sign: str, tmp_path: Path) -> None:
    """Signs that clear a screen, break a line or turn the direction of what follows are no part of
    a name.
    """
    found = findings(tmp_path, changed(GROUP, f'{GROUP}\nname = "Cows{sign}in milk"'))
    assert [one.code for one in found] == ["IN114"]
    assert "control signs" in found[0].remedy


@pytest.mark.parametrize("name", ["عجول الشتاء", "🐄 milkers", "<b>Cows</b>", "=HYPERLINK(1)"])
def test_a_name_in_any_script_is_a_name(name: str, tmp_path: Path) -> None:
    """Right-to-left letters, emoji and signs of other languages are kept as they are."""
    farm = read_farm(
        write_farm(tmp_path / "farm", FARM.replace(GROUP, f'{GROUP}\nname = "{name}"', 1))
    )
    assert farm.groups[0].name == name
