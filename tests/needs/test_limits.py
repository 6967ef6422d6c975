"""The class map and the diet limits: data that is whole, and the row that holds for an animal."""

from __future__ import annotations

import pytest

from rationlp.needs import KNOWN_CLASSES
from rationlp.needs.limits import (
    PROTEIN,
    class_row,
    class_rows,
    diet_limits,
    typical_density,
    with_protein_by_weight,
    with_urea_by_weight,
)
from rationlp.needs.objects import DietLimit
from rationlp.quantities import quantities

COLUMNS = sorted({row.diet_column for row in class_rows() if row.diet_column})
LIMITS = [(column, limit) for column in COLUMNS for limit in diet_limits(column)]


def _row(column: str, quantity: str) -> DietLimit:
    found = [
        limit for limit in diet_limits(column) if limit.quantity == quantity and limit.kind == "row"
    ]
    assert len(found) == 1
    return found[0]


def test_every_known_class_has_rows_in_the_map() -> None:
    """The class map holds exactly the known classes."""
    assert {row.animal_class for row in class_rows()} == set(KNOWN_CLASSES)


@pytest.mark.parametrize("animal_class", KNOWN_CLASSES)
def test_the_last_row_of_a_class_always_holds(animal_class: str) -> None:
    """An animal of any facts finds a row of its class."""
    assert class_row(animal_class, {}).animal_class == animal_class


@pytest.mark.parametrize("column", COLUMNS)
def test_every_diet_column_has_limits(column: str) -> None:
    """A column that a class reads has oil, protein, starch and straw rows."""
    rows = {limit.quantity for limit in diet_limits(column) if limit.kind == "row"}
    assert {
        "oil_g_per_kg_dm",
        "cp_g_per_kg_dm",
        "starch_g_per_kg_dm",
        "straw_share",
        "urea_g_per_kg_dm",
    } <= rows


@pytest.mark.parametrize(("column", "limit"), LIMITS)
def test_every_limit_is_whole(column: str, limit: DietLimit) -> None:
    """Each limit has a known quantity in its own unit, a bound in order, a kind, a status and a
    source.
    """
    assert quantities()[limit.quantity].unit == limit.unit
    assert limit.at_least is not None or limit.at_most is not None
    if limit.at_least is not None and limit.at_most is not None:
        assert limit.at_least < limit.at_most
    assert limit.kind in {"row", "priced", "reported"}
    assert limit.status in {"a", "b", "c"}
    assert limit.whose


@pytest.mark.parametrize("column", COLUMNS)
def test_protein_ceilings_and_energy_density_are_reported_only(column: str) -> None:
    """Crude protein is a floor in the model, a ceiling only for cows that lack the energy to burn
    it; energy density is no row.
    """
    ceiling = 200.0 if column == "dairy_early_high" else None
    assert _row(column, "cp_g_per_kg_dm").at_most == ceiling
    assert not [
        limit
        for limit in diet_limits(column)
        if limit.quantity == "me_mj_per_kg_dm" and limit.kind == "row"
    ]


@pytest.mark.parametrize(
    ("column", "floor"),
    [
        ("dairy_early_high", 140.0),
        ("dairy_mid_late", 140.0),
        ("growing", 90.0),
        ("calf", 120.0),
        ("finishing_forage", 90.0),
        ("finishing_cereal", 110.0),
        ("dry_far_off", 95.0),
        ("dry_close_up", 100.0),
        ("suckler_dry", 85.0),
        ("suckler_milking", 85.0),
    ],
)
def test_protein_floor_of_a_column(column: str, floor: float) -> None:
    """Crude protein floors [g/kg DM]: milking 140, calves 120, growing and finishing on forage 90,
    on cereals 110, dry dairy cows 95 and 100, sucklers 85 (common practice).
    """
    assert _row(column, "cp_g_per_kg_dm").at_least == floor


@pytest.mark.parametrize(
    ("column", "quantity", "bound"),
    [
        ("dairy_early_high", "ndf_g_per_kg_dm", 280.0),
        ("growing", "ndf_g_per_kg_dm", 330.0),
        ("dairy_early_high", "forage_ndf_g_per_kg_dm", 150.0),
        ("dairy_early_high", "forage_share", 0.40),
        ("finishing_cereal", "ndf_g_per_kg_dm", 150.0),
        ("suckler_dry", "forage_share", 0.70),
    ],
)
def test_the_floor_is_the_row_and_the_target_is_reported(
    column: str, quantity: str, bound: float
) -> None:
    """Where a floor and a target are published, the model keeps the floor."""
    assert _row(column, quantity).at_least == bound


def test_forage_fed_finishing_cattle_have_no_starch_and_sugar_ceiling() -> None:
    """Finishing cattle on forage have no ceiling on starch and sugar together, only a wish for more
    than 330.
    """
    limits = [
        limit
        for limit in diet_limits("finishing_forage")
        if limit.quantity == "starch_and_sugar_g_per_kg_dm"
    ]
    assert [(limit.kind, limit.at_least, limit.at_most) for limit in limits] == [
        ("reported", 330.0, None)
    ]


@pytest.mark.parametrize(
    ("column", "weight", "least"),
    [
        ("growing", 250.0, 140.0), ("growing", 300.0, 140.0), ("growing", 301.0, 125.0),
        ("growing", 600.0, 120.0),
        ("finishing_cereal", 240.0, 160.0), ("finishing_cereal", 350.0, 140.0),
        ("finishing_cereal", 500.0, 120.0),
    ],
)  # fmt: skip
def test_advice_on_protein_goes_by_weight(column: str, weight: float, least: float) -> None:
    """Growing cattle 140, 125, 120 and cereal-fed bulls 160, 140, 120 g/kg DM as they grow (common
    practice); only said.
    """
    said = [
        limit
        for limit in with_protein_by_weight(diet_limits(column), column, weight)
        if limit.quantity == PROTEIN
    ]
    assert [limit.at_least for limit in said if limit.kind == "reported"] == [least]
    assert with_protein_by_weight(diet_limits("suckler_dry"), "suckler_dry", weight) == diet_limits(
        "suckler_dry"
    )


@pytest.mark.parametrize(
    ("animal_class", "facts", "column"),
    [
        (
            "dairy_cow_milking",
            {"milk_kg_per_day": 28.0, "week_of_lactation": 30.0},
            "dairy_early_high",
        ),
        (
            "dairy_cow_milking",
            {"milk_kg_per_day": 27.9, "week_of_lactation": 30.0},
            "dairy_mid_late",
        ),
        (
            "dairy_cow_milking",
            {"milk_kg_per_day": 20.0, "week_of_lactation": 14.0},
            "dairy_early_high",
        ),
        (
            "dairy_cow_milking",
            {"milk_kg_per_day": 20.0, "week_of_lactation": 15.0},
            "dairy_mid_late",
        ),
        (
            "first_calver_milking",
            {"milk_kg_per_day": 22.0, "week_of_lactation": 20.0},
            "dairy_mid_late",
        ),
        ("dairy_cow_dry", {"days_to_calving": 22.0}, "dry_far_off"),
        ("dairy_cow_dry", {"days_to_calving": 21.0}, "dry_close_up"),
        ("in_calf_heifer", {"days_to_calving": 57.0}, "growing"),
        ("in_calf_heifer", {"days_to_calving": 56.0}, "dry_far_off"),
        ("in_calf_heifer", {"days_to_calving": 21.0}, "dry_close_up"),
        ("finishing_cattle", {}, "finishing_forage"),
        ("finishing_cattle", {"system": "silage_based"}, "finishing_forage"),
        ("finishing_cattle", {"system": "cereal_based"}, "finishing_cereal"),
        ("breeding_bull", {}, "suckler_dry"),
        ("cull_cow", {}, "cull_cow"),
        ("stated", {}, ""),
    ],
)
def test_a_class_switches_its_column(
    animal_class: str, facts: dict[str, float | str], column: str
) -> None:
    """A class reads another column at 28 kg milk, after 14 weeks, at 21 and 56 days to calving, on
    cereals.
    """
    assert class_row(animal_class, facts).diet_column == column


def test_typical_density_is_the_middle_of_the_usual_range() -> None:
    """Growing cattle are usually fed 10.5 to 11.5 MJ/kg DM (English levy board); without a column
    11 is taken.
    """
    assert typical_density(diet_limits("growing")) == pytest.approx(11.0)
    assert typical_density(diet_limits("finishing_cereal")) == pytest.approx(12.2)
    assert typical_density(()) == 11.0


def test_urea_is_held_to_live_weight_as_well() -> None:
    """A 600 kg cow eating 22 kg DM may have 180 g urea a day, 8.2 g/kg DM (EFSA summary; status
    a).
    """
    limits = with_urea_by_weight(diet_limits("dairy_mid_late"), 600.0, 22.0)
    urea = next(
        limit for limit in limits if limit.quantity == "urea_g_per_kg_dm" and limit.kind == "row"
    )
    assert urea.at_most == pytest.approx(180.0 / 22.0)


def test_urea_stays_at_ten_grams_where_weight_allows_more() -> None:
    """A light eater keeps the limit of 10 g/kg DM."""
    limits = with_urea_by_weight(diet_limits("growing"), 400.0, 8.0)
    assert limits == diet_limits("growing")


def test_calves_get_no_urea() -> None:
    """Urea for calves is nil (common practice)."""
    assert _row("calf", "urea_g_per_kg_dm").at_most == 0.0
