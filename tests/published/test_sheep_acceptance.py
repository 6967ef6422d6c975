"""What sheep must be fed by printed figures: concentrate of the last eight weeks, what better
silage saves, ewes in milk indoors.

Tolerances are those of the science sheet of the project; each figure names its publication. Silage
is put at one unit of money a tonne, so that it is fed to appetite, as the publications suppose.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from sheep_rations import MINERAL, farm_of, with_facts
from test_sheep_rations import late, milking

from rationlp.farm.farm import Margins
from rationlp.model.ration import solve_rations
from rationlp.result import GroupRation

CUT = {
    11.5: "grass_silage_1st_early",
    10.5: "grass_silage_1st_typical",
    9.5: "grass_silage_1st_late",
}
"""A table silage of about that ME, so that its protein goes with it."""

PRINTED_KG = {11.5: 8.4, 10.5: 18.9, 9.5: 32.3}
"""Press note on levy-board advice: concentrate of a twin ewe over the last eight weeks [kg], by ME
of silage; status (a).
"""


def ration(me: float, facts: dict[str, float], *feeds: str, weight: float = 75.0) -> GroupRation:
    """The cheapest ration of a ewe on silage of that ME to appetite and the feeds, margins of 5
    %.
    """
    key = "ewe_late_pregnant" if "lambs_carried" in facts else "ewe_milking"
    fed = [
        {"feed_key": CUT[me], "analysis": {"me_mj_per_kg_dm": me}},
        *({"feed_key": one} for one in (*feeds, MINERAL)),
    ]
    farm = farm_of(
        {"id": "x", "limits_key": key, "feeds": fed, "animal": {"live_weight_kg": weight}},
        (),
        Margins(1.05, 1.05),
    )
    offers = tuple(
        replace(one, price_per_t_fresh=1.0) if one.feed.is_forage else one for one in farm.offers
    )
    return solve_rations(
        replace(farm, offers=offers, groups=(with_facts(farm.groups[0], **facts),))
    ).groups[0]


def concentrate(given: GroupRation) -> float:
    """kg fresh of rolls and soya; the group must have a ration."""
    assert given.amounts
    return sum(one.kg_fresh for one in given.amounts if one.offer.startswith(("ewe_rolls", "soya")))


def total(me: float, lambs: float, weeks: int) -> float:
    """Concentrate of the last weeks before lambing [kg], each week at its middle."""
    days = [7.0 * week - 3.5 for week in range(1, weeks + 1)]
    return sum(7.0 * concentrate(ration(me, late(day, lambs), "ewe_rolls_18")) for day in days)


@pytest.mark.parametrize("me", CUT)
def test_concentrate_of_a_twin_ewe_in_the_last_eight_weeks(me: float) -> None:
    """Figure 1: 8.4, 18.9 and 32.3 kg within 30 %. Ours 8.6, 16.6 and 27.0 (ratios 1.02, 0.88,
    0.84).
    """
    assert total(me, 2.0, 8) == pytest.approx(PRINTED_KG[me], rel=0.30)


def test_singles_get_less_and_triplets_more() -> None:
    """Order kept. Printed: singles 30 % below, triplets 30 % above twins (a); the model spreads
    wider: 5, 17 and 28 kg.
    """
    singles, twins, triplets = (total(10.5, lambs, 8) for lambs in (1.0, 2.0, 3.0))
    assert singles < 0.75 * twins < twins < 1.25 * triplets
    assert triplets / twins < 2.0


@pytest.mark.parametrize(("better", "poorer"), [(11.5, 10.5), (10.5, 9.5)])
def test_a_megajoule_in_the_silage_saves_ten_kilos(better: float, poorer: float) -> None:
    """Figure 2: 10 kg a twin ewe over six weeks, within 3 kg (Irish press on sheep in Northern
    Ireland, a). Ours 7.8 and 8.7.
    """
    assert total(poorer, 2.0, 6) - total(better, 2.0, 6) == pytest.approx(10.0, abs=3.0)


@pytest.mark.parametrize("week", [1.5, 2.5, 4.0])
def test_ewes_in_milk_indoors(week: float) -> None:
    """Figure 3: twins 1.2–1.5 kg, singles 0.6–0.8 on silage of 68–70 DMD, within 0.2 kg (Irish
    press, ewes indoors; a).

    With soya to hand, at 10.5 MJ: ours 1.5–1.6 and 0.6. On rolls of 18 % alone AFRC (1993) asks 1.2
    kg for singles, for protein, and has no ration for twins in the first month: less than a gram of
    MP short.
    """
    twins, singles = (
        concentrate(ration(10.5, milking(lambs, week), "ewe_rolls_18", "soya_meal_48", weight=70.0))
        for lambs in (2.0, 1.0)
    )
    assert 1.2 - 0.2 <= twins <= 1.5 + 0.2
    assert 0.6 - 0.2 <= singles <= 0.8 + 0.2
