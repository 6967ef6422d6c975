"""What a farm says of its stores, spoilt: each fault gives one line with its code, place and
remedy.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from farms import changed, write_farm

from rationlp.errors import InputError
from rationlp.model.ration import make_blocks
from rationlp.read.farm import read_farm

PIT = "height_m = 2.5\n"
STRAW = "weight_kg = 400\n"
BAD: dict[str, tuple[str, str, str, str]] = {
    "an unknown sign": (
        changed(PIT, f'{PIT}seen = ["mold"]\n'),
        "IN114",
        '"pit".seen[1]',
        '"mould"',
    ),
    "a sign that is far from any": (
        changed(PIT, f'{PIT}seen = ["xyz"]\n'),
        "IN114",
        '"pit".seen[1]',
        "ragwort",
    ),
    "one word for a list": (
        changed(PIT, f'{PIT}seen = "mould"\n'),
        "IN112",
        '"pit".seen',
        "square brackets",
    ),
    "a number among the signs": (
        changed(PIT, f'{PIT}seen = ["soil", 3]\n'),
        "IN114",
        '"pit".seen[2]',
        "soil",
    ),
    "a sign twice": (
        changed(PIT, f'{PIT}seen = ["soil", "soil"]\n'),
        "IN139",
        '"pit".seen',
        "keep one",
    ),
    "a temperature as text": (
        changed(STRAW, f'{STRAW}core_temperature_c = "55"\n'),
        "IN112",
        '"straw".core_temperature_c',
        "number",
    ),
    "a temperature of no stack": (
        changed(STRAW, f"{STRAW}core_temperature_c = 800\n"),
        "IN113",
        '"straw".core_temperature_c',
        "500",
    ),
    "a temperature that is not finite": (
        changed(STRAW, f"{STRAW}core_temperature_c = nan\n"),
        "IN113",
        '"straw".core_temperature_c',
        "number",
    ),
    "a temperature of a clamp": (
        changed(PIT, f"{PIT}core_temperature_c = 40\n"),
        "IN138",
        '"pit".core_temperature_c',
        "bales, stack, plain",
    ),
    "a reach in cm": (
        changed(PIT, f"{PIT}machine_reach_m = 400\n"),
        "IN113",
        '"pit".machine_reach_m',
        "15",
    ),
    "a reach of nought": (
        changed(PIT, f"{PIT}machine_reach_m = 0\n"),
        "IN113",
        '"pit".machine_reach_m',
        "1",
    ),
    "a reach at bales": (
        changed(STRAW, f"{STRAW}machine_reach_m = 4\n"),
        "IN138",
        '"straw".machine_reach_m',
        "clamp",
    ),
    "a misspelt key": (
        changed(STRAW, f"{STRAW}core_temperature = 40\n"),
        "IN110",
        '"straw".core_temperature',
        "core_temperature_c",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_a_fault_is_one_line_with_its_place_and_remedy(name: str, tmp_path: Path) -> None:
    """Code, place, remedy, and nothing else is complained of."""
    text, code, where, remedy = BAD[name]
    with pytest.raises(InputError) as trouble:
        read_farm(write_farm(tmp_path / "farm", text))
    [finding] = trouble.value.findings
    assert finding.code == code
    assert where in finding.where
    assert remedy in finding.remedy


def test_what_was_seen_and_measured_is_handed_on(tmp_path: Path) -> None:
    """Good input: signs, core temperature and reach stand on their stores."""
    text = changed(PIT, f'{PIT}seen = ["soil", "mould"]\nmachine_reach_m = 3.5\n')
    text = text.replace(STRAW, f"{STRAW}core_temperature_c = 41.5\n", 1)
    pit, straw = read_farm(write_farm(tmp_path / "farm", text)).stores
    assert (pit.seen, pit.machine_reach_m, straw.core_temperature_c) == (
        ("soil", "mould"),
        3.5,
        41.5,
    )


def test_a_floor_under_a_feed_kept_away_is_refused(tmp_path: Path) -> None:
    """Hay with ragwort that a group is to get all the same: a limit that is there for safety."""
    text = changed(PIT, f'{PIT}seen = ["ragwort"]\n').replace(
        'feed = "barley"\nmax_kg_fresh', 'feed = "pit"\nmin_kg_fresh', 1
    )
    with pytest.raises(InputError, match=r'IN503 group "cows", feed_limits "pit".*ragwort'):
        make_blocks(read_farm(write_farm(tmp_path / "farm", text)), ["cows"])


def test_a_group_left_with_nothing_is_told_which_cautions_did_it(tmp_path: Path) -> None:
    """Sucklers who get nothing but a clamp with litter-field silage."""
    text = (
        changed(PIT, f'{PIT}seen = ["litter_field"]\n')
        + 'barred = ["straw", "barley", "soya_meal_48"]\n'
    )
    with pytest.raises(InputError, match=r'IN505 group "sucklers".*litter_field'):
        make_blocks(read_farm(write_farm(tmp_path / "farm", text)), ["sucklers"])
