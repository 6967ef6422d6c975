"""The rows of silage and straw of growing cattle, the floor of their appetite, and both through the
winter.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from intake_and_gain import Animals, forage, needs_of

from rationlp.farm.farm import Margins
from rationlp.farm.group import Calendar, Group
from rationlp.needs import group_needs
from rationlp.needs.appetite import appetite_rows
from rationlp.needs.calendar import parts_on
from rationlp.needs.growing_appetite import (
    TANGENTS,
    alone_kg,
    growing_floor,
    growing_rows,
    silage_alone,
)
from rationlp.read.feeds import read_feed_tables

FEEDS = read_feed_tables()
STRAW, BARLEY, LIMESTONE = FEEDS["straw_barley"], FEEDS["barley"], FEEDS["limestone"]
STEER = Animals(400.0, "steer", "medium")


def curve(c: float) -> float:
    """McNamee et al. (2001): silage beside c g concentrate DM/kg W^0.75, over silage alone [-]."""
    r = 1.025
    return float((r**73.2 - r**c) / (r**73.2 - 1.0))


def test_tangents_lie_on_the_published_curve() -> None:
    """Never below it, and above it by at most 0.014 up to 60 g/kg W^0.75, to the three figures of
    the tangents.
    """
    for c in range(61):
        above = min(a - b * c for a, b in TANGENTS) - curve(float(c))
        assert -0.002 <= above <= 0.014 + 5e-4


@pytest.mark.parametrize(("me", "percent"), [(9.5, 1.28), (10.3, 1.42), (11.1, 1.57)])
def test_silage_eaten_alone(me: float, percent: float) -> None:
    """400 kg on silage of 9.5, 10.3, 11.1 MJ: 1.28, 1.42, 1.57 % of live weight (own arithmetic on
    the fitted level).
    """
    assert 100.0 * (alone_kg(forage(me), 400.0) or 0.0) / 400.0 == pytest.approx(percent, abs=0.015)


def test_level_by_sort_of_forage() -> None:
    """Maize and whole-crop fill less; hay has a level of its own; all within 48 to 85 g/kg W^0.75;
    straw by live weight.
    """
    assert silage_alone(forage(11.2, "maize_silage_typical")) == 85.0
    assert silage_alone(forage(10.0, "wholecrop_wheat_fermented")) == pytest.approx(
        (70.0 - 8.1 * 1.1) / 0.90
    )
    assert silage_alone(FEEDS["hay_average"]) == 75.0
    assert silage_alone(forage(7.5)) == 48.0
    shares = [
        (alone_kg(FEEDS[key], 300.0) or 0.0) / 300.0
        for key in ("straw_barley", "straw_wheat", "straw_oat")
    ]
    assert shares == pytest.approx([0.0128, 0.0120, 0.0090])
    assert alone_kg(BARLEY, 300.0) is None


def test_concentrate_is_in_every_tangent_and_in_no_row_of_straw() -> None:
    """Straw beside concentrate is unchanged by it; a mineral pushes nothing out."""
    rows = {row.name: row for row in growing_rows(400.0, [forage(10.8), STRAW, BARLEY, LIMESTONE])}
    tangents = [row for name, row in rows.items() if name.startswith("silage_beside")]
    assert len(tangents) == len(TANGENTS)
    assert all(
        row.weights[1] == 0.0 and row.weights[2] > 0.0 and row.weights[3] == 0.0 for row in tangents
    )
    for row, (most, slope) in zip(tangents, TANGENTS, strict=True):
        assert row.weights[2] == pytest.approx(slope * 1000.0 / pow(400.0, 0.75))
        assert row.most == most
        assert row.weights[0] == pytest.approx(1.0 / (alone_kg(forage(10.8), 400.0) or 0.0))
    straw = rows["forage_and_straw"]
    assert straw.most == 1.0
    assert straw.weights[1] == pytest.approx(1.0 / (0.0128 * 400.0))
    assert straw.weights[2] == 0.0


def test_silage_alone_has_a_row_without_concentrate_at_hand() -> None:
    """Nothing but silage: it is held by the row of forage."""
    rows = growing_rows(400.0, [forage(10.8)])
    assert [row.name for row in rows] == ["forage_and_straw"]
    assert 1.0 / rows[0].weights[0] == pytest.approx(alone_kg(forage(10.8), 400.0))


def test_calves_and_cereal_fed_cattle_have_the_cap_only() -> None:
    """Below 200 kg and `cereal_based` there is no row of silage, and the floor is 0.75 of the
    cap.
    """
    facts: dict[str, float | str] = {
        "live_weight_kg": 150.0,
        "gain_kg_per_day": 0.7,
        "sex": "steer",
        "maturity": "medium",
    }
    calf = group_needs(Group("c", "c", "calf", 1, "to_appetite", facts), Margins())
    bull = needs_of(Animals(300.0, "bull", "late", cereal=True))
    for needs in (calf, bull):
        assert appetite_rows(needs, [forage(10.8), BARLEY]) == ()
        assert needs.appetite_floor_share == 0.75
    steer = needs_of(STEER)
    assert (steer.appetite_floor_share, steer.appetite_floor_kg_dm) == (None, None)
    assert appetite_rows(steer, [forage(10.8), BARLEY])


def test_the_floor_follows_the_leanest_forage_and_leaves_straw_out() -> None:
    """0.90 of the least of what the forage and NDF rows allow; straw only where there is nothing
    else; none without forage.
    """
    needs = needs_of(STEER)
    lean, rich = forage(9.5), forage(11.1)
    least = growing_floor(needs, [lean, rich, STRAW, BARLEY], 0.013)
    assert least == pytest.approx(0.9 * (alone_kg(lean, 400.0) or 0.0))
    assert growing_floor(needs, [rich, STRAW], 0.013) == pytest.approx(
        0.9 * (alone_kg(rich, 400.0) or 0.0)
    )
    assert growing_floor(needs, [STRAW], 0.013) == pytest.approx(0.9 * 0.0128 * 400.0)
    assert growing_floor(needs, [BARLEY], 0.013) is None
    full = 1000.0 * 0.010 * 400.0 / (lean.value("ndf_g_per_kg_dm") or 0.0)
    assert growing_floor(needs, [lean], 0.010) == pytest.approx(
        0.9 * min(full, alone_kg(lean, 400.0) or 0.0)
    )


def test_an_in_calf_heifer_has_the_rows_until_eight_weeks_before() -> None:
    """57 days out she eats as a growing one, 56 days out as a dry cow."""
    facts: dict[str, float | str] = {
        "live_weight_kg": 520.0, "gain_kg_per_day": 0.4, "maturity": "late",
        "mature_weight_kg": 680.0,
    }  # fmt: skip
    for days, growing in ((57.0, True), (56.0, False)):
        heifer = Group(
            "h", "h", "in_calf_heifer", 1, "to_appetite", {**facts, "days_to_calving": days}
        )
        assert group_needs(heifer, Margins()).growing_forage == growing


def test_weight_intake_and_gain_follow_through_the_winter() -> None:
    """Finishers grow: cap and the share of the class before rise from period to period."""
    start = date(2026, 11, 1)
    calendar = Calendar(start, None, 0.0, None, {}, ())
    steers = replace(Animals(420.0, "steer", "late").group(), calendar=calendar)
    caps, per_kg = [], []
    for day in (start, date(2027, 1, 10), date(2027, 4, 1)):
        (part,) = parts_on(steers, day)
        needs = group_needs(part, Margins())
        assert needs.intake is not None
        caps.append(needs.intake.cap_kg_dm)
        step = next(step for step in needs.steps if step.name == "growth, net energy")
        per_kg.append(step.status)
    assert caps == sorted(caps)
    assert caps[0] < caps[-1]
    assert per_kg == ["a", "c", "c"] or per_kg == ["b", "c", "c"]
