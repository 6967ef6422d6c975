"""The facts of each animal class: which keys a group of that class has, their units, and the range
a figure must lie in.

The ranges are common practice, no source (c): outside them lies a slip of unit or an animal that is
not of that class.
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from math import isfinite

from rationlp.errors import Finding
from rationlp.read.lactation import MILK, WHOLE, with_whole_lactation
from rationlp.read.values import as_number, shown
from rationlp.records import dataclass

Facts = dict[str, float | str]


@dataclass(frozen=True)
class Fact:
    """One fact of a class. choices: for a word; low, high: for a number; whole: it counts
    something. default None on a fact
    that is not required: the key is left out, and the needs take it from another fact.
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
"""One condition score (1 to 5) as a share of live weight: 12–13 %, 70–80 kg at 600 kg. Common
practice, no source (c).
"""

SHEEP_SCORE_SHARE_OF_WEIGHT = 0.10
"""The same for ewes: about 10 % of live weight; a UK feed trade's page on the nutrition of the ewe
(2018), status (a).
"""

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
"""Days to lambing above 147 are days before tupping: no error, whatever the first day of the winter
is.
"""
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
    "finishing_cattle": (
        _weight(200, 850),
        _gain(2.0),
        _SEX,
        _MATURITY,
        _SYSTEM,
        _SALE,
    ),
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
SHEEP_CLASSES = frozenset({"ewe_dry", "ewe_pregnant", "ewe_milking", "ewe_lamb", "lamb", "ram"})


def read_facts(
    animal_class: str, given: Mapping[str, object], where: str, at_peak: bool = False
) -> tuple[Facts, list[Finding]]:
    """The facts of a group of a class, defaults filled in, and everything that is wrong with them.

    given: the keys of the group's table that are not common to all groups. where: the group's
    place. at_peak: milk a day is that of the peak, for cows still to calve.
    """
    wanted = {fact.key: fact for fact in CLASSES[animal_class]}
    facts: Facts = {}
    findings: list[Finding] = []
    instead = {*given, *([MILK] if WHOLE in wanted and WHOLE in given else [])}
    missing = [
        f"{fact.key} ({fact.words})"
        for fact in wanted.values()
        if fact.required and fact.key not in instead
    ]
    if missing:
        found = f"class {animal_class} without {', '.join(missing)}"
        findings.append(
            Finding("IN120", where, found, "give each of these keys in the group's table")
        )
    for key, value in given.items():
        fact = wanted.get(key)
        if fact is None:
            findings.append(_unknown(animal_class, key, list(wanted), where))
            continue
        trouble = _check(fact, value, f"{where}.{key}")
        if trouble is not None:
            findings.append(trouble)
        else:
            facts[key] = value if isinstance(value, str) else float(value)  # type: ignore[arg-type]
    if MILK in given and WHOLE in given and WHOLE in wanted:
        found = f"{MILK} and {WHOLE} both given"
        findings.append(
            Finding(
                "IN760",
                where,
                found,
                "keep one of them: the other follows from the lactation curve",
            )
        )
    if not findings:
        facts = with_whole_lactation(animal_class, facts, at_peak)
        share = (
            SHEEP_SCORE_SHARE_OF_WEIGHT
            if animal_class in SHEEP_CLASSES
            else CONDITION_SCORE_SHARE_OF_WEIGHT
        )
        findings += [*_score_to_weight(wanted, facts, where, share), *_contradictions(facts, where)]
    for fact in wanted.values():
        if fact.default is not None:
            facts.setdefault(fact.key, fact.default)
    return facts, findings


LAMB_WEIGHT_KG, MOST_LITTER_SHARE = (1.2, 8.0), 0.25
"""A lamb at birth [kg], and a whole litter as a share of the ewe's weight. Common practice, no
source (c).
"""

LEAST_MATURE_SHARE = 0.8
"""A cow is no more than a quarter above her mature weight, however fat she is. Common practice, no
source (c).
"""


def _contradictions(facts: Facts, where: str) -> list[Finding]:
    """Facts that cannot be true of one animal together; each of them alone is in its range."""
    findings = []
    weight, mature = facts.get("live_weight_kg"), facts.get("mature_weight_kg")
    if (
        weight is not None
        and mature is not None
        and float(mature) < LEAST_MATURE_SHARE * float(weight)
    ):
        found = f"live_weight_kg {float(weight):g} far above mature_weight_kg {float(mature):g}"
        remedy = (
            "mature_weight_kg is the weight of the grown animal, not that at calving or service"
        )
        findings.append(Finding("IN134", where, found, remedy))
    pregnant, week = facts.get("days_pregnant"), facts.get("week_of_lactation")
    if pregnant is not None and week is not None and float(pregnant) > 7.0 * float(week):
        found = f"days_pregnant {float(pregnant):g} in week_of_lactation {float(week):g}"
        remedy = (
            "she cannot have conceived before she calved: days_pregnant counts from conception, 0"
            " if she is empty"
        )
        findings.append(Finding("IN134", where, found, remedy))
    sale = facts.get("sale_weight_kg")
    if sale is not None and weight is not None and float(sale) <= float(weight):
        found = f"sale_weight_kg {float(sale):g}, and they weigh {float(weight):g} kg"
        findings.append(
            Finding(
                "IN771",
                where,
                found,
                "give the weight that they are sold at, or leave the group out",
            )
        )
    return [*findings, *_litter_contradictions(facts, where)]


def _litter_contradictions(facts: Facts, where: str) -> list[Finding]:
    """A ewe lamb in lamb needs both of her facts; a litter must be that of her lambs and of a ewe
    of her size.
    """
    findings = []
    lambs, litter = facts.get("lambs_carried"), facts.get("litter_weight_kg")
    if lambs is None:
        if "days_to_lambing" in facts or litter is not None:
            found = "days_to_lambing or litter_weight_kg without lambs_carried"
            findings.append(
                Finding(
                    "IN134",
                    where,
                    found,
                    "give lambs_carried, or leave the others out: she is empty",
                )
            )
        return findings
    if float(lambs) >= 1.0 and "days_to_lambing" not in facts:
        found = f"lambs_carried {float(lambs):g} without days_to_lambing"
        findings.append(
            Finding(
                "IN134", where, found, "give days_to_lambing, or lambs_carried = 0 for an empty ewe"
            )
        )
    if float(lambs) < 1.0 and "days_to_lambing" in facts:
        found = "days_to_lambing for a ewe that carries no lamb"
        findings.append(
            Finding(
                "IN134",
                where,
                found,
                "leave days_to_lambing out, or give the lambs she was scanned with",
            )
        )
    if litter is not None and float(lambs) >= 1.0:
        each, share = float(litter) / float(lambs), float(litter) / float(facts["live_weight_kg"])
        if not LAMB_WEIGHT_KG[0] <= each <= LAMB_WEIGHT_KG[1] or share > MOST_LITTER_SHARE:
            ewe, (least, most) = float(facts["live_weight_kg"]), LAMB_WEIGHT_KG
            found = (
                f"a litter of {float(litter):g} kg for {float(lambs):g} lambs of a ewe of"
                f" {ewe:g} kg"
            )
            remedy = (
                f"lambs weigh {least:g}–{most:g} kg at birth, all together at most a quarter of"
                " the ewe"
            )
            findings.append(Finding("IN134", where, found, remedy))
    return findings


def _score_to_weight(
    wanted: Mapping[str, Fact], facts: Facts, where: str, share: float
) -> list[Finding]:
    """A change of condition score becomes a live-weight change: score · share of live weight over
    the days given.
    """
    given = [key for key in ("condition_score_change", "condition_change_days") if key in facts]
    if not given:
        return []
    if len(given) == 1 or "live_weight_change_kg_per_day" in facts:
        found = (
            "a change of condition score needs its days, and stands instead of"
            " live_weight_change_kg_per_day"
        )
        return [
            Finding(
                "IN133",
                where,
                found,
                "give condition_score_change and condition_change_days, or the kg a day",
            )
        ]
    score, days = float(facts["condition_score_change"]), float(facts["condition_change_days"])
    change = score * share * float(facts["live_weight_kg"]) / days
    fact = wanted["live_weight_change_kg_per_day"]
    if not fact.low <= change <= fact.high:
        found = f"{score:g} score in {days:g} days is {change:.2f} kg a day"
        return [
            Finding(
                "IN113",
                where,
                found,
                f"valid from {fact.low:g} to {fact.high:g} kg a day: give it more days",
            )
        ]
    facts["live_weight_change_kg_per_day"] = change
    return []


def _unknown(animal_class: str, key: str, wanted: list[str], where: str) -> Finding:
    from rationlp.read.schema import GROUP_KEYS

    near = get_close_matches(key, [*wanted, *GROUP_KEYS], 1, 0.5)
    elsewhere = [name for name, facts in CLASSES.items() if key in {fact.key for fact in facts}]
    if elsewhere and near[:1] not in ([name] for name in wanted):
        remedy = f"a fact of {', '.join(elsewhere)}: change the class or leave the key out"
    elif near:
        remedy = f'nearest: "{near[0]}"'
    else:
        remedy = f"facts of this class: {', '.join(wanted) or 'none'}"
    return Finding("IN110", f"{where}.{key}", f"unknown key for class {animal_class}", remedy)


def _check(fact: Fact, value: object, where: str) -> Finding | None:
    if fact.choices:
        if value in fact.choices:
            return None
        near = get_close_matches(str(value), fact.choices, 1, 0.4)
        remedy = f'nearest: "{near[0]}"' if near else f"use one of {', '.join(fact.choices)}"
        return Finding("IN114", where, f"{shown(value)} is no {fact.words}", remedy)
    figure = as_number(value)
    if figure is None:
        return Finding(
            "IN112",
            where,
            f"{shown(value)} is not a number",
            f"give {fact.words} as a plain number",
        )
    if not isfinite(figure) or not fact.low <= figure <= fact.high:
        return Finding("IN113", where, f"{figure:g} is no {fact.words}", _hint(fact, figure))
    if fact.whole and figure != int(figure):
        return Finding("IN113", where, f"{figure:g} is no {fact.words}", "give a whole number")
    return None


def _hint(fact: Fact, value: float) -> str:
    valid = f"valid from {fact.low:g} to {fact.high:g}"
    if fact.key.startswith("days_to_"):
        return (
            f"{valid}; give animals that are further from it the class that they are of until then"
        )
    for factor in (10.0, 1000.0, 0.1, 0.001):
        guess = value * factor
        if isfinite(guess) and guess > 0.0 and max(fact.low, 1e-9) <= guess <= fact.high:
            return f"{valid}; was it {guess:g}?"
    return valid
