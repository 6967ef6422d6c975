"""What can be done later in the winter, as read from farm.toml and from a workbook."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from farm_with_winter import WINTER_FARM

from rationlp.chances.winters import stage_days
from rationlp.errors import InputError
from rationlp.farm.later import EarlySale, LaterActions, LaterPrice
from rationlp.read.farm import read_farm
from rationlp.report.workbook_form import write_farm_workbook

LATER = """
[[later]]
feed = "barley"
turn_of_year_per_t_fresh = 215.0
late_winter_per_t_fresh = 230.0
contract_per_t_fresh = 209.0
contract_most_t = 40.0
lead_days = 10
contract_resold_per_t_fresh = 160.0
[[early_sales]]
group = "sold"
turn_of_year_per_head = 700.0
turnout_per_head = 900.0
most_head = 10
[[early_grass]]
feed = "grazed_grass_spring"
groups = ["sold"]
most_t_dm = 12.0
cost_per_t_dm = 230.0
analysis = {me_mj_per_kg_dm = 11.0}
[[groups]]
id = "sold"
class = "growing_cattle"
head = 30
live_weight_kg = 300
gain_kg_per_day = 0.7
sex = "steer"
maturity = "medium"
"""
FARM = WINTER_FARM + LATER


def _read(folder: Path, text: str) -> LaterActions:
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    return read_farm(folder).later


def test_every_figure_is_read(tmp_path: Path) -> None:
    """Prices by stage, a contract, animals and grass; what is left out is none."""
    later = _read(tmp_path, FARM)
    assert later.price("barley") == LaterPrice("barley", 215.0, 230.0, None, 209.0, 40.0, 160.0, 10)
    assert later.price("pit") == LaterPrice("pit")
    assert later.sales == (EarlySale("sold", (None, 700.0, None), 900.0, 10),)
    (grass,) = later.grass
    assert (grass.groups, grass.most_t_dm, grass.cost_per_t_dm) == (("sold",), 12.0, 230.0)
    assert grass.feed.value("me_mj_per_kg_dm") == 11.0


def test_a_farm_that_says_nothing_can_do_nothing(tmp_path: Path) -> None:
    """Off until the farm gives its figure."""
    assert _read(tmp_path, WINTER_FARM) == LaterActions()


CASES = {
    "unknown feed": ('feed = "barley"\nturn', 'feed = "barly"\nturn', "IN189", 'nearest: "barley"'),
    "a store": ('feed = "barley"\nturn', 'feed = "pit"\nturn', "IN189", 'no bought feed "pit"'),
    "no contract": ("contract_per_t_fresh = 209.0\n", "", "IN189", "without a price"),
    "resold above": ("resold_per_t_fresh = 160.0", "resold_per_t_fresh = 260.0", "IN189", "260"),
    "negative": ("late_winter_per_t_fresh = 2", "late_winter_per_t_fresh = -2", "IN113", "-2"),
    "unknown key": ("contract_most_t", "contract_most_tt", "IN110", 'nearest: "contract_most_t"'),
    "unknown group": ('group = "sold"', 'group = "solt"', "IN189", 'nearest: "sold"'),
    "in a mix": ('group = "sold"', 'group = "stores"', "IN189", "gets a mix"),
    "too many": ("most_head = 10", "most_head = 31", "IN189", "above 30 head"),
    "no price": ("turn_of_year_per_head = 700.0\n", "", "IN189", "no price of a sale"),
    "not worth keeping": ("turnout_per_head = 900.0\n", "", "IN111", "turnout_per_head"),
    "grass for nobody": ('groups = ["sold"]', "groups = []", "IN189", "for no group"),
    "grass for strangers": ('groups = ["sold"]', 'groups = ["sod"]', "IN189", 'no group "sod"'),
    "no grass": (
        'feed = "grazed_grass_spring"\ngroups', 'feed = "barley"\ngroups', "IN185", "not grazed"
    ),
    "no tonnes": ("most_t_dm = 12.0", "most_t_dm = 0.0", "IN113", "above 0"),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_a_bad_action_is_refused(case: str, tmp_path: Path) -> None:
    """By its code, with words and a remedy, and nothing else is blamed."""
    old, new, code, words = CASES[case]
    assert FARM.count(old) == 1
    with pytest.raises(InputError) as refused:
        _read(tmp_path, FARM.replace(old, new))
    told = [finding for finding in refused.value.findings if words in str(finding)]
    assert {finding.code for finding in refused.value.findings} == {code}
    assert told
    assert all(finding.remedy for finding in told)


def test_a_feed_or_group_twice_and_ewes_are_refused(tmp_path: Path) -> None:
    """One entry each; ewes that lamb in the winter are not sold early."""
    lambs = FARM.replace(
        '[[groups]]\nid = "sold"\nclass = "growing_cattle"\nhead = 30\nlive_weight_kg = 300\n'
        'gain_kg_per_day = 0.7\nsex = "steer"\nmaturity = "medium"\n',
        '[[groups]]\nid = "sold"\nclass = "ewe"\nhead = 30\nlive_weight_kg = 75\nlambs = 2\n'
        "lambing = 2027-03-20\n",
    )
    later = '[[later]]\nfeed = "barley"\n'
    sale = '[[early_sales]]\ngroup = "sold"\nnow_per_head = 1.0\nturnout_per_head = 2.0\n'
    for text, words in ((FARM + later, "twice"), (FARM + sale, "twice"), (lambs, "lambs in the")):
        with pytest.raises(InputError) as refused:
            _read(tmp_path, text)
        assert any(one.code == "IN189" and words in str(one) for one in refused.value.findings)


def test_a_workbook_says_the_same(tmp_path: Path) -> None:
    """The three sheets of a workbook made from this farm, read back."""
    folder = tmp_path / "farm"
    folder.mkdir()
    sold = '[[groups]]\nid = "sold"'
    text = FARM.replace(f"analysis = {{me_mj_per_kg_dm = 11.0}}\n{sold}", sold)
    there = _read(folder, text)
    write_farm_workbook(tmp_path / "farm.xlsx", folder)
    here = read_farm(tmp_path / "farm.xlsx").later
    assert here.prices == there.prices
    assert here.sales == there.sales
    assert [(one.groups, one.most_t_dm, one.cost_per_t_dm) for one in here.grass] == [
        (one.groups, one.most_t_dm, one.cost_per_t_dm) for one in there.grass
    ]


def test_the_farms_own_days_of_looking(tmp_path: Path) -> None:
    """Two days within the winter begin its stages; once the first is past the rest is halved; one
    day, three, or days out of order or of the winter are refused.
    """
    turnout = "turnout = 2027-04-20\n"
    own = FARM.replace(turnout, f"{turnout}look_days = [2026-12-10, 2027-02-20]\n", 1)
    later = _read(tmp_path, own)
    assert later.looks == (date(2026, 12, 10), date(2027, 2, 20))
    farm = read_farm(tmp_path)
    assert stage_days(farm, farm.start) == (farm.start, *later.looks)
    january = date(2027, 1, 11)
    assert stage_days(farm, january) == (january, date(2027, 1, 31), date(2027, 2, 20))
    for days in (
        "2026-12-10",
        "2026-12-10, 2027-01-10, 2027-02-10",
        "2027-02-20, 2026-12-10",
        "2026-10-20, 2027-02-20",
        "2026-12-10, 2027-04-20",
    ):
        with pytest.raises(InputError) as refused:
            _read(tmp_path, FARM.replace(turnout, f"{turnout}look_days = [{days}]\n", 1))
        assert {finding.code for finding in refused.value.findings} == {"IN189"}
