"""Published rations of cattle: what they supply, what their animals did, and what the model would
feed instead.

Each record carries its source (cattle_rations.json); what a source does not print is assumed in
cattle_rations.py, status (c). Run as a script, this file prints the table of measured against
expected milk and gain.
"""

from __future__ import annotations

import sys
from typing import Any

import pytest
from cattle_rations import (
    BARE,
    MINERAL,
    RECORDS,
    farm_of,
    fed_of,
    group_of,
    offer_of,
    record,
    usable,
    with_facts,
)
from printed_limits import passed

from rationlp.farm.farm import Margins
from rationlp.farm.feed_table import is_silage
from rationlp.model.fed import fed_supply
from rationlp.model.ration import solve_rations
from rationlp.needs import expected_gain, group_needs
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.supply import ration_supply
from rationlp.result import FedSupply, GroupRation
from rationlp.rules.limits import believable

USABLE = [one for one in RECORDS if usable(one)]
CHECKED = [one["id"] for one in USABLE if one["use"] in ("supply_check", "cost_check")]
ANSWERED = [one["id"] for one in USABLE if one["use"] in ("response", "supply_check", "cost_check")]


def supplied(one: dict[str, Any]) -> FedSupply:
    """What a record supplies, by the main path."""
    farm = farm_of(one)
    return fed_supply(farm, fed_of(one, farm))[0]


def amount(fed: FedSupply, quantity: str) -> float:
    """One line of it."""
    return next(line.supply for line in fed.supply if line.quantity == quantity)


TOTALS = {
    "dm_kg": (0.03, lambda fed: fed.dm_kg),
    "me_mj": (0.05, lambda fed: amount(fed, "me_mj")),
    "me_mj_per_kg_dm": (0.05, lambda fed: fed.me_mj_per_kg_dm),
    "cp_pct": (0.05, lambda fed: amount(fed, "cp_g_per_kg_dm") / 10.0),
}
PRICED = {
    "sd-02-silage17-straw5": (("grass_silage_1st_late_0", 30.0), ("straw_barley_1", 100.0)),
    "sd-03-silage40-straw1": (("grass_silage_1st_late_0", 30.0), ("straw_barley_1", 100.0)),
}
"""Printed prices a tonne: the source says dry matter, but its costs re-add only when both are fresh
(a slip in the source).
"""
DISAGREE = {
    (
        "gr-01-brewers-barley-straw",
        "me_mj_per_kg_dm",
    ): "the printed figure needs only about 1 kg of the 2 kg straw eaten",
    (
        "gr-01-brewers-barley-straw",
        "cp_pct",
    ): "the printed figure needs only about 1 kg of the 2 kg straw eaten",
}


@pytest.mark.parametrize("name", CHECKED)
def test_printed_totals(name: str) -> None:
    """DM within 3 %, ME and CP within 5 % of the printed totals, or a recorded reason; a reason
    without need fails.
    """
    one = record(name)
    fed = supplied(one)
    compared = 0
    for total, printed in one["printed_totals"].items():
        if total in TOTALS:
            tolerance, value = TOTALS[total]
            off = abs(value(fed) - printed) > tolerance * printed
            assert off == ((name, total) in DISAGREE), (total, value(fed), printed)
            compared += 1
    assert compared or name in PRICED


@pytest.mark.parametrize("name", PRICED)
def test_printed_costs(name: str) -> None:
    """The printed cost a day re-adds from kg fresh and the printed prices within 3 %."""
    one = record(name)
    fed = {given.offer: given.kg_fresh for given in supplied(one).amounts}
    cost = sum(fed[offer] * price / 1000.0 for offer, price in PRICED[name])
    assert cost == pytest.approx(one["printed_totals"]["cost_gbp_per_day"], rel=0.03)


def carried(one: dict[str, Any]) -> tuple[str, float, float, float] | None:
    """(what, measured, by energy, by protein) of a record of use response; None where nothing was
    measured that we model.
    """
    farm, group = farm_of(one), group_of(one)
    fed = supplied(one)
    amounts = fed_of(one, farm)[one["id"]]
    parts = [(offer.feed, amounts[offer.id]) for offer in farm.offers]
    if one["limits_key"] == "dairy_milking":
        return (
            "milk kg",
            one["animal"]["milk_kg"],
            milk(group, fed, parts, 0),
            milk(group, fed, parts, 1),
        )
    if "gain_kg" not in one["animal"]:
        return None
    me = amount(fed, "me_mj")
    gains = (
        expected_gain(group, me, fed.dm_kg),
        expected_gain(group, me, fed.dm_kg, amount(fed, "mp_g")),
    )
    return ("gain kg", one["animal"]["gain_kg"], *gains)


def milk(group: Any, fed: FedSupply, parts: Any, which: int, margins: Margins = BARE) -> float:
    """Milk [kg/d] at which the need of energy (0) or of protein (1), without margin unless one is
    given, is what the ration supplies.
    """
    low, high = 0.0, 80.0
    q = fed.me_mj_per_kg_dm / GE_MJ_PER_KG_DM
    for _ in range(50):
        middle = 0.5 * (low + high)
        needs = group_needs(with_facts(group, milk_kg_per_day=middle), margins)
        assert needs.energy is not None
        supply = ration_supply(parts, needs.energy.feeding_level(q))
        energy = needs.energy.required_mj(q) - supply.me_mj
        protein = (needs.mp_g or 0.0) - (supply.mp_g or 0.0)
        if (energy, protein)[which] > 0.0:
            high = middle
        else:
            low = middle
    return low


def responses() -> list[tuple[str, str, float, float, float, float]]:
    """(id, what, measured, by energy, by protein, relative difference of the scarcer) of every
    measured response.
    """
    found = []
    for one in USABLE:
        if one["use"] == "response":
            answer = carried(one)
            if answer is not None:
                what, measured, energy, protein = answer
                expected = min(energy, protein)
                found.append(
                    (one["id"], what, measured, energy, protein, expected / measured - 1.0)
                )
    return found


def test_measured_milk_and_gain_are_met_on_average() -> None:
    """Over all measured responses the scarcer of energy and protein explains milk and gain within
    20 % on average.
    """
    found = responses()
    assert len(found) >= 11
    mean = sum(row[-1] for row in found) / len(found)
    assert abs(mean) <= 0.20
    # Straw diets are under-predicted (fi-09, 0.73 of energy against 1.16 printed and 1.03 by its
    # own days and weights).
    assert all(abs(row[-1]) <= 0.35 for row in found if not row[0].startswith("fi-09")), found


def milk_less_measured(margins: Margins) -> list[float]:
    """Milk that the scarcer of energy and protein carries less what was measured [kg/d]."""
    found = []
    for one in USABLE:
        if one["use"] == "response" and one["limits_key"] == "dairy_milking":
            farm, fed = farm_of(one), supplied(one)
            amounts = fed_of(one, farm)[one["id"]]
            parts = [(offer.feed, amounts[offer.id]) for offer in farm.offers]
            both = [milk(group_of(one), fed, parts, which, margins) for which in (0, 1)]
            found.append(min(both) - one["animal"]["milk_kg"])
    return found


def test_milk_before_and_after() -> None:
    """| milk from what was eaten, 7 records  | mean   | root mean square |
    | with the margin of 5 % of energy | −1.3   | 2.7              |
    | without, as cows in milk have it | −0.1   | 2.2              |
    kg a day.
    """
    before, after = (
        milk_less_measured(Margins(me=1.05, mp=1.0, me_milking=share)) for share in (1.05, 1.0)
    )
    for off, mean, spread in ((before, -1.3, 2.7), (after, -0.1, 2.2)):
        assert len(off) == 7
        assert sum(off) / 7 == pytest.approx(mean, abs=0.05)
        assert (sum(one * one for one in off) / 7) ** 0.5 == pytest.approx(spread, abs=0.05)


def test_gain_of_late_maturing_steers_on_silage_is_honest() -> None:
    """The published trials fi-01 and fi-03: 0.74 and 1.03 measured; AFRC (1993) as printed gives
    0.91 and 1.15.
    """
    by_id = {row[0]: row for row in responses()}
    for name, printed in (("fi-01-silage-4conc", 0.91), ("fi-03-maize-4conc", 1.15)):
        _, _, measured, energy, _, _ = by_id[name]
        assert energy == pytest.approx(measured, abs=0.06)
        one = record(name)
        fed = supplied(one)
        as_printed = expected_gain(
            group_of(one), amount(fed, "me_mj"), fed.dm_kg, as_published=True
        )
        assert as_printed == pytest.approx(printed, abs=0.03)


def figures(ration: GroupRation, offers: Any) -> dict[str, float]:
    """The figures that an experienced eye goes by."""
    feeds = {offer.id: offer.feed for offer in offers}
    dm = ration.dm_kg or 1.0
    fed = [(feeds[given.offer], given) for given in ration.amounts]
    found = {
        "forage_share_of_dm": sum(given.kg_dm for feed, given in fed if feed.is_forage) / dm,
        "concentrate_kg_fresh": sum(given.kg_fresh for feed, given in fed if feed.is_concentrate),
        "silage_kg_fresh": sum(given.kg_fresh for feed, given in fed if is_silage(feed)),
        "dm_intake_kg": dm,
        "me_mj_per_kg_dm": ration.me_mj_per_kg_dm or 0.0,
    }
    for quantity in ("cp_g_per_kg_dm", "ndf_g_per_kg_dm", "starch_g_per_kg_dm"):
        found[quantity] = (
            sum(given.kg_dm * (feed.value(quantity) or 0.0) for feed, given in fed) / dm
        )
    return found


def unbelievable(ration: GroupRation, offers: Any) -> set[str]:
    """Figures outside the usual range of the class."""
    values = figures(ration, offers)
    ranges = believable(ration.needs.believability)
    assert ranges
    return {
        one.quantity
        for one in ranges
        if not one.low - 1e-9 <= values[one.quantity] <= one.high + 1e-9
    }


NO_RATION = {
    "dm-03-maize-only": (
        "maize silage alone: above its share of forage by the printed limit, as the record is"
    ),
    "dm-15-hay-8conc": "8 kg hay, above the printed 5 kg",
    "dm-16-hay-draff-syrup": "8 kg hay and a quarter draff, above the printed limits",
    "gr-02-heifer-straw-gluten": (
        "the assumed gain of 0.7 kg, with its margin, needs more gluten and straw than she holds"
    ),
    "gr-03-silage-only-bulls": (
        "the forage row allows 0.4 kg on this silage alone against 0.67: weak, acceptance figure 14"
    ),
    "fi-09-barley-ammonia-straw": (
        "the printed gain, with its margin, needs a little more than can be eaten"
    ),
}
OUTSIDE_USUAL = {
    "dm-05-grass-flat-poor": (
        {"me_mj_per_kg_dm"},
        "8.9 MJ silage with 9 kg of one compound, as the trial fed it",
    ),
    "dm-13-grass-6conc-beet4": (
        {"starch_g_per_kg_dm"},
        "the beet brings sugar instead of starch, and takes the place of concentrate",
    ),
    "sd-07-grass-silage-sole": (
        {"silage_kg_fresh"},
        "a silage of 11.2 MJ leaves room for straw only",
    ),
    "sd-09-straw-barley-soya": (
        {"concentrate_kg_fresh", "silage_kg_fresh"},
        "a ration without silage",
    ),
    "gr-01-brewers-barley-straw": (
        {"concentrate_kg_fresh", "silage_kg_fresh"},
        "a ration without silage; brewers' grains are wet",
    ),
    "fi-01-silage-4conc": (
        {
            "forage_share_of_dm",
            "concentrate_kg_fresh",
            "me_mj_per_kg_dm",
            "ndf_g_per_kg_dm",
            "starch_g_per_kg_dm",
        },
        "0.74 kg a day is a store's gain: 1 kg of compound carries it by the equations",
    ),
}


@pytest.mark.parametrize("name", ANSWERED)
def test_the_cheapest_ration_is_believable_or_we_say_why(name: str) -> None:
    """From its own feeds plus straw and minerals: proven, and inside the usual ranges but for the
    figures named with a reason.
    """
    one = record(name)
    farm = farm_of(one, ("straw_barley", MINERAL[one["limits_key"]]), Margins())
    ration = solve_rations(farm).groups[0]
    if name in NO_RATION:
        assert ration.status == "none_exists"
        assert ration.shortfalls
        return
    assert ration.status == "proven"
    assert unbelievable(ration, farm.offers) == OUTSIDE_USUAL.get(name, (set(), ""))[0]


OUTSIDE_LIMITS = {
    "dm-03-maize-only": "maize silage 67 % of DM against 50",
    "dm-13-grass-6conc-beet4": "fodder beet 22 kg and 23 % of DM against 15 kg and 20 %",
    "dm-15-hay-8conc": "8 kg hay, half of the DM, against 5 kg and 30 %",
    "dm-16-hay-draff-syrup": "8 kg hay, draff 26 % of DM",
    "dd-04-beet": "beet 64 % of DM, grazed, against 45 %",
    "sd-05-silage-adlib": "14 kg DM of silage: printed as the thing not to do",
    "sd-06-straw7-other": "pot ale 5.4 kg against 4",
    "sd-10-straw86": "straw 86 % against 80 %",
    "gr-02-heifer-straw-gluten": "gluten 63 % against 60; 125 g of mineral for a light heifer",
    "dd-03-kale": (
        "grazed kale: not in the sheet of extremes, but above the family limit of roots and kale"
    ),
    "gr-01-brewers-barley-straw": (
        "3 kg barley for an animal whose weight, 220 kg, is our assumption"
    ),
    "fi-09-barley-ammonia-straw": (
        "treated straw above the family limit of straws: a trial of that straw"
    ),
}
"""Trial extremes and stop-gaps among the usable records that a practitioner's limits do not admit,
and why.
"""


def over(one: dict[str, Any]) -> list[str]:
    """Printed limits that a record's ration passes."""
    return passed(one, group_of(one).number("live_weight_kg"), offer_of)


def test_records_outside_the_limits_are_named() -> None:
    """The check finds the extremes; every other usable ration lies within the limits of its
    class.
    """
    assert {one["id"] for one in USABLE if over(one)} == set(OUTSIDE_LIMITS)


if __name__ == "__main__":
    for row in responses():
        sys.stdout.write(
            f"{row[0]:28s} {row[1]:8s} {row[2]:6.2f}  energy {row[3]:6.2f}  protein {row[4]:6.2f} "
            f" {row[5]:+.0%}\n"
        )
