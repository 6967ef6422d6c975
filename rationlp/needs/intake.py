"""What an animal can eat: intake equations, the group's cap, appetite floor and NDF fill."""

from __future__ import annotations

from functools import lru_cache
from math import exp, log10, pow

from rationlp.errors import Finding, InputError, nearest_or
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.folders import packaged_rows
from rationlp.needs.cattle import GESTATION_DAYS
from rationlp.needs.growing_appetite import CALF_FLOOR_SHARE, CAP_SOURCE, growing_cap, settings
from rationlp.needs.limits import class_figure
from rationlp.needs.objects import IntakeCap

VADIVELOO_HOLMES_PER_KG_CONCENTRATE = 0.404
APPETITE_SHARE = 0.90
"""Least share of the intake cap that a group fed to appetite eats [-]; common practice; (c)."""

LAST_DAY_PREGNANT = 276.0
"""The NRC (2001) dry-cow equation is never evaluated later [days from conception]: at 276 it gives
1.57 % of live weight, at 283 0.75 % and past term nothing. Measured: 1.3 % (heifers) to 1.4 %
(cows) the day before calving, press page on Wisconsin data, status (a).
"""
LAST_WEEKS_DAYS = 21.0

BY_WEIGHT, BY_GROWTH = "percent_of_live_weight", "nrc_2000_growing"


@lru_cache(maxsize=1)
def intake_equations() -> dict[str, tuple[str, ...]]:
    """Equations that a class may choose from (feeds/classes.csv); the first is the class's own."""
    by_class = {row["class"]: row["intake_equations"] for row in packaged_rows("classes.csv")}
    return {name: tuple(words.split()) for name, words in by_class.items() if words}


def fat_corrected_milk(milk_kg: float, fat_g_per_kg: float) -> float:
    """FCM [kg/d at 4 % fat] = 0.4 Y + 0.15 Y · fat %. NRC (2001), from memory; status (b)."""
    return 0.4 * milk_kg + 0.15 * milk_kg * fat_g_per_kg / 10.0


def dmi_nrc_2001(live_weight_kg: float, fcm_kg: float, week: float) -> float:
    """DMI [kg/d] = (0.372 FCM + 0.0968 W^0.75)(1 − e^(−0.192 (n + 3.67))), n week of lactation.

    NRC (2001) Nutrient Requirements of Dairy Cattle, 7th ed., from memory; status (b).
    Lactating Holstein cows.
    """
    return (0.372 * fcm_kg + 0.0968 * pow(live_weight_kg, 0.75)) * (
        1.0 - exp(-0.192 * (week + 3.67))
    )


def dmi_vadiveloo_holmes_1979(
    concentrate_kg_dm: float, live_weight_kg: float, week: float, milk_kg: float
) -> float:
    """DMI [kg/d] = 0.076 + 0.404 C + 0.013 W − 0.129 n + 4.120 log10 n + 0.140 Y, C concentrate [kg
    DM/d].

    Vadiveloo and Holmes (1979), used by AFRC (1993); coefficients from memory, status (b). Milking
    cows on UK silage; n from 1.
    """
    base = 0.076 + 0.013 * live_weight_kg - 0.129 * week + 4.120 * log10(week) + 0.140 * milk_kg
    return base + VADIVELOO_HOLMES_PER_KG_CONCENTRATE * concentrate_kg_dm


def dmi_maff_1975(live_weight_kg: float, milk_kg: float, week: float) -> float:
    """DMI [kg/d] = 0.025 W + 0.1 Y, less 2.5 kg in weeks 1–6 (2–3 kg printed).

    MAFF Technical Bulletin 33 (1975); coefficients from memory, status (b).
    """
    return 0.025 * live_weight_kg + 0.1 * milk_kg - (2.5 if week <= 6.0 else 0.0)


def dmi_nrc_2001_dry(live_weight_kg: float, days_pregnant: float) -> float:
    """DMI [kg/d] = W (1.97 − 0.75 e^(0.16 (t − 280)))/100, falling in the last three weeks.

    NRC (2001), from memory; status (b). Dry cows, t from conception up to 281.
    """
    return live_weight_kg * (1.97 - 0.75 * exp(0.16 * (days_pregnant - 280.0))) / 100.0


def intake_cap(group: Group) -> IntakeCap | None:
    """The intake cap of a group: the farm's own figure, else the equation it chose, else the
    class's own.

    None for class `stated` without a figure. Raises InputError (IN403) for an equation the class
    does not have.
    """
    if group.intake_kg_dm is not None:
        return IntakeCap(group.intake_kg_dm, 0.0, "own_figure", "the farm's own figure", "")
    allowed = intake_equations().get(group.animal_class)
    if allowed is None:
        return None
    name = group.intake_equation or _usual_equation(group, allowed)
    if name not in allowed:
        raise InputError([_unknown_equation(group, name, allowed)])
    if name == BY_GROWTH and settings(group.animal_class, group.facts).cap:
        return _growing(group)
    if name in (BY_GROWTH, BY_WEIGHT):
        return _by_weight(group)
    return _by_equation(group, name)


def _growing(group: Group) -> IntakeCap:
    weight = group.number("live_weight_kg")
    cap = growing_cap(weight, group.facts.get("system") == "cereal_based")
    return IntakeCap(
        cap, 0.0, f"nrc_2000_growing: {cap / weight**0.75:.4f} × {weight:g}^0.75", CAP_SOURCE, "a"
    )


def _usual_equation(group: Group, allowed: tuple[str, ...]) -> str:
    """The class's own equation; a heifer in her last three weeks eats as a dry cow does."""
    if (
        group.animal_class == "in_calf_heifer"
        and group.number("days_to_calving") <= LAST_WEEKS_DAYS
    ):
        return "nrc_2001_dry"
    return allowed[0]


def _unknown_equation(group: Group, name: str, allowed: tuple[str, ...]) -> Finding:
    remedy = nearest_or(name, allowed, f"choose one of: {', '.join(allowed)}")
    found = f'"{name}" is not known for {group.animal_class}'
    return Finding("IN403", f'group "{group.id}", intake_equation', found, remedy)


def _by_weight(group: Group) -> IntakeCap:
    figure = class_figure(group.animal_class, "percent_of_live_weight", group.facts)
    assert figure is not None
    cap = group.number("live_weight_kg") * figure.value / 100.0
    text = f"{figure.value:g} % of live weight"
    return IntakeCap(cap, 0.0, text, f"{text}: {figure.source}", figure.status)


def _by_equation(group: Group, name: str) -> IntakeCap:
    w = group.number("live_weight_kg")
    if name == "nrc_2001_dry":
        pregnant = GESTATION_DAYS - group.number("days_to_calving")
        cap = dmi_nrc_2001_dry(w, min(pregnant, LAST_DAY_PREGNANT))
        return IntakeCap(cap, 0.0, name, "NRC (2001), dry cows, from memory", "b")
    milk, week = group.number("milk_kg_per_day"), max(1.0, group.number("week_of_lactation"))
    if name == "nrc_2001":
        cap = dmi_nrc_2001(w, fat_corrected_milk(milk, group.number("milk_fat_g_per_kg")), week)
        return IntakeCap(cap, 0.0, name, "NRC (2001), milking cows, from memory", "b")
    if name == "maff_1975":
        return IntakeCap(dmi_maff_1975(w, milk, week), 0.0, name, "MAFF (1975), milking cows", "b")
    cap = dmi_vadiveloo_holmes_1979(0.0, w, week, milk)
    return IntakeCap(
        cap, VADIVELOO_HOLMES_PER_KG_CONCENTRATE, name, "Vadiveloo and Holmes (1979)", "b"
    )


def appetite_floor(group: Group, cap: IntakeCap | None) -> tuple[float | None, float | None]:
    """Least that a group fed to appetite eats: (plain figure [kg DM/d], share of the cap [-]); at
    most one is set.

    Dairy cows in milk have theirs by the forages at hand, and none here. Dry cows, sucklers and
    sheep a per cent of live weight (feeds/intake.csv), but never above 0.90 of the cap; calves and
    cereal-fed cattle 0.75 of the cap, other growing cattle by the forages at hand; others 0.90 of
    the cap; the farm's own share over all. Common practice, no source; status (c). A rationed group
    and a group without a cap have none.
    """
    if group.fed != "to_appetite" or cap is None:
        return None, None
    if group.appetite_share is not None:
        return None, group.appetite_share
    if group.animal_class == "stated":
        return None, None
    if traits(group.animal_class).parlour:
        # Their floor is what their forages allow (dairy_appetite.least_eaten): a block knows which
        # forages are at hand.
        return None, None
    growing = settings(group.animal_class, group.facts)
    if growing.silage_rows:
        # It follows from the forages at hand, which are not known here
        # (growing_appetite.growing_floor).
        return None, None
    if growing.cap:
        return None, CALF_FLOOR_SHARE
    figure = class_figure(group.animal_class, "appetite_floor", group.facts)
    if figure is None:
        return None, APPETITE_SHARE
    return (
        min(group.number("live_weight_kg") * figure.value / 100.0, APPETITE_SHARE * cap.cap_kg_dm),
        None,
    )
