"""Every caution in both directions: a farm or ration that calls for it and one, as near as can be,
that does not.
"""

from __future__ import annotations

from collections.abc import Callable

from plates import Facts, Food, analysed, animals, eaten, forage, ids, of, stored

from rationlp.farm.group import Feeding

Case = Callable[[], set[str]]
COWS, DRY, SUCKLERS = (
    animals("dairy_cow_milking"),
    animals("dairy_cow_dry", {"days_to_calving": 14.0}),
    "suckler_cow_milking",
)
LAMBS = animals("lamb", {"sex": "castrate"})


def ewes(days: float = 20.0, lambs: float = 2.0) -> Facts:
    """Facts of ewes in lamb."""
    return {"days_to_lambing": days, "lambs_carried": lambs}


def fed(animal: str, *foods: Food, facts: Facts | None = None) -> Case:
    """Which cautions a ration calls for."""
    return lambda: ids(eaten(animals(animal, facts), list(foods)))


def store(
    food: Food | None = None, kind: str = "clamp", animal: str = "dairy_cow_milking", **more: object
) -> Case:
    """Which cautions a store, or the feed in it, calls for."""
    facts = ewes() if animal == "ewe_pregnant" else None
    return lambda: ids(stored(animals(animal, facts), food or analysed(), kind, **more))


def sheet(
    yes: dict[str, float],
    no: dict[str, float],
    animal: str = "dairy_cow_milking",
    sort: str = "grass_silage",
) -> tuple[Case, Case]:
    """A laboratory figure that calls for a caution, and one that does not."""
    return store(analysed(sort=sort, **yes), animal=animal), store(
        analysed(sort=sort, **no), animal=animal
    )


def diet(
    animal: str, quantity: str, yes: float, no: float, facts: Facts | None = None
) -> tuple[Case, Case]:
    """One figure of the whole diet on either side."""
    return tuple(fed(animal, forage(**{quantity: value}), facts=facts) for value in (yes, no))  # type: ignore[return-value]


def part(
    animal: str, food: Food, yes: float, no: float, facts: Facts | None = None
) -> tuple[Case, Case]:
    """A feed at one share of ten kg DM and at another."""
    cases = [
        (
            fed(animal, forage(10.0 - kg), Food(kg, food.kind, food.figures, food.key), facts=facts)
            if kg
            else fed(animal, forage(), facts=facts)
        )
        for kg in (yes, no)
    ]
    return cases[0], cases[1]


def nitrate(n_mg: float) -> Food:
    """Forage with so many mg nitrate nitrogen per kg DM on its sheet, which prints nitrate."""
    return analysed(nitrate_g_per_kg_dm=n_mg * 4.43 / 1000.0)


def band(yes: float, no: float, animal: str = "dairy_cow_milking") -> tuple[Case, Case]:
    """Two feeds by their nitrate nitrogen."""
    return store(nitrate(yes), animal=animal), store(nitrate(no), animal=animal)


def core(yes: float, no: float) -> tuple[Case, Case]:
    """Two stacks by their core temperature."""
    return tuple(store(kind="bales", core_temperature_c=value) for value in (yes, no))  # type: ignore[return-value]


def seen(sign: str) -> tuple[Case, Case]:
    """A sign seen in a store, and a store without it."""
    return store(kind="bales", seen=(sign,)), store(kind="bales")


UREA = of("npn", cp_g_per_kg_dm=2875.0, starch_g_per_kg_dm=0.0, sugar_g_per_kg_dm=0.0)
WITH_UREA = of("npn", 0.05, starch_g_per_kg_dm=0.0, sugar_g_per_kg_dm=0.0)
SALTS = {"na_g_per_kg_dm": 2.0, "cl_g_per_kg_dm": 5.0, "s_g_per_kg_dm": 3.0}
STARCHY = {"starch_g_per_kg_dm": 260.0, "sugar_g_per_kg_dm": 0.0}
LEAN = {"starch_g_per_kg_dm": 150.0, "sugar_g_per_kg_dm": 0.0}

RATIONS: dict[str, tuple[Case, Case]] = {
    "acidosis_forage_cattle": part("finishing_cattle", of("cereal"), 6.1, 5.9),
    "acidosis_cereal_cattle": diet(
        "finishing_cattle", "starch_g_per_kg_dm", 251.0, 249.0, {"system": "cereal_based"}
    ),
    "acidosis_straw_cereal_cattle": part(
        "finishing_cattle", of("cereal"), 9.1, 8.9, {"system": "cereal_based"}
    ),
    "ammonia_forage": part("suckler_cow_dry", of("straw", key="straw_ammonia_treated"), 0.1, 0.0),
    "caustic_grain": part("finishing_cattle", of("cereal", key="wheat_caustic_treated"), 0.1, 0.0),
    "mixer_wagon": (
        lambda: ids(eaten(COWS, [forage()], feeding=Feeding(wagon="vertical"))),
        lambda: ids(eaten(COWS, [forage()])),
    ),
    "bulls_handled": (fed("breeding_bull", forage()), fed("suckler_cow_dry", forage())),
    "mineral_dust": part("ewe_dry", of("mineral"), 0.01, 0.0),
    "acidosis_forage_ewes_in_lamb": part("ewe_pregnant", of("cereal"), 6.1, 5.9, ewes()),
    "acidosis_forage_ewes_milking": part("ewe_milking", of("cereal"), 6.6, 6.4),
    "acidosis_forage_lambs": part("lamb", of("cereal"), 9.3, 9.1),
    "acidosis_fibre_cattle": diet("calf", "ndf_g_per_kg_dm", 279.0, 280.0),
    "acidosis_starch_sugar_cattle": (
        fed("calf", Food(9.0, figures=STARCHY)),
        fed("calf", Food(9.0, figures=LEAN)),
    ),
    "acidosis_starch_sugar_ewes": (
        fed("ewe_milking", Food(2.0, figures=STARCHY)),
        fed("ewe_milking", Food(2.0, figures=LEAN)),
    ),
    "acidosis_wheat_lambs": part("lamb", of("cereal", key="wheat"), 2.1, 1.9),
    "meal_size_ewes": (
        fed("ewe_milking", of("cereal", 0.26)),
        fed("ewe_milking", of("cereal", 0.24)),
    ),
    "meal_size_dairy": (
        fed("dairy_cow_milking", of("cereal", 4.1)),
        fed("dairy_cow_milking", of("cereal", 3.9)),
    ),
    "meal_size_cattle": (
        fed("growing_cattle", of("cereal", 1.3)),
        fed("growing_cattle", of("cereal", 1.2)),
    ),
    "change_over": diet("suckler_cow_dry", "starch_g_per_kg_dm", 61.0, 59.0),
    "oil_cattle": diet("dairy_cow_dry", "oil_g_per_kg_dm", 61.0, 60.0),
    "oil_sheep": diet("lamb", "oil_g_per_kg_dm", 51.0, 50.0),
    "urea_sheep": part("ewe_dry", UREA, 0.01, 0.0),
    "urea_calves": part("calf", UREA, 0.01, 0.0),
    "urea_cattle_most": part("growing_cattle", UREA, 0.11, 0.10),
    "urea_share_of_protein": (
        fed(
            "growing_cattle",
            forage(9.9, cp_g_per_kg_dm=50.0),
            Food(0.1, "npn", {"cp_g_per_kg_dm": 2875.0}),
        ),
        fed(
            "growing_cattle",
            forage(9.9, cp_g_per_kg_dm=70.0),
            Food(0.1, "npn", {"cp_g_per_kg_dm": 2875.0}),
        ),
    ),
    "urea_without_sugar": (
        fed("growing_cattle", forage(starch_g_per_kg_dm=60.0, sugar_g_per_kg_dm=30.0), WITH_UREA),
        fed("growing_cattle", forage(starch_g_per_kg_dm=60.0, sugar_g_per_kg_dm=50.0), WITH_UREA),
    ),
    "urea_fed": part("growing_cattle", UREA, 0.01, 0.0),
    "copper_sheep_most": diet("ewe_dry", "cu_mg_per_kg_dm", 15.1, 15.0),
    "copper_sheep_raised": diet("ram", "cu_mg_per_kg_dm", 10.1, 10.0),
    "copper_sheep_unknown": (fed("ewe_dry", forage()), fed("ewe_dry", forage(cu_mg_per_kg_dm=6.0))),
    "copper_sheep_cattle_feeds": part(
        "ewe_dry", of("mineral", key="minerals_cattle_general"), 0.01, 0.0
    ),
    "copper_cattle_raised": diet("dairy_cow_dry", "cu_mg_per_kg_dm", 31.0, 30.0),
    "milk_fever_potassium": diet(
        "dairy_cow_dry", "k_g_per_kg_dm", 18.5, 17.5, {"days_to_calving": 28.0}
    ),
    "milk_fever_calcium": diet(
        "dairy_cow_dry", "ca_g_per_kg_dm", 6.1, 5.9, {"days_to_calving": 28.0}
    ),
    "milk_fever_magnesium": diet(
        "dairy_cow_dry", "mg_g_per_kg_dm", 3.9, 4.0, {"days_to_calving": 28.0}
    ),
    "milk_fever_dcad": (
        lambda: ids(eaten(DRY, [analysed(k_g_per_kg_dm=9.0, **SALTS)])),
        lambda: ids(eaten(DRY, [analysed(k_g_per_kg_dm=5.0, **SALTS)])),
    ),
    "calcium_ewes_in_lamb": part("ewe_pregnant", of("straw"), 5.1, 4.9, ewes(42.0)),
    "staggers_suckler_milking": (
        fed(SUCKLERS, forage(mg_g_per_kg_dm=2.9, k_g_per_kg_dm=20.0)),
        fed(SUCKLERS, forage(mg_g_per_kg_dm=3.0, k_g_per_kg_dm=20.0)),
    ),
    "staggers_suckler_milking_potash": (
        fed(SUCKLERS, forage(mg_g_per_kg_dm=3.9, k_g_per_kg_dm=21.0)),
        fed(SUCKLERS, forage(mg_g_per_kg_dm=3.9, k_g_per_kg_dm=20.0)),
    ),
    "staggers_suckler_dry": (
        fed("suckler_cow_dry", forage(mg_g_per_kg_dm=1.9, k_g_per_kg_dm=15.0)),
        fed("suckler_cow_dry", forage(mg_g_per_kg_dm=2.0, k_g_per_kg_dm=15.0)),
    ),
    "staggers_suckler_dry_potash": (
        fed("suckler_cow_dry", forage(mg_g_per_kg_dm=2.9, k_g_per_kg_dm=21.0)),
        fed("suckler_cow_dry", forage(mg_g_per_kg_dm=3.0, k_g_per_kg_dm=21.0)),
    ),
    "staggers_ratio": (
        fed("ewe_milking", forage(k_g_per_kg_dm=30.0, ca_g_per_kg_dm=4.0, mg_g_per_kg_dm=1.5)),
        fed("ewe_milking", forage(k_g_per_kg_dm=25.0, ca_g_per_kg_dm=5.0, mg_g_per_kg_dm=2.0)),
    ),
    "sulphur_load": diet("growing_cattle", "s_g_per_kg_dm", 4.1, 4.0),
    "twin_lamb_energy": diet("ewe_pregnant", "me_mj_per_kg_dm", 0.99, 1.01, ewes(28.0)),
    "twin_lamb_no_sudden_cut": (
        fed("ewe_pregnant", forage(), facts=ewes(28.0)),
        fed("ewe_pregnant", forage(), facts=ewes(29.0)),
    ),
    "colostrum_protein": diet("ewe_pregnant", "cp_g_per_kg_dm", 19.0, 21.0, ewes(21.0)),
    "single_ewes_overfed": diet("ewe_pregnant", "me_mj_per_kg_dm", 1.21, 1.19, ewes(28.0, 1.0)),
    "stones_male_lambs_cereals": (
        lambda: ids(eaten(LAMBS, [forage(4.0), of("cereal", 6.0)])),
        lambda: ids(eaten(LAMBS, [forage(6.0), of("cereal", 4.0)])),
    ),
    "stones_male_lambs_ratio": (
        lambda: ids(eaten(LAMBS, [forage(ca_g_per_kg_dm=5.9, p_g_per_kg_dm=3.0)])),
        lambda: ids(eaten(LAMBS, [forage(ca_g_per_kg_dm=6.1, p_g_per_kg_dm=3.0)])),
    ),
    "brassica_share": part("ewe_dry", of("root", key="kale"), 5.1, 4.9),
    "brassica_fed": part("ewe_dry", of("root", key="swedes"), 0.1, 0.0),
    "fodder_beet_weight": (
        fed("growing_cattle", of("root", 0.49, "fodder_beet")),
        fed("growing_cattle", of("root", 0.47, "fodder_beet")),
    ),
    "fodder_beet_share": part("growing_cattle", of("root", key="fodder_beet"), 7.1, 6.9),
    "potato_share": part("growing_cattle", of("root", key="potatoes"), 5.1, 4.9),
    "potato_fed": part("growing_cattle", of("root", key="potatoes"), 0.1, 0.0),
    "choke_roots": part("suckler_cow_dry", of("root", key="carrots"), 0.1, 0.0),
    "choke_roots_sheep": part("ewe_dry", of("root", key="carrots"), 0.1, 0.0),
    "water_ewes": diet("ewe_milking", "dm_g_per_kg", 610.0, 590.0),
}

FARMS: dict[str, tuple[Case, Case]] = {
    "nitrate_in_calf": band(1001.0, 999.0, "dairy_cow_dry"),
    "nitrate_half": band(1501.0, 1499.0),
    "nitrate_third": band(2001.0, 1999.0),
    "nitrate_quarter": band(3501.0, 3499.0),
    "nitrate_refused": band(4001.0, 3999.0),
    "silage_ph_sheep": sheet({"ph": 5.5}, {"ph": 5.4}),
    "silage_ph_raised": sheet({"ph": 4.6}, {"ph": 4.5}, "ewe_dry"),
    "silage_ash_raised": sheet({"ash_g_per_kg_dm": 101.0}, {"ash_g_per_kg_dm": 100.0}),
    "silage_ash_high": sheet({"ash_g_per_kg_dm": 121.0}, {"ash_g_per_kg_dm": 120.0}),
    "silage_soil": seen("soil"),
    "litter_field": seen("litter_field"),
    "mould_breeding": seen("mould"),
    "ragwort": seen("ragwort"),
    "heated_forage": seen("heated"),
    "hay_moist_mould": sheet({"dm_g_per_kg": 849.0}, {"dm_g_per_kg": 850.0}, sort="hay"),
    "hay_moist_heating": sheet({"dm_g_per_kg": 819.0}, {"dm_g_per_kg": 820.0}, sort="hay"),
    "hay_core_watch": core(50.0, 49.0),
    "hay_core_rising": core(60.0, 59.0),
    "hay_core_hot": core(66.0, 65.0),
    "hay_core_alarm": core(71.0, 70.0),
    "hay_core_fire": core(82.0, 81.0),
    "silage_gas": (store(filled="2026-09-25"), store(filled="2026-09-24")),
    "face_above_reach": (
        store(height_m=4.0, machine_reach_m=3.9),
        store(height_m=4.0, machine_reach_m=4.0),
    ),
    "face_tall": (store(height_m=5.0), store(height_m=4.9)),
    "face_collapse": (store(height_m=2.1), store(height_m=2.0)),
    "clamp_top": (store(height_m=2.1), store(height_m=2.1, kind="stack")),
    "big_bales_stacked": (
        store(kind="bales", weight_kg=100.0),
        store(kind="bales", weight_kg=99.0),
    ),
    "effluent": sheet({"dm_g_per_kg": 249.0}, {"dm_g_per_kg": 250.0}),
}
CASES = {**RATIONS, **FARMS}
