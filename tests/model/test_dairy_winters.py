"""Herds that calve in the winter get a plan: autumn block, spring block, heifers at 24 months, a
herd that calves all year.
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from calving_farms import ALL_YEAR, AUTUMN, BEEF, MILKING, SPRING, STORES, YOUNG

from rationlp.farm.farm import Farm
from rationlp.model.believable import unusual
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on, parts_on
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

PLAIN = WinterOptions(tidy=False)
HERDS = {
    "autumn block": AUTUMN,
    "spring block": SPRING,
    "heifers at 24 months": YOUNG,
    "all year": ALL_YEAR,
    "sucklers": BEEF,
}


def _farm(text: str, folder: Path) -> Farm:
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    return read_farm(folder)


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> dict[str, WinterPlan]:
    """Every herd planned once."""
    return {
        name: solve_winter(_farm(text, tmp_path_factory.mktemp("herd")), PLAIN)
        for name, text in HERDS.items()
    }


@pytest.mark.parametrize("name", HERDS)
def test_each_herd_gets_a_proved_plan(name: str, plans: dict[str, WinterPlan]) -> None:
    """A plan of proved cost, and every head fed in every period."""
    plan = plans[name]
    assert plan.status == "proven", plan.shortfalls
    fed = [
        sum(ration.head for ration in plan.rations if ration.period == period.number)
        for period in plan.periods
    ]
    assert min(fed) >= 20


@pytest.mark.parametrize("name", HERDS)
def test_every_ration_of_a_herd_is_believable(name: str, plans: dict[str, WinterPlan]) -> None:
    """Inside the usual ranges of its class, feeding system and weight in every period."""
    plan = plans[name]
    feeds = {offer.id: offer.feed for offer in plan.farm.offers}
    outside = {}
    for one in plan.rations:
        fed = {amount.offer: (feeds[amount.offer], amount.kg_dm) for amount in one.amounts}
        found = unusual(one.needs.believability, fed, one.needs.live_weight_kg)
        if found:
            outside[one.group, one.period] = [each.quantity for each in found]
    assert outside == {}


@pytest.mark.parametrize("name", ["autumn block", "all year"])
def test_the_plan_says_what_is_milked_off_their_backs(
    name: str, plans: dict[str, WinterPlan]
) -> None:
    """One sentence a herd, below half a score."""
    said = [remark for remark in plans[name].remarks if "off their backs" in remark]
    assert len(said) == 1
    assert any(f"({score} score)" in said[0] for score in ("0.1", "0.2", "0.3", "0.4"))


def test_milk_of_an_autumn_block_rises_and_falls(plans: dict[str, WinterPlan]) -> None:
    """The pen in milk: about its peak in December, down by a fifth or so at turnout."""
    plan = plans["autumn block"]
    (cows,) = plan.farm.groups
    parts = [part for period in plan.periods for part in parts_on(cows, period.first, period.last)]
    milk = [part.number("milk_kg_per_day") for part in parts if part.id == "cows_calved"]
    assert max(milk) > 31.5
    assert milk[-1] < 0.85 * max(milk)


def test_what_winter_feeds_ration_can_feed(tmp_path: Path) -> None:
    """The fresh cows of the block on single days: a ration on each of them."""
    farm = _farm(AUTUMN, tmp_path)
    for period in solve_winter(farm, PLAIN).periods[:4]:
        assert all(
            group.status == "proven" for group in solve_rations(farm_on(farm, period.first)).groups
        )


def test_heifers_and_sucklers_without_a_word_are_asked_for(tmp_path: Path) -> None:
    """A notice, and the defaults: 0.78 of the herd's peak, 9 kg of a suckler. Never at 0 days to
    calving.
    """
    young = _farm(YOUNG, tmp_path)
    assert [notice.code for notice in young.notices] == ["WA230"]
    late = farm_on(young, young.turnout)
    heifer = next(group for group in late.groups if group.id == "heifers_calved")
    assert heifer.animal_class == "first_calver_milking"
    assert 18.0 < heifer.number("milk_kg_per_day") < 24.0
    beef = _farm(BEEF, tmp_path)
    assert [notice.code for notice in beef.notices] == ["WA230"]
    (calved,) = farm_on(beef, beef.turnout).groups
    assert (calved.animal_class, calved.number("milk_kg_per_day")) == ("suckler_cow_milking", 9.0)


def test_heifers_of_no_known_herd_leave_on_the_day_they_calve(tmp_path: Path) -> None:
    """Without cows in milk on the farm nothing can be taken: they leave, and a notice says so."""
    alone = YOUNG[: YOUNG.index('[[groups]]\nid = "late"')]
    farm = _farm(alone, tmp_path)
    assert [notice.code for notice in farm.notices] == ["WA231"]
    assert farm_on(farm, farm.turnout).groups == ()


def test_a_word_on_what_they_are_afterwards_is_no_notice(tmp_path: Path) -> None:
    """With [groups.after] nothing is asked."""
    assert _farm(AUTUMN, tmp_path).notices == ()


def test_cows_that_reach_sixty_days_to_calving_are_dried_off(tmp_path: Path) -> None:
    """150 days in calf on 10 October are 221 on 20 December: dry from then on, eight weeks before
    they calve (common practice, c), all 40 fed throughout.
    """
    text = STORES.format(start="2026-10-10", turnout="2027-02-15") + MILKING.replace(
        "days_pregnant = 60", "days_pregnant = 150"
    ).replace("week_of_lactation = 20", "week_of_lactation = 32")
    farm = _farm(text.replace("out = 2027-02-10\n", ""), tmp_path)
    plan = solve_winter(farm, PLAIN)
    assert plan.status == "proven"
    dry = {plan.periods[one.period].first for one in plan.rations if one.group == "late_dry"}
    assert min(dry) == date(2026, 12, 19)
    for period in plan.periods:
        heads = [one.head for one in plan.rations if one.period == period.number]
        assert sum(heads) == 40
    milking, dried = farm_on(farm, date(2026, 12, 19)), farm_on(farm, date(2026, 12, 21))
    assert [group.animal_class for group in milking.groups] == ["dairy_cow_milking"]
    assert [group.animal_class for group in dried.groups] == ["dairy_cow_dry"]
    assert dried.groups[0].number("days_to_calving") == pytest.approx(59.0)


@pytest.mark.parametrize(
    ("in_calf", "dry_on", "calved_on"),
    [(225, date(2026, 10, 24), date(2026, 12, 5)), (240, date(2026, 10, 11), date(2026, 11, 20))],
)
def test_cows_still_milked_close_to_calving_are_dried_off_and_calve(
    tmp_path: Path, in_calf: int, dry_on: date, calved_on: date
) -> None:
    """In milk on 10 October by the farm's own word, 56 and 41 days from calving: dry six weeks
    before it, or on the day after (common practice, c), and in milk again once they have calved.
    """
    text = STORES.format(start="2026-10-10", turnout="2026-12-31") + MILKING.replace(
        "days_pregnant = 60", f"days_pregnant = {in_calf}"
    ).replace("week_of_lactation = 20", "week_of_lactation = 38")
    farm = _farm(text.replace("out = 2027-02-10\n", ""), tmp_path)

    def part_on(day: date) -> str:
        (part,) = farm_on(farm, day).groups
        return part.id

    one = timedelta(days=1)
    assert part_on(date(2026, 10, 10)) == "late"
    assert (part_on(dry_on - one), part_on(dry_on + one)) == ("late", "late_dry")
    assert (part_on(calved_on - one), part_on(calved_on + one)) == ("late_dry", "late_calved")


def test_cows_not_in_calf_stay_in_milk(tmp_path: Path) -> None:
    """Nobody served them: no calf and no dry period."""
    text = STORES.format(start="2026-10-10", turnout="2026-12-01") + MILKING.replace(
        "days_pregnant = 60", "days_pregnant = 0"
    ).replace("week_of_lactation = 20", "week_of_lactation = 45")
    farm = _farm(text.replace("out = 2027-02-10\n", ""), tmp_path)
    (late,) = farm_on(farm, date(2026, 11, 20)).groups
    assert late.animal_class == "dairy_cow_milking"
