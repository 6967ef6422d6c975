"""Dairy cows on printed rations: what the rows let them eat beside a printed amount of concentrate,
and the milk that it carries.

What a source does not print is assumed here (c): 42 g fat and 33 g protein, 12.8 MJ/kg DM and 870 g
DM/kg in cake, NDF of silage 560, 510 and 460 g/kg DM at 65, 70 and 75 DMD.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from rationlp.errors import Faults
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import Group
from rationlp.model.ration import solve_rations
from rationlp.needs import group_needs
from rationlp.needs.appetite import appetite_rows
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.read.feeds import overlay_own, read_feed_tables
from rationlp.result import GroupRation
from rationlp.rules.blanks import complete

TABLES = read_feed_tables()
BARE = Margins(1.0, 1.0)
KG_PER_LITRE = 1.03
SILAGE_NDF = {65: 560.0, 70: 510.0, 75: 460.0}
CAKE_ME, CAKE_DM = 12.8, 0.87
_MOST_MILK = 60.0


def feed(key: str, **own: float) -> Feed:
    """A feed of the tables with figures of its own."""
    return complete(overlay_own(TABLES[key], own, Faults(key)))


def silage_of_dmd(dmd: int) -> Feed:
    """Grass silage by its digestibility: ME = 0.157 (DMD − 4.5) MJ/kg DM, from memory (b)."""
    return feed(
        "grass_silage_1st_typical",
        me_mj_per_kg_dm=0.157 * (dmd - 4.5),
        ndf_g_per_kg_dm=SILAGE_NDF[dmd],
        dm_g_per_kg=300.0,
    )


def cake() -> Feed:
    """Dairy compound of 12.8 MJ/kg DM."""
    return feed("dairy_compound_18", me_mj_per_kg_dm=CAKE_ME)


def cow(milk_kg: float, **facts: float) -> Group:
    """A cow of 620 kg in week 14."""
    usual: dict[str, float | str] = {
        "live_weight_kg": 620.0, "milk_kg_per_day": milk_kg, "milk_fat_g_per_kg": 42.0,
        "milk_protein_g_per_kg": 33.0,
        "week_of_lactation": 14.0, "live_weight_change_kg_per_day": 0.0,
    }  # fmt: skip
    return Group("cow", "Cow", "dairy_cow_milking", 1, "to_appetite", {**usual, **facts})


def farm_with(group: Group, feeds: list[tuple[Feed, float]], margins: Margins = BARE) -> Farm:
    """A farm of one group with feeds at prices a tonne fresh, a mineral beside."""
    offers = [
        Offer(f"f{number}", one.name, one, price > 50.0, price)
        for number, (one, price) in enumerate(feeds)
    ]
    offers.append(Offer("mineral", "Mineral", feed("minerals_cattle_general"), True, 600.0))
    return Farm(
        "", "F", "GBP", date(2026, 11, 1), date(2027, 4, 1), margins, "cost", 0.1, tuple(offers),
        (), (group,), {}
    )  # fmt: skip


def ration(group: Group, feeds: list[tuple[Feed, float]], margins: Margins = BARE) -> GroupRation:
    """The least-cost ration of one group."""
    return solve_rations(farm_with(group, feeds, margins)).groups[0]


def kg_of(answer: GroupRation, *numbers: int) -> float:
    """kg fresh of feeds by number."""
    wanted = {f"f{number}" for number in numbers}
    return sum(amount.kg_fresh for amount in answer.amounts if amount.offer in wanted)


def most_forage(group: Group, shares: list[tuple[Feed, float]], concentrate_kg_dm: float) -> float:
    """Most forage [kg DM], in the shares given, that a cow eats beside so much concentrate by the
    rows and the intake cap.
    """
    needs = group_needs(group, BARE)
    assert needs.intake is not None
    forages = [one for one, _ in shares]
    most = needs.intake.cap_kg_dm - concentrate_kg_dm
    for row in appetite_rows(needs, [*forages, cake()]):
        weight = sum(share * own for (_, share), own in zip(shares, row.weights[:-1], strict=True))
        if weight > 0.0:
            most = min(most, (row.most - row.weights[-1] * concentrate_kg_dm) / weight)
    return most


def milk_carried(
    facts: dict[str, float], shares: list[tuple[Feed, float]], concentrate_kg_dm: float
) -> tuple[float, float]:
    """(milk [kg], forage [kg DM]) of a cow that eats forage to appetite beside a fixed amount of
    cake: the most milk whose energy is covered, found by halving.
    """
    density = sum(share * (one.value("me_mj_per_kg_dm") or 0.0) for one, share in shares)
    low, high = 5.0, _MOST_MILK
    for _ in range(40):
        milk = 0.5 * (low + high)
        group = cow(milk, **facts)
        forage = most_forage(group, shares, concentrate_kg_dm)
        eaten = forage * density + concentrate_kg_dm * CAKE_ME
        energy = group_needs(group, BARE).energy
        assert energy is not None
        q = eaten / (forage + concentrate_kg_dm) / GE_MJ_PER_KG_DM
        low, high = (milk, high) if energy.required_mj(q) <= eaten else (low, milk)
    return low, most_forage(cow(low, **facts), shares, concentrate_kg_dm)


def with_week(group: Group, week: float, **facts: float) -> Group:
    """The group in another week."""
    return replace(group, facts={**group.facts, "week_of_lactation": week, **facts})
