"""Two standards beside each other: bills equal independent solves, and each ration is judged by
what the equations of the other give, summed here again.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest

from rationlp.ask.standards import (
    ByStandards,
    Judgement,
    Side,
    is_short,
    judged,
    rations_by_standards,
    winter_by_standards,
    with_standard,
)
from rationlp.cli.days import farm_on_day
from rationlp.cli.guide import GUIDE
from rationlp.farm.farm import Farm
from rationlp.farm.group import AFRC, CSIRO, NRC
from rationlp.folders import examples_folder
from rationlp.model.fed import fed_supply
from rationlp.model.ration import solve_rations
from rationlp.needs.supply import ration_supply
from rationlp.read.farm import read_farm
from rationlp.report.stories.standards import (
    rations_by_standards_story,
    winter_by_standards_story,
)
from rationlp.report.story import Words
from rationlp.result import GroupRation
from rationlp.wintering.open_stores import rations_of_day
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

EXAMPLES = ("dairy", "calving", "beef", "hill", "short", "few")
GROUPS = ("cows", "store_lambs", "rams")


@cache
def hill() -> Farm:
    """The hill farm."""
    return read_farm(examples_folder() / "hill")


@cache
def compared() -> ByStandards:
    """Three groups of it by both standards."""
    return rations_by_standards(hill(), GROUPS)


def sides() -> list[tuple[str, Side]]:
    """Every ration of either standard."""
    return [(one.group, side) for one in compared().groups for side in (one.first, one.second)]


def test_bills_are_those_of_independent_solves() -> None:
    """By each standard alone; and without margins by the first."""
    for standard in (AFRC, CSIRO):
        alone = solve_rations(with_standard(hill(), standard), GROUPS).groups
        found = {name: side.outcome for name, side in sides() if side.standard == standard}
        for ration in alone:
            assert found[ration.group].cost == pytest.approx(ration.feed_cost, rel=1e-9)
    bare = replace(hill(), margins=replace(hill().margins, me=1.0, mp=1.0, me_milking=1.0))
    for ration, group in zip(solve_rations(bare, GROUPS).groups, compared().groups, strict=True):
        assert group.bare_cost == pytest.approx(ration.feed_cost, rel=1e-9)


def _line(ration: GroupRation, quantity: str) -> tuple[float, float | None]:
    line = next(line for line in ration.supply if line.quantity == quantity)
    return line.supply, line.target


def test_a_ration_is_judged_as_supply_judges_it() -> None:
    """Energy and protein by either standard equal the lines of `supply` under that standard."""
    farms = {standard: with_standard(hill(), standard) for standard in (AFRC, CSIRO)}
    dry = {offer.id: offer.feed.dm_g_per_kg / 1000.0 for offer in hill().offers}
    for name, side in sides():
        fed = {name: {offer: kg * dry[offer] for offer, kg in side.outcome.fed.items()}}
        assert {one.standard for one in side.judged} == {AFRC, CSIRO}
        for judgement in side.judged:
            answer = fed_supply(farms[judgement.standard], fed)[0]
            lines = {line.quantity: line for line in answer.supply}
            energy, protein = lines["me_mj"], lines["mp_g"]
            assert judgement.energy_mj == pytest.approx(energy.supply, rel=2e-3)
            assert judgement.energy_needed_mj == pytest.approx(energy.target, rel=2e-3)
            assert judgement.mp_g == pytest.approx(protein.supply, rel=5e-3)
            assert judgement.mp_needed_g is not None


def test_no_ration_is_short_by_its_own_standard() -> None:
    """Else the judgement would not be that of the model."""
    for _, side in sides():
        own = side.judged[0]
        assert own.standard == side.standard
        assert not is_short(own)


def test_a_dearer_bill_has_a_reason() -> None:
    """Where the second is dearer it finds the first's ration short, or too rich."""
    for group in compared().groups:
        first, second = group.first.outcome.cost, group.second.outcome.cost
        assert first is not None
        assert second is not None
        other = group.first.judged[1]
        if second > first * 1.01:
            most = other.energy_most_mj
            assert is_short(other) or (most is not None and other.energy_mj > most)


def test_a_cheaper_bill_has_a_reason_too() -> None:
    """Store lambs are cheaper by CSIRO (2007), which finds their ration by AFRC (1993) short of
    energy: what is saved is protein that AFRC (1993) misses in the other one.
    """
    group = next(one for one in compared().groups if one.group == "store_lambs")
    assert (group.second.outcome.cost or 0.0) < (group.first.outcome.cost or 0.0)
    story = rations_by_standards_story(compared())
    told = [part.content for part in story.parts if isinstance(part.content, Words)]
    why = next(words.lines[2] for words in told if words.about == group.name)
    assert "on the ration by AFRC (1993), CSIRO (2007) finds" in why
    assert "on the ration by CSIRO (2007), AFRC (1993) finds" in why


def test_short_is_half_a_hundredth() -> None:
    """Of energy, of protein, and of neither where there is no need."""
    assert not is_short(Judgement(AFRC, 99.6, 100.0, 996.0, 1000.0))
    assert is_short(Judgement(AFRC, 99.4, 100.0, 1000.0, 1000.0))
    assert is_short(Judgement(AFRC, 100.0, 100.0, 994.0, 1000.0))
    assert not is_short(Judgement(AFRC, 99.0, None, None, None))


def test_nothing_fed_is_judged_by_nothing() -> None:
    """No dry matter has no energy density."""
    needs = solve_rations(hill(), ("rams",)).groups[0].needs
    assert judged(needs, ()) == Judgement(AFRC, 0.0, None, None, None)


def test_each_group_has_three_sentences() -> None:
    """Its bill, where the rations part and why; a group of one standard is named."""
    story = rations_by_standards_story(compared())
    told = [part.content for part in story.parts if isinstance(part.content, Words)]
    for group in compared().groups:
        lines = next(words.lines for words in told if words.about == group.name)
        assert len(lines) == 3
        assert lines[0].startswith(f"{group.name}: GBP ")
        assert "They differ most in" in lines[1]
        assert lines[2].startswith("Why: ")
    cows = next(words.lines for words in told if words.about.startswith("Suckler cows"))
    assert "too fat" in cows[2]


def test_dairy_cows_by_nrc() -> None:
    """Their second standard is NRC (2001): its own proven ration, and that of AFRC (1993) judged by
    it: net energy and protein as its equations give them on those kilograms.
    """
    farm = farm_on_day(read_farm(examples_folder() / "dairy"), None)
    answer = rations_by_standards(farm, ("high", "dry", "finishers"))
    assert [one.second.standard for one in answer.groups] == [NRC, NRC, CSIRO]
    feeds = {offer.id: offer.feed for offer in farm.offers}
    dry = {offer.id: offer.feed.dm_g_per_kg / 1000.0 for offer in farm.offers}
    for one in answer.groups[:2]:
        alone = rations_of_day(with_standard(farm, NRC), (one.group,)).groups[0]
        assert alone.status == "proven"
        assert one.second.outcome.cost == pytest.approx(alone.feed_cost, rel=1e-9)
        need = alone.needs.energy
        assert need is not None
        fed = one.first.outcome.fed
        parts = [(feeds[name], kg * dry[name]) for name, kg in fed.items()]
        supply = ration_supply(parts, need.level_of_ration(parts), NRC)
        by_nrc = one.first.judged[1]
        assert by_nrc.standard == NRC
        assert by_nrc.energy_mj == pytest.approx(supply.energy_mj, rel=2e-3)
        assert by_nrc.energy_needed_mj == pytest.approx(need.required_mj(0.0))
        assert supply.mp_g is not None
        printed = supply.mp_g + supply.mp_of_eating_g
        assert by_nrc.mp_g == pytest.approx(printed, rel=5e-3)


@pytest.mark.long
def test_a_winter_by_both() -> None:
    """Costs are those of plans made alone; each is judged by the other, group by group."""
    options = WinterOptions(tidy=False)
    both = winter_by_standards(hill(), lambda farm: solve_winter(farm, options))
    for side, standard in ((both.first, AFRC), (both.second, CSIRO)):
        plan = solve_winter(with_standard(hill(), standard), options)
        assert side.outcome.cost == pytest.approx(plan.cost, rel=1e-9)
        assert {one.group for one in side.judged} == {group.id for group in hill().groups}
        assert all(0.0 <= one.short_share <= 1.0 for one in side.judged)
    lines = winter_by_standards_story(both).parts[0].content
    assert isinstance(lines, Words)
    assert len(lines.lines) == 5


def _told() -> list[tuple[str, str, float, float]]:
    """(example, group, cost by the first, by the second) of every row of the guide's table."""
    page = (GUIDE / "standards.md").read_text(encoding="utf-8")
    row = re.compile(r"^\| `(\w+)`, (\w+) \| GBP ([\d.]+):.* \| GBP ([\d.]+):", re.M)
    return [(farm, group, float(one), float(two)) for farm, group, one, two in row.findall(page)]


def test_the_bills_of_the_guide_are_those_worked_out() -> None:
    """Every row of its table, to the last figure printed."""
    rows = _told()
    assert len(rows) == 16
    for farm in EXAMPLES:
        wanted = {group: bills for name, group, *bills in rows if name == farm}
        today = farm_on_day(read_farm(examples_folder() / farm), None)
        answer = rations_by_standards(today, tuple(wanted))
        for group in answer.groups:
            costs = (group.first.outcome.cost, group.second.outcome.cost)
            places = 2 if max(wanted[group.group]) >= 1.0 else 3
            assert [round(cost or 0.0, places) for cost in costs] == wanted[group.group]


@pytest.mark.parametrize("farm", EXAMPLES)
def test_the_winters_of_the_guide_are_those_worked_out(farm: str) -> None:
    """Both bills of its table to the last figure printed, each with a proof."""
    page = (GUIDE / "standards.md").read_text(encoding="utf-8")
    row = re.search(rf"^\| `{farm}` \| GBP ([\d,]+) \| GBP ([\d,]+) \|", page, re.M)
    assert row is not None
    read, options = read_farm(examples_folder() / farm), WinterOptions(tidy=False)
    both = winter_by_standards(read, lambda each: solve_winter(each, options))
    for side, told in zip((both.first, both.second), row.groups(), strict=True):
        assert side.outcome.cost is not None
        assert f"{side.outcome.cost:,.0f}" == told
        assert side.outcome.gap is not None
        assert side.outcome.gap <= 2e-3 * side.outcome.cost
