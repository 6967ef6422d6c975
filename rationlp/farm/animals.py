"""The facts of each animal class: which keys a group of that class has, their units, and the range
a figure must lie in.

The ranges are common practice, no source (c): outside them lies a slip of unit or an animal that is
not of that class.
"""

from __future__ import annotations

from rationlp.records import dataclass

Facts = dict[str, float | str]
GESTATION_OF_COWS = 281.0
"""Length of gestation [d]: AFRC (1993), from memory (b). By breed 280–289."""


@dataclass(frozen=True)
class Fact:
    """One fact of a class of animals, or size of a kind of store. choices: for a word; low, high:
    for a number, both 0 for a date; whole: it counts something. default None on a fact that is not
    required: the key is left out, and the needs take it from another fact.
    """

    key: str
    words: str
    required: bool = False
    low: float = 0.0
    high: float = 0.0
    default: float | str | None = None
    choices: tuple[str, ...] = ()
    whole: bool = False


def _weight(low: float, high: float) -> Fact:
    return Fact("live_weight_kg", "live weight in kg", True, low, high)


def _milk(high: float) -> tuple[Fact, ...]:
    return (
        Fact("milk_kg_per_day", "milk in kg a day", True, 1.0, high),
        Fact("week_of_lactation", "weeks since calving", True, 1.0, 80.0),
        Fact(
            "live_weight_change_kg_per_day", "live-weight change in kg a day", False, -0.7, 1.0, 0.0
        ),
        Fact("days_pregnant", "days since she conceived", False, 0.0, 285.0, 0.0),
        *_CONDITION,
        *_CALF,
    )


_DAIRY_MILK = (
    Fact(
        "milk_305_day_kg", "milk of 305 days in kg, in place of milk a day", False, 1500.0, 14000.0
    ),
    Fact("milk_curve", "word for milk through the winter", choices=("lactation", "flat")),
    Fact("milk_curve_b", "b of the herd's own lactation curve", False, 0.02, 0.40),
    Fact("milk_curve_c", "c of the herd's own lactation curve, a week", False, 0.004, 0.06),
    Fact("condition_score", "condition score (1 to 5)", False, 1.0, 5.0),
    Fact("forage_intake_factor", "the herd's forage intake beside the usual", False, 0.8, 1.2),
)
CONDITION_SCORE_SHARE_OF_WEIGHT = 0.125
"""One condition score (1 to 5) as a share of live weight: 12–13 %; common practice (c)."""

SHEEP_SCORE_SHARE_OF_WEIGHT = 0.10
"""The same for ewes: about 10 %; a UK feed trade's page on ewes (2018), status (a)."""

_CONDITION = (
    Fact("condition_score_change", "change of condition score (1 to 5)", False, -1.5, 1.5),
    Fact("condition_change_days", "days in which the score changes", False, 14.0, 250.0),
)
_CALF = (
    Fact("mature_weight_kg", "mature weight in kg", False, 350.0, 1000.0),
    Fact("calf_weight_kg", "weight of the calf at birth in kg", False, 20.0, 70.0),
)
_DAIRY_SOLIDS = (
    Fact("milk_fat_g_per_kg", "milk fat in g/kg", True, 25.0, 65.0),
    Fact("milk_protein_g_per_kg", "milk crude protein in g/kg", True, 25.0, 45.0),
    Fact("milk_lactose_g_per_kg", "milk lactose in g/kg", False, 40.0, 55.0),
)
_DRY = (
    Fact("days_to_calving", "days to calving", True, 0.0, 280.0),
    Fact("live_weight_change_kg_per_day", "live-weight change in kg a day", False, -0.7, 1.0, 0.0),
    *_CONDITION,
    *_CALF,
)
_SEX = Fact("sex", "sex", True, choices=("bull", "steer", "heifer"))
_MATURITY = Fact("maturity", "maturity", True, choices=("early", "medium", "late"))


_SYSTEM = Fact(
    "system",
    "feeding system",
    False,
    default="silage_based",
    choices=("silage_based", "cereal_based"),
)
_SALE = Fact("sale_weight_kg", "live weight in kg at which they leave", False, 250.0, 1200.0)
_KEPT = Fact(
    "kept",
    "place where they are kept",
    False,
    default="housed",
    choices=("housed", "lowland", "hill"),
)
_SHEEP_CHANGE = Fact(
    "live_weight_change_kg_per_day", "live-weight change in kg a day", False, -0.1, 0.3, 0.0
)
_SHEEP = (_KEPT, _SHEEP_CHANGE, *_CONDITION)
_EWE_SCORE = Fact("condition_score", "condition score (1 to 5)", False, 1.0, 5.0)
_MOST_DAYS_TO_LAMBING = 365.0
"""Days to lambing above 147 are days before tupping: no error."""
_LITTER = Fact("litter_weight_kg", "weight of the whole litter at birth in kg", False, 1.5, 18.0)


def _gain(high: float) -> Fact:
    return Fact("gain_kg_per_day", "gain in kg a day", True, 0.0, high)


CLASSES: dict[str, tuple[Fact, ...]] = {
    "dairy_cow_milking": (_weight(350, 900), *_DAIRY_SOLIDS, *_milk(70.0), *_DAIRY_MILK),
    "first_calver_milking": (
        _weight(350, 800),
        *_DAIRY_SOLIDS,
        *_milk(55.0),
        _gain(0.8),
        *_DAIRY_MILK,
    ),
    "dairy_cow_dry": (_weight(350, 950), *_DRY),
    "suckler_cow_milking": (
        _weight(350, 1000),
        Fact("milk_fat_g_per_kg", "milk fat in g/kg", False, 25.0, 65.0, 38.0),
        Fact("milk_protein_g_per_kg", "milk crude protein in g/kg", False, 25.0, 45.0, 33.0),
        *_milk(18.0),
    ),
    "suckler_cow_dry": (_weight(350, 1000), *_DRY),
    "in_calf_heifer": (
        _weight(280, 750),
        _gain(1.2),
        _MATURITY,
        Fact("days_to_calving", "days to calving", True, 0.0, 280.0),
        Fact("mature_weight_kg", "mature weight in kg", True, 350.0, 1000.0),
        Fact("calf_weight_kg", "weight of the calf at birth in kg", False, 20.0, 70.0),
    ),
    "calf": (_weight(90, 220), _gain(1.4), _SEX, _MATURITY),
    "growing_cattle": (_weight(150, 650), _gain(1.8), _SEX, _MATURITY, _SALE),
    "finishing_cattle": (_weight(200, 850), _gain(2.0), _SEX, _MATURITY, _SYSTEM, _SALE),
    "cull_cow": (_weight(350, 1100), _gain(1.5), _SALE),
    "breeding_bull": (
        _weight(350, 1400),
        Fact("gain_kg_per_day", "gain in kg a day", False, 0.0, 1.5, 0.0),
        _MATURITY,
    ),
    "ewe_dry": (_weight(30, 130), *_SHEEP),
    "ewe_pregnant": (
        _weight(30, 130),
        Fact("lambs_carried", "lambs carried (1 to 4, as scanned)", True, 1.0, 4.0, whole=True),
        Fact("days_to_lambing", "days to lambing", True, 0.0, _MOST_DAYS_TO_LAMBING),
        _LITTER,
        _EWE_SCORE,
        *_SHEEP,
    ),
    "ewe_milking": (
        _weight(30, 130),
        Fact("lambs_suckled", "lambs suckled (1 to 3)", True, 1.0, 3.0, whole=True),
        Fact("week_of_lactation", "weeks since lambing", True, 1.0, 20.0),
        Fact("flock", "kind of flock", False, default="lowland", choices=("lowland", "hill")),
        Fact("milk_kg_per_day", "milk of a ewe in kg a day", False, 0.3, 5.0),
        Fact("milk_fat_g_per_kg", "fat of ewe's milk in g/kg", False, 45.0, 110.0, 70.0),
        _EWE_SCORE,
        *_SHEEP,
    ),
    "ewe_lamb": (
        _weight(20, 80),
        _gain(0.35),
        Fact("lambs_carried", "lambs carried (0 to 3)", False, 0.0, 3.0, 0.0, whole=True),
        Fact("days_to_lambing", "days to lambing", False, 0.0, _MOST_DAYS_TO_LAMBING),
        _LITTER,
        _KEPT,
    ),
    "lamb": (
        _weight(12, 70),
        _gain(0.5),
        Fact("sex", "sex", True, choices=("male", "castrate", "female")),
        _KEPT,
    ),
    "ram": (_weight(40, 160), *_SHEEP),
    "stated": (),
}
