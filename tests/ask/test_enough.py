"""Single changes that would be enough for a winter that cannot be fed: each typed into the farm,
and a step less of each.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

from rationlp.ask.enough import SingleChange, _Case, _gains, _whole_groups, enough_changes
from rationlp.folders import examples_folder
from rationlp.planned import WinterPlan
from rationlp.read.changed import begin, changed, parse_change
from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

OPTIONS = WinterOptions(faces="course", prove=False, tidy=False, shortage=False)
MOST = {
    "silage_bought": 5,
    "straw_bought": 1,
    "soya_hulls": 0.5,
    "barley": 1,
    "rapeseed_meal_extracted": 4,
}
LIMITED = [f"{name}.most_t={t}" for name, t in MOST.items()]


@lru_cache(maxsize=1)
def found() -> dict[tuple[str, str], SingleChange]:
    """The changes for the example short of forage when hardly anything can be bought."""
    farm = changed(begin(examples_folder() / "short"), [parse_change(one) for one in LIMITED]).farm
    plan = solve_winter(farm, OPTIONS)
    assert plan.proof is None
    short = {one.group for one in plan.shortfalls}
    assert "weanlings" in short
    return {(one.kind, one.subject): one for one in enough_changes(farm, short, farm_stocks(farm))}


def typed(*settings: str) -> WinterPlan:
    """The plan of the farm with other settings typed over it."""
    named = {one.split("=")[0] for one in settings}
    kept = [one for one in LIMITED if one.split("=")[0] not in named]
    farm = changed(
        begin(examples_folder() / "short"), [parse_change(one) for one in (*kept, *settings)]
    )
    return solve_winter(farm.farm, OPTIONS, farm.stocks)


@pytest.mark.parametrize("feed", ["silage_bought", "barley"])
def test_so_much_bought_is_enough_and_a_tonne_less_is_not(feed: str) -> None:
    """The limit raised to the tonnes said lets the winter be fed, at the cost said."""
    one = found()["buy", feed]
    plan = typed(f"{feed}.most_t={one.amount}")
    assert plan.cost == pytest.approx(one.cost, rel=1e-6)
    assert typed(f"{feed}.most_t={one.amount - 1.0}").proof is None


@pytest.mark.parametrize("group", ["cows", "weanlings"])
def test_so_many_fewer_head_are_enough_and_one_less_is_not(group: str) -> None:
    """The head of the group as said, and one more than that."""
    one = found()["head", group]
    plan = typed(f"{group}.head-={one.amount:.0f}")
    assert plan.cost == pytest.approx(one.cost, rel=1e-6)
    assert typed(f"{group}.head-={one.amount - 1.0:.0f}").proof is None


def test_so_much_less_gain_of_store_cattle_is_enough_and_a_step_more_is_not() -> None:
    """With some bales to buy, but too few: the gain told, typed, and 50 g a day more. Cattle that
    are finished are told of where they are short themselves.
    """
    some = "silage_bought.most_t=40"
    farm = changed(
        begin(examples_folder() / "short"), [parse_change(one) for one in (*LIMITED[1:], some)]
    )
    (one,) = _gains(_Case(farm.farm, None, farm.stocks), frozenset())
    assert one.subject == "weanlings"
    assert "kg lighter at turnout" in one.words
    plan = typed(some, f"weanlings.gain_kg_per_day-={one.amount}")
    assert plan.cost == pytest.approx(one.cost, rel=1e-6)
    assert typed(some, f"weanlings.gain_kg_per_day-={one.amount - 0.05}").proof is None
    finished = replace(
        farm.farm,
        groups=tuple(replace(group, animal_class="finishing_cattle") for group in farm.farm.groups),
    )
    assert not list(_gains(_Case(finished, None, farm.stocks), frozenset()))


def test_whole_numbers_feed_what_a_course_feeds_no_dearer() -> None:
    """`winter` itself, with the tonnes said: its search over whole numbers has the course too."""
    one = found()["buy", "silage_bought"]
    farm = changed(
        begin(examples_folder() / "short"),
        [parse_change(f"silage_bought.most_t={one.amount}"), *map(parse_change, LIMITED[1:])],
    )
    plan = solve_winter(farm.farm, replace(OPTIONS, faces="auto"), farm.stocks)
    assert plan.feeds_all
    assert plan.cost is not None
    assert one.cost is not None
    assert plan.cost <= one.cost * (1.0 + 1e-3)


def test_so_much_more_in_store_is_enough() -> None:
    """Hay is weighed: what the store holds and the tonnes said, as dry matter that can be eaten,
    and two tonnes less.
    """
    one = found()["store", "hay"]
    farm = changed(begin(examples_folder() / "short"), [])
    dm = next(offer.feed.dm_g_per_kg for offer in farm.farm.offers if offer.id == "hay") / 1000.0
    waste = farm.stocks["hay"].edible_t_dm.typical
    assert typed(f"hay.edible_t_dm={waste + one.amount * dm}").proof is not None
    assert typed(f"hay.edible_t_dm={waste + (one.amount - 2.0) * dm}").proof is None


def test_a_feed_that_is_not_bought_so_far(tmp_path: Path) -> None:
    """Average hay, added to the farm file with the tonnes said, and two tonnes less."""
    one = found()["buy", "hay_average"]
    assert one.cost is None
    assert "tables" in one.words
    for tonnes, fed in ((one.amount, True), (one.amount - 2.0, False)):
        folder = tmp_path / f"{fed}"
        shutil.copytree(examples_folder() / "short", folder)
        text = (folder / "farm.toml").read_text(encoding="utf-8")
        entry = f'[[bought]]\nfeed = "hay_average"\nprice_per_t_fresh = 0\nmost_t = {tonnes}\n\n'
        (folder / "farm.toml").write_text(
            text.replace("[[bought]]", f"{entry}[[bought]]", 1), encoding="utf-8"
        )
        farm = changed(begin(folder), [parse_change(one) for one in LIMITED])
        assert (solve_winter(farm.farm, OPTIONS, farm.stocks).proof is not None) is fed


def test_an_earlier_turnout_where_that_is_enough() -> None:
    """With more bales to buy, but too few for the whole winter, some days less are enough and a day
    less than that is not.
    """
    some = found()["buy", "silage_bought"].amount - 4.0
    limits = [parse_change(one) for one in [*LIMITED[1:], f"silage_bought.most_t={some}"]]
    farm = changed(begin(examples_folder() / "short"), limits)
    short = {one.group for one in solve_winter(farm.farm, OPTIONS).shortfalls}
    one = next(
        one for one in enough_changes(farm.farm, short, farm.stocks) if one.kind == "turnout"
    )
    days = int(one.amount)
    assert typed(f"silage_bought.most_t={some}", f"winter.turnout-={days}").proof is not None
    assert typed(f"silage_bought.most_t={some}", f"winter.turnout-={days - 1}").proof is None


def test_a_group_is_known_by_its_whole_id() -> None:
    """`cows_dry` short says nothing of `cows`; `cows_calved` is a part of `cows`, unless the farm
    has a group of that id.
    """
    farm = read_farm(examples_folder() / "dairy")
    cow = next(group for group in farm.groups if group.calendar is not None)
    cows, dry, calved = (replace(cow, id=name) for name in ("cows", "cows_dry", "cows_calved"))
    both = replace(farm, groups=(cows, dry))
    assert _whole_groups(both, ["cows_dry"]) == {"cows_dry"}
    assert _whole_groups(both, ["cows_calved"]) == {"cows"}
    assert _whole_groups(both, ["cows_dry_calved", "cows"]) == {"cows", "cows_dry"}
    assert _whole_groups(replace(farm, groups=(cows, calved)), ["cows_calved"]) == {"cows_calved"}
    assert _whole_groups(both, ["cow", "sheep"]) == frozenset()
