"""NRC (2001) against check figures worked out by hand from its equations (own arithmetic, status b)
with the feeds of our table.
"""

from __future__ import annotations

from math import exp

import pytest

from rationlp.farm.farm import Margins
from rationlp.farm.feed import Feed
from rationlp.farm.group import AFRC, NRC, Group
from rationlp.needs import group_needs, nrc, nrc_classes, second_standard_of, standard_of
from rationlp.needs.cattle import GESTATION_DAYS
from rationlp.needs.intake import dmi_nrc_2001, dmi_nrc_2001_dry, fat_corrected_milk
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.needs.nrc_state import NrcState
from rationlp.needs.supply import ration_supply
from rationlp.read.feeds import read_feed_tables

TABLE = read_feed_tables()
GRASS, MAIZE = "grass_silage_1st_typical", "maize_silage_typical"
MIXED = ((GRASS, 8.0), (MAIZE, 4.0), ("barley", 5.0), ("soya_meal_48", 2.0))
MIXED += (("beet_pulp_molassed_dry", 2.5),)
MJ = 4.184
MILKING = {"live_weight_kg": 650.0, "milk_kg_per_day": 30.9, "milk_fat_g_per_kg": 40.0}
MILKING |= {"milk_protein_g_per_kg": 33.0, "week_of_lactation": 15.0}


def ration() -> list[tuple[Feed, float]]:
    """21.5 kg of silages, barley, soya and pulp."""
    return [(TABLE[key], kg) for key, kg in MIXED]


def group(animal_class: str, **facts: float | str) -> Group:
    """A group by NRC (2001)."""
    return Group("g", "G", animal_class, 1, "rationed", dict(facts), standard=NRC)


def energy_of(of: Group) -> NrcEnergy:
    """Its need of energy."""
    need = group_needs(of, Margins()).energy
    assert isinstance(need, NrcEnergy)
    return need


def cow() -> Group:
    """A cow of 650 kg in week 15 with 30.9 kg of 4.0 % fat and 3.3 % protein."""
    return group("dairy_cow_milking", **MILKING)


def heifer(**facts: float | str) -> Group:
    """A heifer of 350 kg that is to weigh 650 and grows 0.75 kg a day."""
    plain: dict[str, float | str] = {"live_weight_kg": 350.0, "mature_weight_kg": 650.0}
    plain |= {"gain_kg_per_day": 0.75, "sex": "heifer", "maturity": "late"}
    return group("growing_cattle", **{**plain, **facts})


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
    """TDN and DE at maintenance, net energy of milk at a discount of 0.92 (N1 to N6)."""
    figures = nrc.nrc_figures(TABLE[key])
    mcal = figures.energy_mj(NrcState(0.92, 3.0, 40.0, 3.0)) / MJ
    assert (*nrc.tdn_and_de(TABLE[key]), mcal) == pytest.approx((tdn, de, nel), rel=5e-4)


def test_net_energy_for_maintenance_and_gain() -> None:
    """The printed cubics at 2.5 Mcal ME: 1.37 ME − 0.138 ME² + 0.0105 ME³ − 1.12 and its like."""
    energies = nrc.net_energies((2.5 + 0.45) / 1.01, 1.0, 0.0)
    assert energies.keep == pytest.approx(1.6066, abs=1e-4)
    assert energies.gain == pytest.approx(1.0031, abs=1e-4)


def test_discount() -> None:
    """15.4 kg TDN of 21.5 kg DM in a cow of 650 kg (N7); none at maintenance, nor on poor feed."""
    need = energy_of(cow())
    assert need.discount(15.4, 21.5) == pytest.approx(0.9086, abs=1e-4)
    assert need.discount(3.0, 4.5) == 1.0
    assert need.discount(10.0, 18.0) == 1.0


def test_cow_in_milk() -> None:
    """Maintenance, milk, their sum, and protein that does not go with eating (N8, N9)."""
    assert nrc_classes.maintenance(650.0) == pytest.approx(10.30, abs=0.005)
    assert 30.9 * nrc_classes.milk_energy(4.0, 3.3) == pytest.approx(22.92, abs=0.005)
    needs = group_needs(cow(), Margins(1.1, 1.1))
    assert energy_of(cow()).required_mj(0.6) / MJ == pytest.approx(33.22, abs=0.01)
    assert needs.mp_required_g == pytest.approx(1565.0, rel=4e-4)
    assert needs.standard == NRC


def test_dry_cow() -> None:
    """700 kg on day 260: maintenance without the calf, pregnancy, protein (N10)."""
    dry = group("dairy_cow_dry", live_weight_kg=700.0, days_to_calving=GESTATION_DAYS - 260.0)
    need = energy_of(dry)
    assert need.em / MJ == pytest.approx(10.14, abs=0.005)
    assert need.fixed_me / MJ == pytest.approx(3.532, abs=0.001)
    assert group_needs(dry, Margins()).mp_g == pytest.approx(443.9, rel=4e-4)


def test_heifer() -> None:
    """Maintenance, energy of growth, weight equivalent, efficiency, protein (N11)."""
    equivalent = nrc_classes.equivalent_weight(350.0, 0.0, 650.0)
    assert equivalent == pytest.approx(257.4, abs=0.05)
    assert nrc_classes.growth_efficiency(equivalent) == pytest.approx(0.5406, abs=1e-4)
    need = energy_of(heifer())
    assert need.em / MJ == pytest.approx(6.959, abs=5e-4)
    assert need.eg / MJ == pytest.approx(2.598, abs=5e-4)
    assert group_needs(heifer(), Margins()).mp_g == pytest.approx(317.3, abs=0.05)


def test_a_heifer_uses_feed_for_maintenance_first() -> None:
    """Enough is (D − Em/nm) ng ≥ RE, the printed order; ours is one sum that says the same."""
    need = energy_of(heifer())
    for key in (GRASS, "grass_silage_1st_late", "barley"):
        feed = TABLE[key]
        own = nrc.net_energies(nrc.tdn_and_de(feed)[1], 1.0, nrc.nrc_figures(feed).over)
        kg = need.em / MJ / own.keep + need.eg / MJ / own.gain
        state = need.level_of_ration([(feed, kg)])
        own = nrc.net_energies(nrc.tdn_and_de(feed)[1], state.delta, nrc.nrc_figures(feed).over)
        exact = need.em / MJ / own.keep + need.eg / MJ / own.gain
        brought = ration_supply([(feed, exact)], _held(need, feed, exact, state), NRC).energy_mj
        assert brought == pytest.approx(need.required_mj(0.6), rel=1e-9)


def _held(need: NrcEnergy, feed: Feed, kg: float, at: NrcState) -> NrcState:
    """What a feed is valued by at a discount held."""
    return need.weighed(at, need.gain_share([(nrc.nrc_figures(feed), kg)], at.delta))


def test_passage_and_degradation() -> None:
    """Intake 3.31 % of weight, 45 % concentrate (N12, N13)."""
    kp = {key: nrc.passage(TABLE[key]).at(3.31, 45.0) for key in (GRASS, "barley", "hay_average")}
    assert kp[GRASS] == pytest.approx(5.086, abs=1e-3)
    assert kp["barley"] == pytest.approx(6.555, abs=1e-3)
    assert kp["hay_average"] == pytest.approx(3.544, abs=1e-3)
    for key, at, degraded, passing in (
        (GRASS, GRASS, 113.6, 28.44),
        ("barley", "barley", 99.07, 18.93),
        ("soya_meal_48", "barley", 316.3, 223.7),
    ):
        figures = nrc.nrc_figures(TABLE[key])
        rdp = figures.protein(kp[at])[0] / 0.85
        assert (rdp, figures.cp_g - rdp) == pytest.approx((degraded, passing), rel=5e-4)


def test_a_whole_ration() -> None:
    """Discount, net energy, microbes, MP, and what is asked for (N14, N15)."""
    need = energy_of(cow())
    state = need.level_of_ration(ration())
    assert state.delta == pytest.approx(0.8817, abs=1e-4)
    assert state.concentrate_percent == pytest.approx(44.19, abs=0.005)
    supply = ration_supply(ration(), state, NRC)
    assert supply.energy_mj / MJ == pytest.approx(34.61, rel=5e-4)
    assert supply.mcp_g == pytest.approx(1861.0, rel=5e-4)
    assert supply.mcp_g is not None
    assert supply.mp_g is not None
    # Ours is MP brought less what eating costs beyond what it brings: both sides of the printed.
    brought = 0.64 * supply.mcp_g + 765.6 + 4.72 * 21.5
    bacterial = 0.64 * supply.mcp_g
    asked = 1565.0 + 30.0 * 21.5 - 0.5 * (bacterial / 0.8 - bacterial) + 4.72 * 21.5 / 0.67
    assert (brought, asked) == pytest.approx((2058.0, 2213.0), rel=5e-4)
    assert supply.mp_g - 1565.0 == pytest.approx(brought - asked, abs=1.5)
    assert supply.mp_g + supply.mp_of_eating_g == pytest.approx(2058.0, rel=5e-4)


def test_minerals_absorbed() -> None:
    """Calcium and phosphorus of the cow above eating 21.5 kg (N16)."""
    minerals = {need.quantity: need for need in group_needs(cow(), Margins()).minerals}
    assert minerals["ca_g_per_kg_dm"].needed_g(21.5) == pytest.approx(58.37, abs=0.01)
    assert minerals["p_g_per_kg_dm"].needed_g(21.5) == pytest.approx(50.61, abs=0.01)


def test_intake() -> None:
    """Of the cow above in week 15, and of a dry cow of 700 kg on day 250 (N17)."""
    fcm = fat_corrected_milk(30.9, 40.0)
    assert dmi_nrc_2001(650.0, fcm, 15.0) == pytest.approx(23.29, abs=0.01)
    assert dmi_nrc_2001_dry(700.0, 250.0) == pytest.approx(13.75, abs=0.01)


def test_reserves() -> None:
    """A kg lost spares 0.82 of 5.7 Mcal, and 138 g MP as under AFRC (1993); put back it asks for
    0.64/0.75 in milk, and for 138/0.67 g.
    """
    needs = group_needs(cow(), Margins())
    for change, factor in ((-0.4, 0.82), (0.4, 0.64 / 0.75)):
        other = group("dairy_cow_milking", **MILKING, live_weight_change_kg_per_day=change)
        apart = energy_of(other).required_mj(0.0) - energy_of(cow()).required_mj(0.0)
        assert apart / MJ == pytest.approx(change * factor * 5.7, rel=1e-9)
        mp = group_needs(other, Margins()).mp_g
        assert mp is not None
        assert needs.mp_g is not None
        efficiency = 0.67 if change > 0.0 else 1.0
        assert mp - needs.mp_g == pytest.approx(change * 138.0 / efficiency, abs=1e-9)


def test_a_fresh_cow_may_be_short_at_a_price() -> None:
    """4 g MP for each MJ that she may take from her back (55 at 600 kg in week 1); none later."""
    fresh = group("dairy_cow_milking", **{**MILKING, "week_of_lactation": 1.0})
    needs, later = group_needs(fresh, Margins()), group_needs(cow(), Margins())
    assert needs.priced_mp_g == pytest.approx(4.0 * 55.0 * 650.0 / 600.0)
    assert needs.mp_wanted_g == pytest.approx(later.mp_wanted_g)
    assert later.priced_mp_g == 0.0


def test_energy_from_the_back_is_loss_of_weight() -> None:
    """31 MJ ME-equivalent are a kg: she spares 0.82 of its 5.7 Mcal."""
    fresh = Group("g", "G", "dairy_cow_milking", 1, "rationed", dict(MILKING), standard=NRC)
    milked_off = Group(
        "g", "G", "dairy_cow_milking", 1, "rationed", dict(MILKING), standard=NRC, reserve_mj=31.0
    )
    spared = energy_of(fresh).required_mj(0.0) - energy_of(milked_off).required_mj(0.0)
    assert spared / MJ == pytest.approx(0.82 * 5.7, rel=1e-6)


def test_first_calver_grows() -> None:
    """Her gain is met as reserves are put back; it stops while she milks off her back."""
    facts = {**MILKING, "live_weight_kg": 560.0, "gain_kg_per_day": 0.3}
    grows = group("first_calver_milking", **facts)
    rests = group("first_calver_milking", **{**facts, "gain_kg_per_day": 0.0})
    shrunk = 0.96 * 560.0 * 478.0 / (0.96 * 560.0 / 0.82)
    re = 0.0635 * (0.891 * shrunk) ** 0.75 * (0.956 * 0.3) ** 1.097
    apart = energy_of(grows).required_mj(0.0) - energy_of(rests).required_mj(0.0)
    assert apart / MJ == pytest.approx(re * 0.64 / 0.75, rel=1e-6)


def test_who_it_holds_for() -> None:
    """Dairy cows and heifers; steers, sucklers and sheep keep AFRC (1993), and are told so."""
    steer = heifer(sex="steer")
    assert standard_of(steer) == AFRC
    assert standard_of(heifer()) == NRC
    told = group_needs(steer, Margins()).remarks
    assert any("NRC (2001) is offered for dairy cows" in remark for remark in told)
    assert second_standard_of(cow()) == NRC
    assert second_standard_of(steer) == "csiro_2007"
    assert any("without margins" in remark for remark in group_needs(cow(), Margins()).remarks)


def test_minerals_urea_and_fat() -> None:
    """No energy of the first two; fat undiscounted, its 2.25-fold in TDN."""
    half = NrcState(0.5, 3.0, 40.0, 3.0)
    fat = TABLE["protected_fat"]
    oil = (fat.value("oil_g_per_kg_dm") or 0.0) / 10.0
    for key in ("limestone", "feed_urea"):
        assert nrc.nrc_figures(TABLE[key]).energy_mj(half) == 0.0
    figures = nrc.nrc_figures(fat)
    assert figures.energy_mj(half) == pytest.approx(MJ * 0.8 * 0.094 * 0.86 * oil)
    assert figures.tdn == pytest.approx(0.0225 * 0.86 * oil)
    urea = nrc.nrc_figures(TABLE["feed_urea"])
    assert urea.at(half)[1] == pytest.approx(0.85 * 2875.0)


def test_other_feeds_are_valued_by_their_own_composition() -> None:
    """Without a class of its own a feed is digested as compound (c), a forage as hay and silage."""
    biscuit = TABLE["biscuit_meal"]
    assert nrc.feed_class(biscuit) == nrc.feed_class(TABLE["dairy_compound_18"])
    lignin, ndf = 0.12 * 8.5, 8.5 - 0.12 * 10.5
    rest = 0.98 * (100.0 - ndf - 10.5 - 12.0 - 3.0)
    rest += 0.75 * (ndf - lignin) * (1.0 - (lignin / ndf) ** 0.667)
    bound = 0.625 * (biscuit.value("adin_g_n_per_kg_dm") or 0.0) or 0.03 * 10.5
    tdn = rest + 10.5 - 0.4 * bound + 2.25 * 11.0 - 7.0
    assert nrc.tdn_and_de(biscuit)[0] == pytest.approx(tdn, rel=1e-6)
    grazed = nrc.tdn_and_de(TABLE["grazed_grass_spring"])
    assert grazed[0] == pytest.approx(100.0 * 11.7 / 16.0 + 1.25 * 3.0, rel=1e-9)
    digested = 20.0 * exp(-1.2 * 0.03)
    assert grazed[1] == pytest.approx(
        0.042 * (grazed[0] + 7.0 - digested - 6.75) + 0.056 * digested + 0.282 - 0.3, rel=0.01
    )
