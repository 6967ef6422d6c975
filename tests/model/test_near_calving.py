"""Acceptance figure 24: minerals near calving. Dairy Australia, transition cow management (a);
veterinary practice column on grass staggers and a Scottish advisory service 2021 (a); P and the
threshold of lime common practice, no source (c).
"""

from __future__ import annotations

import pytest
from beef_farms import farm, group, kg, ration, supplied

from rationlp.after.cautions import ration_cautions
from rationlp.farm.group import FeedLimit
from rationlp.model.ration import make_blocks

COW: dict[str, float | str] = {"live_weight_kg": 650.0}
SILAGE: dict[str, dict[str, float]] = {
    "grass_silage_1st_typical": {"k_g_per_kg_dm": 17.0},
    "straw_barley": {},
}
LIME = ("limestone", "dicalcium_phosphate", "minerals_cattle_general")


def stated(*keys: str) -> dict[str, dict[str, float]]:
    """Silage, straw and these minerals."""
    return {**SILAGE, **{key: {} for key in keys}}


@pytest.mark.parametrize("animal_class", ["dairy_cow_dry", "suckler_cow_dry"])
def test_no_lime_in_the_last_four_weeks(animal_class: str) -> None:
    """Limestone, phosphate and general minerals are not offered from 28 days, and it is said; at 29
    days they are.
    """
    feeds = stated(*LIME, "calcined_magnesite")
    for days, there in ((28.0, False), (29.0, True)):
        block = make_blocks(farm(group(animal_class, {**COW, "days_to_calving": days}), feeds))[0]
        offered = {offer.id for offer in block.offers}
        assert all((key in offered) == there for key in LIME)
        assert any("brings on milk fever" in remark for remark in block.needs.remarks) != there
        assert "calcined_magnesite" in offered


def test_lime_may_not_be_forced_on_a_cow_about_to_calve() -> None:
    """A floor of the farm's own under limestone is an error; after calving limestone is right."""
    from rationlp.errors import InputError

    floor = FeedLimit("limestone", 0.05, None, None, None)
    near = group("dairy_cow_dry", {**COW, "days_to_calving": 14.0}, "to_appetite", floor)
    with pytest.raises(InputError, match="IN770"):
        make_blocks(farm(near, stated("limestone", "minerals_dry_cow")))
    milking = group(
        "suckler_cow_milking",
        {**COW, "milk_kg_per_day": 9.0, "week_of_lactation": 2.0},
        "to_appetite",
        floor,
    )
    block = make_blocks(farm(milking, stated("limestone", "minerals_suckler_high_mg")))[0]
    assert "limestone" in {offer.id for offer in block.offers}


@pytest.mark.parametrize("days", [14.0, 27.0, 50.0])
def test_calcium_of_4_to_6_g_is_left_alone(days: float) -> None:
    """Silage of 5 g/kg and straw: no calcium is bought from eight weeks out; 60 days out the
    requirement holds.
    """
    feeds = stated("limestone", "minerals_dry_cow", "calcined_magnesite")
    answer = ration(group("dairy_cow_dry", {**COW, "days_to_calving": days}), feeds)
    assert kg(answer, "limestone") == 0.0
    assert not any("alcium is" in remark and "short" in remark for remark in answer.remarks)
    far = make_blocks(farm(group("dairy_cow_dry", {**COW, "days_to_calving": 60.0}), feeds))[0]
    assert (
        next(need for need in far.needs.minerals if need.quantity == "ca_g_per_kg_dm").absorbed_g
        > 0.0
    )


def test_phosphorus_is_never_bought_for_cows_about_to_calve() -> None:
    """No need of phosphorus in the last four weeks; five weeks out there is one."""
    for days, needed in ((20.0, False), (35.0, True)):
        block = make_blocks(
            farm(
                group("dairy_cow_dry", {**COW, "days_to_calving": days}), stated("minerals_dry_cow")
            )
        )[0]
        need = next(need for need in block.needs.minerals if need.quantity == "p_g_per_kg_dm")
        assert (need.needed_g(11.0) > 0.0) == needed


@pytest.mark.parametrize("mineral", ["minerals_dry_cow", "minerals_close_up"])
def test_magnesium_of_dry_dairy_cows_silences_the_caution(mineral: str) -> None:
    """4 g/kg DM in the last four weeks with magnesite on the list; without it the caution on
    magnesium is there.
    """
    animals = group("dairy_cow_dry", {**COW, "days_to_calving": 14.0})
    with_it = stated(mineral, "calcined_magnesite")
    answer = ration(animals, with_it)
    assert supplied(answer, "mg_g") / (answer.dm_kg or 1.0) >= 4.0 - 1e-5
    assert "milk_fever_magnesium" not in {
        caution.id for caution in ration_cautions(farm(animals, with_it), answer)
    }


def test_the_close_up_mineral_brings_no_calcium() -> None:
    """Below the 1.1 % calcium of a dry-cow mineral (trade text), rich in magnesium, and not for
    sheep.
    """
    block = make_blocks(
        farm(group("dairy_cow_dry", {**COW, "days_to_calving": 14.0}), stated("minerals_close_up"))
    )[0]
    feed = next(offer.feed for offer in block.offers if offer.id == "minerals_close_up")
    assert (feed.value("ca_g_per_kg_dm") or 0.0) < 11.0
    assert (feed.value("mg_g_per_kg_dm") or 0.0) >= 200.0


MILKING: dict[str, float | str] = {**COW, "milk_kg_per_day": 9.0, "week_of_lactation": 8.0}
DRY: dict[str, float | str] = {**COW, "days_to_calving": 70.0}


@pytest.mark.parametrize(
    ("animal_class", "facts", "potash", "magnesium"),
    [
        ("suckler_cow_milking", MILKING, 17.0, 30.0), ("suckler_cow_milking", MILKING, 24.0, 40.0),
        ("suckler_cow_dry", DRY, 17.0, 20.0), ("suckler_cow_dry", DRY, 24.0, 30.0),
    ],
)  # fmt: skip
def test_magnesium_of_sucklers(
    animal_class: str, facts: dict[str, float | str], potash: float, magnesium: float
) -> None:
    """30 g in milk, 20 dry, 10 more where forage is above 20 g potassium a kg and magnesite is on
    the list to bring it.
    """
    feeds: dict[str, dict[str, float]] = {
        "grass_silage_1st_typical": {"k_g_per_kg_dm": potash}, "straw_barley": {},
        "minerals_suckler_high_mg": {},
    }  # fmt: skip
    animals = group(animal_class, facts)
    answer = ration(animals, {**feeds, "calcined_magnesite": {}})
    assert supplied(answer, "mg_g") >= magnesium - 1e-6
    need = next(line for line in answer.supply if line.quantity == "mg_g")
    assert need.target == pytest.approx(magnesium)
    cautions = {
        caution.id
        for caution in ration_cautions(farm(animals, {**feeds, "calcined_magnesite": {}}), answer)
    }
    assert not any(name.startswith("staggers_suckler") for name in cautions)
    without = next(line for line in ration(animals, feeds).supply if line.quantity == "mg_g")
    assert without.target == pytest.approx(
        min(magnesium, 30.0 if animal_class == "suckler_cow_milking" else 20.0)
    )


def test_much_magnesite_is_said() -> None:
    """Above 50 g: cattle leave it; 30 g is not worth a word."""
    from rationlp.model.fed import fed_supply

    animals = group("suckler_cow_milking", MILKING)
    for grams, word in ((0.060, True), (0.030, False)):
        whole = farm(animals, stated("calcined_magnesite", "minerals_suckler_high_mg"))
        answer = fed_supply(
            whole, {"pen": {"grass_silage_1st_typical": 11.0, "calcined_magnesite": grams}}
        )[0]
        assert (
            any("calcined magnesite a head is more" in remark for remark in answer.remarks) == word
        )
