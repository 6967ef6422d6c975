"""Practical limits: every feed for every class, dry matter held constant, families of known feeds,
sources written out.
"""

from __future__ import annotations

import re

import pytest

from rationlp.csvfile import read_rows
from rationlp.folders import feeds_folder
from rationlp.read.feeds import read_feed_tables
from rationlp.rules.limits import (
    believable,
    family_limits,
    family_names,
    practice_figure,
    practice_limits,
)

CATTLE = (
    "dairy_milking", "dairy_dry", "suckler_dry", "suckler_milking", "calf_100_200kg",
    "growing_cattle", "finishing_cattle",
    "cull_cow", "stock_bull",
)  # fmt: skip
SHEEP = ("ewe_dry", "ewe_late_pregnant", "ewe_milking", "lamb")


@pytest.mark.parametrize("limits_key", [*CATTLE, *SHEEP])
def test_every_feed_has_a_limit_for_every_class(limits_key: str) -> None:
    """79 feeds, each with at least one cap, and a reason, a status and a source; what is grazed is
    as much as the farm says.
    """
    limits = practice_limits(limits_key)
    grazed = {"grazed_grass_spring", "grazed_grass_autumn", "grazed_grass_winter"}
    assert set(limits) == set(read_feed_tables()) - grazed
    assert len(limits) == 79
    for limit in limits.values():
        assert limit.max_share is not None or limit.most_kg_dm(600.0) is not None
        assert limit.reason
        assert limit.status in ("a", "b", "c")
        assert limit.source


def test_fresh_limits_hold_the_dry_matter_constant() -> None:
    """60 kg fresh printed at 310 g DM/kg is 18.6 kg DM: 74.4 kg of a silage with 250 g/kg."""
    limit = practice_limits("dairy_milking")["grass_silage_1st_early"]
    assert limit.most_kg_dm(650.0) == pytest.approx(18.6)
    assert limit.most_kg_dm(650.0) / 0.250 == pytest.approx(74.4)


def test_the_tightest_of_several_caps_rules() -> None:
    """A cap by live weight bites for a light animal, the cap a head for a heavy one."""
    found = [
        limit
        for key in CATTLE
        for limit in practice_limits(key).values()
        if limit.max_kg_dm is not None and limit.max_kg_dm_per_kg_live_weight is not None
    ]
    assert found
    for limit in found:
        assert limit.most_kg_dm(1.0) == pytest.approx(limit.max_kg_dm_per_kg_live_weight)
        assert limit.most_kg_dm(1e6) == limit.max_kg_dm


def test_nought_means_not_for_this_class() -> None:
    """Urea for calves, cattle minerals for sheep: a cap of nought, and hard."""
    for key, feed in (
        ("calf_100_200kg", "feed_urea"),
        ("lamb", "minerals_cattle_general"),
        ("ewe_dry", "pot_ale_syrup"),
    ):
        limit = practice_limits(key)[feed]
        assert 0.0 in (limit.most_kg_dm(50.0), limit.max_share)
        assert limit.hard
        assert limit.hard_reason


def test_hard_limits_are_those_for_safety_only() -> None:
    """Copper, urea, non-protein nitrogen and gossypol; never a matter of taste or fat."""
    reasons = {
        limit.hard_reason
        for key in (*CATTLE, *SHEEP)
        for limit in practice_limits(key).values()
        if limit.hard
    }
    assert len(reasons) == 4
    assert not practice_limits("dairy_dry")["protected_fat"].hard
    assert practice_limits("dairy_milking")["feed_urea"].hard


def test_fixed_minerals() -> None:
    """150 g fresh a cow at 980 g DM/kg; growing cattle by live weight."""
    cow = practice_limits("dairy_milking")["minerals_cattle_general"]
    assert cow.fixed(650.0) == pytest.approx(0.147)
    young = practice_limits("growing_cattle")["minerals_cattle_general"]
    assert young.fixed(300.0) == pytest.approx(0.25 * 300.0 / 1000.0 * 0.98)
    assert practice_limits("dairy_milking")["limestone"].fixed(650.0) is None


@pytest.mark.parametrize("limits_key", [*CATTLE, *SHEEP])
def test_families_hold_known_feeds(limits_key: str) -> None:
    """Members exist, weights and caps are positive, fresh bases count each member at its own dry
    matter.
    """
    tables = read_feed_tables()
    assert family_limits(limits_key)
    for limit in family_limits(limits_key):
        assert set(limit.weights) <= set(tables)
        assert all(weight > 0.0 for weight in limit.weights.values())
        assert limit.cap >= 0.0
        if limit.printed_basis == "kg_fresh" and limit.family == "rapeseeds":
            assert limit.weights["rapeseed_meal_extracted"] == pytest.approx(1000.0 / 890.0)
    assert "rapeseeds" in family_names()


def test_no_source_points_to_a_sheet_of_ours() -> None:
    """A source is a publication, a trade page in general words, or common practice."""
    for name in (
        "limits.csv",
        "family-limits.csv",
        "practice.csv",
        "believability.csv",
        "diet-limits.csv",
        "intake.csv",
    ):
        for row in read_rows(feeds_folder() / name).rows:
            assert row.cells["source"], (name, row.line)
            assert not re.search(r"\.md|\.json|limits\.csv", row.cells["source"]), (name, row.line)
            assert set(row.cells["status"]) <= set("abc,/"), (name, row.line)


def test_figures_and_usual_ranges() -> None:
    """A milking cow: 60 kg silage, meals of 4 kg; an unknown class has no figures."""
    assert practice_figure("dairy_milking", "silage_most_kg_fresh") == 60.0
    assert practice_figure("dairy_milking", "meal_most_kg_fresh") == 4.0
    assert practice_figure(None, "meal_most_kg_fresh") is None
    ranges = {one.quantity: (one.low, one.high) for one in believable("dairy_milking_18_28_l")}
    assert ranges["dm_intake_kg"] == (14.0, 22.5)
    assert believable("none such") == ()
