"""What the winter cannot be: each is refused with its code, its place and what to do, and all
faults at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest
from farm_with_winter import WINTER_FARM

from rationlp.errors import InputError
from rationlp.read.farm import read_farm


class Bad(NamedTuple):
    """A piece of the valid farm, what it is replaced with, and what the finding must say."""

    old: str
    new: str
    code: str
    where: str
    words: str


OUTLET, MIX, GRASS = 'outlets[1] "digester"', 'mixes[1] "tub"', 'groups[1] "dry".grazing[1]'
GROUPS = 'groups = [{group = "dry", portion = 0.5}, "stores"]'
MONTH = 'periods = "month"'
CASES = {
    "outlet of an unknown store": Bad('stores = ["pit"]', 'stores = ["pitt"]', "IN180", OUTLET, 'nearest: "pit"'),
    "outlet of a bought feed": Bad('stores = ["pit"]', 'stores = ["barley"]', "IN180", OUTLET, 'no store "barley"'),
    "outlet without a store": Bad('stores = ["pit"]', "stores = []", "IN180", OUTLET, "without a store"),
    "store named twice": Bad('stores = ["pit"]', 'stores = ["pit", "pit"]', "IN180", OUTLET, "twice"),
    "outlet without a price": Bad("price_per_t_fresh = 30\n", "", "IN181", OUTLET, "no price"),
    "outlet of two prices": Bad(
        "price_per_t_fresh = 30\n", "price_per_t_fresh = 30\nprice_per_t_dm = 9\n", "IN181", OUTLET, "two prices"
    ),
    "negative price": Bad("price_per_t_fresh = 30", "price_per_t_fresh = -30", "IN113", OUTLET, "at least 0"),
    "least above most sold": Bad("least_t_fresh = 20", "least_t_fresh = 200", "IN117", OUTLET, "cannot pass"),
    "unknown key of an outlet": Bad("most_t_fresh", "most_t_fres", "IN110", OUTLET, 'nearest: "most_t_fresh"'),
    "outlet id twice": Bad(
        "[[bedding]]",
        '[[outlets]]\nid = "digester"\nstores = ["pit"]\nprice_per_t_fresh = 1\n[[bedding]]',
        "IN116",
        "outlets[2]",
        "appears twice",
    ),
    "bedding of an unknown store": Bad(
        'store = "straw"', 'store = "strw"', "IN182", "bedding[1].store", 'nearest: "straw"'
    ),
    "bedding of silage": Bad('store = "straw"', 'store = "pit"', "IN182", "bedding[1].store", "as bedding"),
    "bedding of an unknown group": Bad(
        'group = "dry"\nkg', 'group = "wet"\nkg', "IN182", "bedding[1].group", 'no group "wet"'
    ),
    "bedding twice": Bad(
        "[[mixes]]",
        '[[bedding]]\nstore = "straw"\ngroup = "dry"\nkg_fresh_per_head_day = 1\n[[mixes]]',
        "IN182",
        "bedding[2]",
        "appears twice",
    ),
    "bedding of nothing": Bad(
        "kg_fresh_per_head_day = 2.5", "kg_fresh_per_head_day = 0", "IN113", "kg_fresh", "above 0"
    ),
    "mix of an unknown group": Bad(GROUPS, 'groups = ["dry", "store"]', "IN183", MIX, 'nearest: "stores"'),
    "mix of one group": Bad(GROUPS, 'groups = ["dry"]', "IN183", MIX, "at least two"),
    "mix of nobody": Bad(GROUPS, "groups = []", "IN183", MIX, "at least two"),
    "group twice in a mix": Bad(GROUPS, 'groups = ["dry", "stores", "dry"]', "IN183", MIX, '"dry" appears twice'),
    "group in two mixes": Bad(
        "[[mixes]]",
        '[[mixes]]\nid = "other"\ngroups = ["stores", "dry"]\n[[mixes]]',
        "IN183",
        'mixes[2] "tub"',
        'the mix "other" already',
    ),
    "portion of nothing": Bad("portion = 0.5", "portion = 0", "IN113", MIX, "above 0"),
    "top-up that is not there": Bad('["barley"]', '["barly"]', "IN183", f"{MIX}.top_up", 'nearest: "barley"'),
    "leaves before it arrives": Bad("out = 2027-04-01", "out = 2026-11-10", "IN184", 'groups[1] "dry"', "is not after housed"),
    "housed after turnout": Bad("housed = 2026-11-15", "housed = 2027-11-15", "IN184", ".housed", "not fed"),
    "out before the winter": Bad("out = 2027-04-01", "out = 2026-04-01", "IN184", ".out", "not fed"),
    "a date in quotation marks": Bad("out = 2027-04-01", 'out = "2027-04-01"', "IN112", ".out", "a date like"),
    "grazing backwards": Bad("until = 2027-03-20", "until = 2027-03-01", "IN185", GRASS, "not after"),
    "grazing after turnout": Bad("until = 2027-03-20", "until = 2027-05-20", "IN185", GRASS, "within the winter"),
    "grazing after the group left": Bad("out = 2027-04-01", "out = 2027-03-12", "IN185", GRASS, "on which the group"),
    "grazing of an unknown feed": Bad(
        "grazed_grass_spring", "grazed_gras_spring", "IN119", GRASS, 'nearest: "grazed_grass_spring"'
    ),
    "grazing of meal": Bad('feed = "grazed_grass_spring"', 'feed = "barley"', "IN185", GRASS, "is not grazed"),
    "grazing of an unknown quantity": Bad("me_mj_per_kg_dm = 11.0", "me_mj = 11.0", "IN110", "analysis.me_mj", "me_mj"),
    "grazing of a figure that cannot be": Bad(
        "me_mj_per_kg_dm = 11.0", "me_mj_per_kg_dm = 110", "IN225", "analysis.me_mj", "MJ"
    ),
    "grazing of nothing": Bad("kg_dm_per_day = 3", "kg_dm_per_day = 0", "IN113", "kg_dm_per_day", "above 0"),
    "grazing twice": Bad(
        "[[groups]]\nid = \"stores\"",
        '[[groups.grazing]]\nfrom = 2027-03-19\nuntil = 2027-03-25\nkg_dm_per_day = 1\nfeed = "grazed_grass_spring"\n'
        '[[groups]]\nid = "stores"',
        "IN185",
        'groups[1] "dry".grazing[2]',
        "overlap",
    ),
    "a word that is no period": Bad(MONTH, 'periods = "fortnights"', "IN114", "winter.periods", 'nearest: "fortnight"'),
    "two kinds of periods": Bad(MONTH, f"{MONTH}\nperiod_days = 9", "IN186", "winter", "twice"),
    "periods that begin late": Bad(MONTH, "period_starts = [2026-11-08]", "IN186", "period_starts", "first day"),
    "periods out of order": Bad(
        MONTH, "period_starts = [2026-11-01, 2027-01-08, 2026-12-01]", "IN186", "period_starts", "in order"
    ),
    "a period after turnout": Bad(
        MONTH, "period_starts = [2026-11-01, 2027-04-20]", "IN186", "period_starts", "before turnout"
    ),
    "periods of no days": Bad(MONTH, "period_days = 0", "IN113", "period_days", "at least 1"),
    "whole loads of no size": Bad("load_t = 10\n", "", "IN187", 'bought[1] "barley"', "load_t"),
    "less than one load": Bad("most_t = 60", "most_t = 6", "IN187", 'bought[1] "barley"', "below a load"),
    "no room for a load": Bad("space_t = 15", "space_t = 9", "IN187", 'bought[1] "barley"', "would not go in"),
    "a load that keeps no time": Bad("keeps_days = 60", "keeps_days = 0", "IN113", "keeps_days", "above 0"),
    "milk that costs": Bad("milk_per_litre = 0.36", "milk_per_litre = -1", "IN113", "milk_per_litre", "at least 0"),
}  # fmt: skip


def read(folder: Path, text: str) -> list[str]:
    """The findings of a farm that cannot be read."""
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as trouble:
        read_farm(folder)
    assert all(
        finding.where.startswith("farm.toml") and finding.remedy
        for finding in trouble.value.findings
    )
    return [f"{finding.code} {finding}" for finding in trouble.value.findings]


@pytest.mark.parametrize("case", CASES)
def test_a_bad_winter_is_refused(case: str, tmp_path: Path) -> None:
    """Code, place and words, and nothing of another code is blamed."""
    bad = CASES[case]
    assert WINTER_FARM.count(bad.old) >= 1
    found = read(tmp_path, WINTER_FARM.replace(bad.old, bad.new, 1))
    assert {line[:5] for line in found} == {bad.code}, found
    assert [line for line in found if bad.where in line and bad.words in line], found


def test_all_faults_at_once(tmp_path: Path) -> None:
    """One in each kind of table: all are said."""
    text = WINTER_FARM
    for name in (
        "outlet without a price",
        "bedding of silage",
        "mix of one group",
        "no room for a load",
    ):
        text = text.replace(CASES[name].old, CASES[name].new, 1)
    assert sorted(line[:5] for line in read(tmp_path, text)) == ["IN181", "IN182", "IN183", "IN187"]


def test_wrong_dates_of_the_winter_are_said_once(tmp_path: Path) -> None:
    """Days of groups, grazing and periods are not judged against a winter that is wrong itself."""
    found = read(tmp_path, WINTER_FARM.replace("turnout = 2027-04-20", "turnout = 2026-04-20", 1))
    assert [line[:5] for line in found] == ["IN130"]
