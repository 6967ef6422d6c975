"""CSIRO (2007) against check figures worked out by hand from its equations (own arithmetic, status
b): its needs, its feeds, and rations under it with their proofs.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from random import Random

import pytest

from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Offer
from rationlp.farm.group import AFRC, CSIRO, Group
from rationlp.model.ration import solve_rations
from rationlp.needs import csiro, group_needs
from rationlp.needs.csiro import CATTLE, SHEEP, CsiroEnergy
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.supply import FRACTIONS
from rationlp.read.feeds import read_feed_tables
from rationlp.rules.blanks import complete


def need(em: float, **terms: float) -> CsiroEnergy:
    """An energy need by its terms."""
    return CsiroEnergy("additive", em=em, **terms)


def growing(animal_em: float, z: float, gain: float, wool_mj: float = 0.0) -> CsiroEnergy:
    """The need of an animal of relative size z that gains so much live weight."""
    empty = gain / csiro.EMPTY_BODY
    over = empty * csiro.gain_energy(z, 0.0) + wool_mj
    return need(animal_em, over_kf=over, eg=empty * csiro.gain_energy_a_level(z))


def at(energy: CsiroEnergy, density: float) -> tuple[float, float]:
    """(ME [MJ/d], level of feeding [-]) at an energy density [MJ/kg DM]."""
    q = density / GE_MJ_PER_KG_DM
    return energy.required_mj(q), energy.feeding_level(q)


STEER_EM, STEER_Z = csiro.fasting(CATTLE, 400.0, 480.0), csiro.size(400.0, 660.0)
STEER = growing(STEER_EM, STEER_Z, 0.9)
EWE_EM = csiro.fasting(SHEEP, 70.0, 1300.0)
EWE_WOOL = csiro.wool_energy(0.00575, 1.0)


def test_steer_of_400_kg() -> None:
    """Fasting heat, size, a kg of gain, ME and level at three densities, protein."""
    assert pytest.approx((30.99, 0.6061), rel=2e-4) == (STEER_EM, STEER_Z)
    assert csiro.gain_energy(STEER_Z, 2.0) == pytest.approx(22.43, rel=2e-4)
    assert csiro.gain_protein(STEER_Z, 2.0) == pytest.approx(103.5, rel=2e-4)
    for density, me, level in ((10, 95.80, 1.811), (11, 90.12, 1.762), (12, 85.24, 1.720)):
        assert at(STEER, density) == pytest.approx((me, level), rel=4e-4)
    grams = csiro.endogenous_protein(CATTLE, 400.0)
    grams += 0.9 / csiro.EMPTY_BODY * csiro.gain_protein(STEER_Z, at(STEER, 11)[1])
    assert grams / csiro.DPLS_EFFICIENCY == pytest.approx(214.2, rel=2e-4)


def test_suckler_cow_in_calf_and_in_milk() -> None:
    """600 kg, calf of 40 kg on day 250 at 9 MJ/kg DM; 10 kg of milk at 10 MJ/kg DM."""
    young, em = csiro.pregnancy_energy(CATTLE, 40.0, 250.0), csiro.fasting(CATTLE, 600.0, 2200.0)
    assert young == pytest.approx(2.932, rel=2e-4)
    assert at(need(em, fixed_me=young / csiro.KP), 9)[0] == pytest.approx(83.47, rel=2e-4)
    assert at(need(em, over_kl=31.0), 10)[0] == pytest.approx(114.3, rel=4e-4)


def test_ewe_with_twins() -> None:
    """70 kg, litter of 8.0 kg on our day 133; the constants are printed to three figures, so that
    pregnancy agrees to 0.4 %.
    """
    day = 133.0 + csiro.SHEEP_DAYS_LATER
    young = csiro.pregnancy_energy(SHEEP, 8.0, day)
    protein = csiro.pregnancy_protein(SHEEP, 8.0, day)
    assert (young, protein) == pytest.approx((1.013, 33.20), rel=4e-3)
    assert pytest.approx(5.671, rel=2e-4) == EWE_EM
    found = at(need(EWE_EM, over_kf=EWE_WOOL, fixed_me=young / csiro.KP), 10.5)
    assert found == pytest.approx((17.29, 1.812), rel=2e-3)
    mp = (csiro.endogenous_protein(SHEEP, 70.0) + protein) / csiro.DPLS_EFFICIENCY
    assert mp + 5.75 / csiro.WOOL_EFFICIENCY == pytest.approx(76.54, rel=2e-3)


def test_ewe_in_milk_and_off_her_back() -> None:
    """3.0 kg of milk at 11 MJ/kg DM; the same while she loses 0.1 kg a day."""
    milk = 3.0 * 4.7
    full = at(need(EWE_EM, over_kf=EWE_WOOL, over_kl=milk), 11)[0]
    assert full == pytest.approx(33.76, rel=2e-3)
    loss = csiro.LOSS_TO_MILK * 0.1 / csiro.EMPTY_BODY * csiro.gain_energy(1.0, 2.0)
    losing = at(need(EWE_EM, over_kf=EWE_WOOL, over_kl=milk - loss), 11)[0]
    assert losing == pytest.approx(30.14, rel=2e-3)


def test_castrate_lamb() -> None:
    """35 kg, 200 days, mature 84 kg, 0.2 kg a day, 4 g of wool, 11 MJ/kg DM."""
    z = csiro.size(35.0, 84.0)
    energy = growing(csiro.fasting(SHEEP, 35.0, 200.0), z, 0.2, csiro.wool_energy(0.004, z))
    me, level = at(energy, 11)
    grams = 0.2 / csiro.EMPTY_BODY * csiro.gain_protein(z, level)
    mp = (csiro.endogenous_protein(SHEEP, 35.0) + grams) / csiro.DPLS_EFFICIENCY
    assert me == pytest.approx(13.25, rel=4e-4)
    assert mp + 4.0 / csiro.WOOL_EFFICIENCY == pytest.approx(55.04, rel=2e-4)


def test_microbes() -> None:
    """Yield at levels 1, 2 and 3."""
    found = [csiro.microbial_yield(level) for level in (1.0, 2.0, 3.0)]
    assert found == pytest.approx([8.477, 9.517, 10.25], rel=4e-4)


def test_slopes_are_those_of_the_need() -> None:
    """First and second derivative against differences, for random animals; the need falls in q."""
    random = Random(7)
    for _ in range(200):
        energy = need(
            random.uniform(5.0, 40.0),
            over_kl=random.uniform(0.0, 30.0),
            over_kf=random.uniform(0.0, 15.0),
            eg=random.uniform(0.0, 2.0),
            fixed_me=random.uniform(0.0, 20.0),
        )
        q, step = random.uniform(0.4, 0.75), 1e-5
        _, first, second = energy.required(q)
        below, above = energy.required(q - step), energy.required(q + step)
        assert first == pytest.approx((above[0] - below[0]) / (2 * step), rel=1e-5)
        assert second == pytest.approx((above[1] - below[1]) / (2 * step), rel=1e-5)
        assert first < 0.0


FORAGES = ("grass_silage_1st_typical", "hay_average", "straw_barley")
CONCENTRATES = ("barley", "soya_meal_48", "minerals_cattle_general")


def drawn(random: Random) -> Farm:
    """A farm of one group of beef cattle, with feeds at random prices."""
    steer: dict[str, float | str] = {"sex": "steer", "maturity": "medium"}
    cow: dict[str, float | str] = {"mature_weight_kg": 650.0, "days_to_calving": 60.0}
    if random.random() < 0.5:
        steer["live_weight_kg"] = random.uniform(280.0, 450.0)
        steer["gain_kg_per_day"] = random.uniform(0.4, 0.9)
        animals, facts = "growing_cattle", steer
    else:
        cow["live_weight_kg"] = random.uniform(560.0, 680.0)
        animals, facts = "suckler_cow_dry", cow
    table, offers = read_feed_tables(), []
    for key in (*FORAGES, *CONCENTRATES):
        bought = key in CONCENTRATES
        price = random.uniform(150.0, 450.0) if bought else random.uniform(30.0, 110.0)
        offers.append(Offer(key, table[key].name, complete(table[key]), bought, price))
    group = Group("g", "Group", animals, 10, "to_appetite", facts, standard=CSIRO)
    when = date(2026, 11, 1), date(2027, 4, 20)
    margins = Margins(1.05, 1.05)
    return Farm("", "T", "GBP", *when, margins, "cost", 0.1, tuple(offers), (), (group,), table)


def test_random_groups_are_proven_and_adequate_by_hand() -> None:
    """Each ration is certified within 0.01 %, and brings the ME and protein of the equations, which
    are summed here once more.
    """
    random, fed = Random(21), 0
    for _ in range(12):
        farm = drawn(random)
        answer = solve_rations(farm).groups[0]
        if answer.proof is None:
            assert answer.status == "none_exists"
            continue
        fed += 1
        assert answer.proof.passed, answer.proof.verdict
        assert answer.proof.gap_relative <= 1e-4
        energy = answer.needs.energy
        assert isinstance(energy, CsiroEnergy)
        assert energy.margin == 1.0
        feeds = {offer.id: offer.feed for offer in farm.offers}
        eaten = [(feeds[amount.offer], amount.kg_dm) for amount in answer.amounts]
        dm = sum(kg for _, kg in eaten)
        me = sum(kg * (feed.value("me_mj_per_kg_dm") or 0.0) for feed, kg in eaten)
        required, level = at(energy, me / dm)
        assert me >= required * (1.0 - 1e-6)
        fme = rdp = digested = 0.0
        for feed, kg in eaten:
            crude = feed.value("cp_g_per_kg_dm") or 0.0
            a, b, c = (feed.value(name) or 0.0 for name in FRACTIONS)
            parts = csiro.supply_of(feed, crude, (a, b, c), level)
            fme, rdp, digested = fme + kg * parts[0], rdp + kg * parts[1], digested + kg * parts[2]
        mcp = min(rdp, csiro.microbial_yield(level) * fme)
        brought = csiro.DPLS_PER_MICROBIAL_CP * mcp + digested
        wanted = (answer.needs.mp_g or 0.0) + csiro.FAECAL_DPLS_G_PER_KG_DM * dm
        assert brought >= wanted * (1.0 - 1e-5)
    assert fed >= 6


def test_dairy_cattle_stay_by_afrc_and_it_is_said() -> None:
    """The standard is offered for beef cattle and sheep only."""
    facts: dict[str, float | str] = {"live_weight_kg": 650.0, "days_to_calving": 40.0}
    cow = Group("g", "Group", "dairy_cow_dry", 10, "to_appetite", facts)
    asked = group_needs(replace(cow, standard=CSIRO), Margins())
    assert asked.standard == AFRC
    assert asked.energy == group_needs(cow, Margins()).energy
    assert any("CSIRO (2007) is offered for beef cattle and sheep" in r for r in asked.remarks)
