"""NRC (2001) against check figures worked out by hand from its equations (own arithmetic, status b)
with the feeds of our table.
"""

from __future__ import annotations

import pytest

from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.needs import nrc, nrc_cow
from rationlp.needs.cattle import GESTATION_DAYS
from rationlp.read.feeds import read_feed_tables

TABLE = read_feed_tables()
GRASS, MAIZE = "grass_silage_1st_typical", "maize_silage_typical"
MIXED = ((GRASS, 8.0), (MAIZE, 4.0), ("barley", 5.0), ("soya_meal_48", 2.0))
MIXED += (("beet_pulp_molassed_dry", 2.5),)


def ration() -> list[tuple[Feed, float]]:
    """21.5 kg of silages, barley, soya and pulp."""
    return [(TABLE[key], kg) for key, kg in MIXED]


def cow(**facts: float) -> Group:
    """A cow of 650 kg."""
    return Group(
        "g", "Cow", "dairy_cow_milking", 1, "to_appetite", {"live_weight_kg": 650.0, **facts}
    )


@pytest.mark.parametrize(
    ("key", "tdn", "de", "nel"),
    [
        (GRASS, 71.25, 3.172, 1.570),
        (MAIZE, 72.50, 3.149, 1.550),
        ("hay_average", 55.75, 2.452, 1.095),
        ("barley", 83.53, 3.665, 1.888),
        ("soya_meal_48", 82.04, 4.189, 2.230),
        ("beet_pulp_molassed_dry", 72.56, 3.177, 1.569),
    ],
)
def test_energy_of_a_feed(key: str, tdn: float, de: float, nel: float) -> None:
    """TDN and DE at maintenance, net energy at a discount of 0.92."""
    found = (*nrc.tdn_and_de(TABLE[key]), nrc.net_energy(TABLE[key], 0.92))
    assert found == pytest.approx((tdn, de, nel), rel=5e-4)


def test_discount() -> None:
    """15.4 kg TDN of 21.5 kg DM in a cow of 650 kg; none at maintenance, nor on poor feed."""
    assert nrc.discount(15.4, 21.5, 650.0) == pytest.approx(0.9086, abs=1e-4)
    assert nrc.discount(3.0, 4.5, 650.0) == 1.0
    assert nrc.discount(10.0, 18.0, 650.0) == 1.0


def test_cow_in_milk() -> None:
    """650 kg, 30.9 kg of 4.0 % fat and 3.3 % protein."""
    facts = {"milk_kg_per_day": 30.9, "milk_fat_g_per_kg": 40.0, "milk_protein_g_per_kg": 33.0}
    assert nrc_cow.maintenance(650.0) == pytest.approx(10.30, abs=0.005)
    assert 30.9 * nrc_cow.milk_energy(4.0, 3.3) == pytest.approx(22.92, abs=0.005)
    needs = nrc_cow.cow_needs(cow(**facts))
    assert needs.nel_mcal == pytest.approx(33.22, abs=0.01)
    assert needs.mp_g == pytest.approx(1565.0, rel=4e-4)


def test_dry_cow() -> None:
    """700 kg on day 260: maintenance without the calf, pregnancy, protein."""
    weight = 700.0 - nrc_cow.conceptus(700.0, 260.0)
    assert nrc_cow.maintenance(weight) == pytest.approx(10.14, abs=0.005)
    assert nrc_cow.pregnancy_energy(700.0, 260.0) == pytest.approx(3.532, abs=0.001)
    days = GESTATION_DAYS - 260.0
    facts: dict[str, float | str] = {"live_weight_kg": 700.0, "days_to_calving": days}
    needs = nrc_cow.cow_needs(Group("g", "Dry", "dairy_cow_dry", 1, "rationed", facts))
    assert needs.mp_g == pytest.approx(443.9, rel=4e-4)
    assert needs.nel_mcal == pytest.approx(13.67, abs=0.01)


def test_passage_and_degradation() -> None:
    """Intake 3.31 % of weight, 45 % concentrate."""
    kp = {key: nrc.passage(TABLE[key], 3.31, 45.0) for key in (GRASS, "barley", "hay_average")}
    assert kp[GRASS] == pytest.approx(5.086, abs=1e-3)
    assert kp["barley"] == pytest.approx(6.555, abs=1e-3)
    assert kp["hay_average"] == pytest.approx(3.544, abs=1e-3)
    assert nrc.degraded(TABLE[GRASS], kp[GRASS]) == pytest.approx((113.6, 28.44), rel=5e-4)
    assert nrc.degraded(TABLE["barley"], kp["barley"]) == pytest.approx((99.07, 18.93), rel=5e-4)
    soya = nrc.degraded(TABLE["soya_meal_48"], kp["barley"])
    assert soya == pytest.approx((316.3, 223.7), rel=5e-4)


def test_a_whole_ration() -> None:
    """Discount, net energy, microbes, passing protein, MP and what is asked for."""
    supply = nrc.nrc_supply(ration(), 650.0)
    assert supply is not None
    assert supply.dm_kg == 21.5
    assert supply.delta == pytest.approx(0.8817, abs=1e-4)
    found = (supply.nel_mcal, supply.mcp_g, supply.rup_g, supply.mp_g)
    assert found == pytest.approx((34.61, 1861.0, 765.6, 2058.0), rel=5e-4)
    asked = 1565.0 + nrc_cow.mp_of_eating(supply)
    assert asked == pytest.approx(2213.0, rel=5e-4)


def test_what_is_unknown_is_not_judged() -> None:
    """A feed without a class, another animal, a pen that milks off its back."""
    facts = {"milk_kg_per_day": 30.9}
    assert nrc_cow.judged_by_nrc(cow(**facts), ration()) is not None
    assert nrc.nrc_supply([*ration(), (TABLE["biscuit_meal"], 1.0)], 650.0) is None
    assert nrc.nrc_supply((), 650.0) is None
    steer = Group("g", "Steer", "growing_cattle", 1, "to_appetite", {"live_weight_kg": 300.0})
    assert nrc_cow.judged_by_nrc(steer, ration()) is None


def test_minerals_urea_and_fat() -> None:
    """No energy of the first two; fat undiscounted, its 2.25-fold in TDN."""
    fat = TABLE["protected_fat"]
    oil = (fat.value("oil_g_per_kg_dm") or 0.0) / 10.0
    assert nrc.net_energy(TABLE["limestone"], 0.9) == 0.0
    assert nrc.net_energy(TABLE["feed_urea"], 0.9) == 0.0
    assert nrc.net_energy(fat, 0.5) == pytest.approx(0.8 * 0.094 * 0.86 * oil)
    with_urea = nrc.nrc_supply([*ration(), (TABLE["feed_urea"], 0.05)], 650.0)
    plain = nrc.nrc_supply(ration(), 650.0)
    assert with_urea is not None
    assert plain is not None
    assert with_urea.mcp_g >= plain.mcp_g
