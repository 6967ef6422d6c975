"""What leaves the animal against worked values, and a mass balance by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from rationlp.after.excretion import blaxter_clapperton, excretion, ipcc_methane
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Figure
from rationlp.model.ration import make_blocks
from rationlp.needs import group_needs
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="module")
def dairy() -> Farm:
    """The dairy example on its first day."""
    return farm_on(read_farm(EXAMPLES / "dairy"))


def feed(cp: float, p: float | None, kind: str = "forage") -> Feed:
    """A feed of 11 MJ ME with crude protein and phosphorus."""
    figures = {"dm_g_per_kg": 300.0, "me_mj_per_kg_dm": 11.0, "cp_g_per_kg_dm": cp}
    if p is not None:
        figures["p_g_per_kg_dm"] = p
    return Feed(
        "f", "Feed", kind, {name: Figure(value, "table", "test") for name, value in figures.items()}
    )


def test_methane_of_twenty_kilograms_by_ipcc() -> None:
    """20 kg DM, gross energy 369 MJ, Ym 6.5 %: 0.431 kg a day (worked from the IPCC 2006 tier 2
    equation).
    """
    assert ipcc_methane(20.0, 6.5) == pytest.approx(431.0, abs=0.5)


def test_methane_by_blaxter_and_clapperton() -> None:
    """Digestibility 70 %, three times maintenance: 1.30 + 7.84 − 3.39 = 5.75 % of gross energy."""
    assert blaxter_clapperton(70.0, 3.0) == pytest.approx(5.75, abs=1e-9)


def test_nitrogen_of_a_cow_by_hand(dairy: Farm) -> None:
    """Eaten less milk: 20 kg at 160 g CP, her litres at her own milk protein over 6.38; nothing
    lost on the way.
    """
    group = next(group for group in dairy.groups if group.id == "high")
    found = excretion(group, group_needs(group, dairy.margins), [(feed(160.0, 4.0), 20.0)], 3.0)
    assert found is not None
    milk = group.number("milk_kg_per_day")
    assert found.n_eaten_g == pytest.approx(20.0 * 160.0 / 6.25)
    assert found.n_milk_g == pytest.approx(milk * group.number("milk_protein_g_per_kg") / 6.38)
    whole = found.n_milk_g + found.n_gain_g + found.n_unborn_g + found.n_excreted_g
    assert whole == pytest.approx(found.n_eaten_g)
    assert found.n_efficiency == pytest.approx(
        (found.n_milk_g + max(found.n_gain_g, 0.0)) / found.n_eaten_g
    )
    assert found.per_kg["n_excreted_g"] == pytest.approx(found.n_excreted_g / milk)


def test_phosphorus_of_a_growing_bullock_by_hand(dairy: Farm) -> None:
    """Eaten less 7 g a kg of gain."""
    group = next(group for group in dairy.groups if group.id == "finishers")
    found = excretion(group, group_needs(group, dairy.margins), [(feed(130.0, 3.0), 9.0)], 2.0)
    assert found is not None
    assert found.p_excreted_g == pytest.approx(27.0 - 7.0 * group.number("gain_kg_per_day"))


def test_a_blank_phosphorus_figure_is_named(dairy: Farm) -> None:
    """No sum of phosphorus is made of a ration with a blank, and the feed is told."""
    group = next(group for group in dairy.groups if group.id == "high")
    found = excretion(group, group_needs(group, dairy.margins), [(feed(160.0, None), 20.0)], 3.0)
    assert found is not None
    assert (found.p_excreted_g, found.p_unknown) == (None, ("Feed",))


def test_barley_beef_has_the_lower_methane_factor(dairy: Farm) -> None:
    """Nine tenths of concentrate or more: 3.0 % of gross energy instead of 6.5 (IPCC 2006)."""
    group = next(group for group in dairy.groups if group.id == "finishers")
    needs = group_needs(group, dairy.margins)
    mostly = excretion(
        group, needs, [(feed(130.0, 3.0, "cereal"), 9.0), (feed(60.0, 1.0), 1.0)], 2.0
    )
    less = excretion(group, needs, [(feed(130.0, 3.0, "cereal"), 8.9), (feed(60.0, 1.0), 1.1)], 2.0)
    assert mostly is not None
    assert less is not None
    assert (mostly.ym, less.ym) == (3.0, 6.5)


def test_sheep_have_a_factor_of_their_own() -> None:
    """6.7 % of gross energy (IPCC 2019)."""
    hill = farm_on(read_farm(EXAMPLES / "hill"))
    block = make_blocks(hill, ["dry_ewes"])[0]
    found = excretion(block.group, block.needs, [(feed(100.0, 2.0), 1.0)], 1.2)
    assert found is not None
    assert found.ym == 6.7
