"""A winter kept open that begins at the plan of another one: what is taken over, and what is not
believed.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from rationlp.ask.stores import OpenWinter
from rationlp.folders import examples_folder
from rationlp.live.stages import KnownStages, stages
from rationlp.live.warm import WarmWinter
from rationlp.read.changed import ChangedFarm, begin, changed, parse_change
from rationlp.wintering import alone
from rationlp.wintering.parts import EasedBefore, winter_periods, winter_runs

SETTLING = 1e-5
"""Two settled plans of one farm are as near as this [share of the cost]."""
BEGUN = begin(examples_folder() / "calving")
SHORT = parse_change("winter.turnout=2026-12-01")


def farm_with(*changes: str) -> ChangedFarm:
    """The short winter with changes."""
    return changed(BEGUN, [SHORT, *map(parse_change, changes)])


@pytest.fixture(scope="module")
def warm() -> WarmWinter:
    """The short winter as it stands."""
    return WarmWinter("read", (SHORT,), farm_with())


@pytest.mark.parametrize(
    "change", ["clamp.dm_g_per_kg=200", "clamp.me_mj_per_kg_dm=9.0", "heifers.head=40"]
)
def test_a_long_way_of_a_slider_ends_where_nothing_was_known(warm: WarmWinter, change: str) -> None:
    """Settled from another plan or from nothing: the same cost, certified either way."""
    farm = farm_with(change)
    changes = (SHORT, parse_change(change))
    like = WarmWinter("read", changes, farm, warm).plan(farm.farm)
    fresh = WarmWinter("read", changes, farm).plan(farm.farm)
    assert (like is None) == (fresh is None)
    if like is not None and fresh is not None:
        assert like.cost == pytest.approx(fresh.cost, rel=SETTLING)
        assert like.proof is not None
        assert like.proof.passed


def test_an_answer_at_a_guessed_end_is_none(
    warm: WarmWinter, monkeypatch: pytest.MonkeyPatch
) -> None:
    """How much can be eaten is not asked again; where the plan comes to what was guessed instead,
    the winter is planned from nothing.
    """
    farm = farm_with("clamp.dm_g_per_kg+=12")
    fresh = OpenWinter(farm.farm, farm.stocks)
    monkeypatch.setattr(alone, "GUESS", 0.9)
    like = OpenWinter(farm.farm, farm.stocks, like=warm._winter)
    assert like.solution is not None
    assert fresh.solution is not None
    assert all(single.guessed is None for single in like.model.singles)
    assert like.solution.objective == pytest.approx(fresh.solution.objective, rel=SETTLING)


def test_the_guess_goes_by_what_was_asked() -> None:
    """However long a slider is moved, the guess does not grow by itself."""
    winter = OpenWinter(farm_with().farm)
    asked = [single.asked_most for single in winter.model.singles]
    for more in (4, 8, 12):
        farm = farm_with(f"clamp.dm_g_per_kg+={more}")
        winter = OpenWinter(farm.farm, farm.stocks, like=winter)
        guessed = [one.guessed for one in winter.model.singles if one.guessed is not None]
        assert guessed
        assert max(guessed) <= alone.GUESS * max(asked)


def test_what_her_back_gives_is_found_once_whatever_the_heads() -> None:
    """The blocks of a farm with other heads are those of a farm made from nothing; another analysis
    is looked at anew.
    """
    known = EasedBefore()
    for changes in ((), ("heifers.head+=3",), ("clamp.me_mj_per_kg_dm=10.1",)):
        farm = farm_with(*changes).farm
        again = winter_runs(farm, winter_periods(farm), {}, eased_before=known)
        assert again == winter_runs(farm, winter_periods(farm), {})


def test_stages_are_told_anew_for_other_groups_and_days() -> None:
    """What is kept of the farm before is never told of another one."""
    known, farm = KnownStages(), farm_with().farm
    fewer = replace(farm, groups=farm.groups[:1])
    for one in (farm, fewer, changed(BEGUN, []).farm, farm):
        assert known.of(one) == stages(one)
