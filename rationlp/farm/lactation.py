"""The milk of a dairy cow through her lactation: Wood's curve, scaled to what the farm knows of
her.

Y(n) = P (n/n0)^b e^(b − c n), n week of lactation, n0 = b/c the week of the peak, P the peak [kg a
day]. Form: Wood (1967, 1969), status (a). b and c are chosen (c) to satisfy printed facts: British
Friesians peak in week 7 (cows) and 10 (first calvers), 468 lactations of 1976–79 (a); milk falls
0.3 % a day after the peak, a UK farm-vet page (a); eight groups of UK autumn calvers gave 0.63–0.69
of 175 days at their mean of weeks 3–28 (a).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from math import exp, pow
from types import MappingProxyType

from rationlp.farm.traits import classes_with
from rationlp.records import dataclass

MILKERS = classes_with("parlour")
DAYS = 305
_WEEK = 7.0
MILK, WEEK, WHOLE = "milk_kg_per_day", "week_of_lactation", "milk_305_day_kg"
CURVE, FLAT = "milk_curve", "flat"
Facts = dict[str, float | str]


@dataclass(frozen=True)
class Curve:
    """b and c of Wood's curve."""

    b: float
    c: float

    @property
    def peak_week(self) -> float:
        """n0 = b/c, the week of the peak."""
        return self.b / self.c

    def share(self, week: float) -> float:
        """Y(n)/P, milk of a week over the peak [-]; weeks before the first count as the first."""
        n = max(1.0, week)
        return pow(n / self.peak_week, self.b) * exp(self.b - self.c * n)

    def fall_a_week(self, week: float) -> float:
        """−Y'(n)/Y(n) = c − b/n, what milk falls a week [-]; negative while it rises."""
        return self.c - self.b / max(1.0, week)


COWS, FIRST_CALVERS = Curve(0.18, 0.030), Curve(0.14, 0.0175)
USUAL = MappingProxyType({"dairy_cow_milking": COWS, "first_calver_milking": FIRST_CALVERS})


@lru_cache(maxsize=64)
def whole_lactation(curve: Curve) -> float:
    """305-day yield over the peak [kg/kg]: the sum of the curve; 234 cows, 266 first calvers."""
    return sum(curve.share(day / _WEEK) for day in range(1, DAYS + 1))


def curve_of(animal_class: str, facts: Mapping[str, float | str]) -> Curve | None:
    """The curve of a class, with the herd's own b and c; None without one or where milk is flat."""
    usual = USUAL.get(animal_class)
    if usual is None or facts.get(CURVE) == FLAT:
        return None
    return own_curve(usual, facts)


def own_curve(usual: Curve, facts: Mapping[str, float | str]) -> Curve:
    """The usual curve with the herd's own b and c over it."""
    return Curve(
        float(facts.get("milk_curve_b", usual.b)), float(facts.get("milk_curve_c", usual.c))
    )


def milk_later(
    animal_class: str, facts: Mapping[str, float | str], milk_kg: float, weeks: tuple[float, float]
) -> float:
    """Milk [kg a day] in the second of two weeks, of a cow that gives `milk_kg` in the first."""
    curve = curve_of(animal_class, facts)
    if curve is None:
        return milk_kg
    return milk_kg * curve.share(weeks[1]) / curve.share(weeks[0])


def peak_of(animal_class: str, facts: Mapping[str, float | str], whole_kg: float) -> float:
    """Peak [kg a day] of a cow that gives `whole_kg` in 305 days; status of the curve (c)."""
    return whole_kg / whole_lactation(own_curve(USUAL[animal_class], facts))


def with_whole_lactation(animal_class: str, given: Facts, at_peak: bool = False) -> Facts:
    """The facts with milk in place of a 305-day yield: milk of the week, or the peak."""
    if WHOLE not in given:
        return given
    facts = dict(given)
    peak = peak_of(animal_class, facts, float(facts.pop(WHOLE)))
    share = 1.0 if at_peak else own_curve(USUAL[animal_class], facts).share(float(facts[WEEK]))
    return {**facts, MILK: peak * share}
