"""Terms that the requirement of a class is put together from: each is a step with its equation, or
None where the animal has no such term.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import pow

from rationlp.needs.objects import Requirement, Step
from rationlp.records import dataclass

PRICED_MP_SHARE = 0.15
"""Share of the MP of a ewe in milk, or of a calf up to 200 kg, that may be short at a price [-].
Published rations of ewes with twins and singles indoors (1.5 and 0.7 kg of rolls of 18 % beside
silage; Irish press page, a) bring 0.97 and 0.80 of AFRC (1993), calf rations of 16–18 % crude
protein 0.85 (c): a wall there would refuse what every farm feeds. Share chosen (c).
"""


@dataclass(frozen=True)
class Power:
    """factor · (x/divisor)^exponent, worked out and printed from the same figures."""

    factor: float
    exponent: float
    divisor: float = 1.0

    def of(self, x: float, times: float = 1.0) -> float:
        """The value, times another factor."""
        return times * self.factor * pow(x / self.divisor, self.exponent)

    def printed(self, x: float, decimals: str = "g") -> str:
        """The equation with its figure. decimals: format of the factor."""
        base = f"{x:g}"
        if self.divisor != 1.0:
            base = f"({x:g}/{self.divisor:g})"
        return f"{self.factor:{decimals}} × {base}^{self.exponent:g}"


@dataclass(frozen=True)
class Linear:
    """Σ factor · x + constant, worked out and printed from the same figures."""

    factors: tuple[float, ...]
    constant: float

    def of(self, *figures: float) -> float:
        """The value."""
        total = 0.0
        for factor, figure in zip(self.factors, figures, strict=True):
            total += factor * figure
        return total + self.constant

    def printed(self, *figures: float) -> str:
        """The equation with its figures."""
        pairs = zip(self.factors, figures, strict=True)
        sign = "+" if self.constant >= 0.0 else "−"
        terms = " + ".join(f"{factor:g} × {figure:g}" for factor, figure in pairs)
        return f"{terms} {sign} {abs(self.constant):g}"


@dataclass(frozen=True)
class Activity:
    """Activity allowance [MJ net energy/kg live weight a day], with how it is built up."""

    mj_per_kg: float
    words: str
    status: str
    source: str


@dataclass(frozen=True)
class Maintenance:
    """Fasting metabolism, activity and their sum; `flushed` for a ewe that is flushed."""

    fasting: Step
    activity: Step
    whole: Step
    flushed: Step | None = None

    @property
    def em(self) -> float:
        """Net energy of maintenance [MJ/d]."""
        return (self.flushed or self.whole).value

    @property
    def steps(self) -> tuple[Step, ...]:
        """In the order in which they are printed."""
        return present(self.fasting, self.activity, self.whole, self.flushed)


@dataclass(frozen=True)
class Term:
    """Net energy [MJ/d] and MP [g/d] that growth, a change of weight or the like asks for."""

    energy: Step | None = None
    protein: Step | None = None

    @property
    def mj(self) -> float:
        """The net energy [MJ/d], 0 without a step."""
        if self.energy is not None:
            return self.energy.value
        return 0.0


NO_TERM = Term()


@dataclass(frozen=True)
class Pregnancy:
    """Weight of the calf or litter [kg], its ME [MJ/d] and its MP [g/d]; None before it counts."""

    young: Step | None = None
    me: Step | None = None
    mp: Step | None = None

    @property
    def me_mj(self) -> float:
        """ME [MJ/d], 0 before it counts."""
        return self.me.value if self.me is not None else 0.0

    @property
    def mp_g(self) -> float:
        """MP [g/d], 0 before it counts."""
        return self.mp.value if self.mp is not None else 0.0


def present(*steps: Step | None) -> tuple[Step, ...]:
    """The steps that there are."""
    return tuple(step for step in steps if step is not None)


def total(steps: Iterable[Step]) -> float:
    """Sum of the steps' values, in their unit."""
    return sum(step.value for step in steps)


def with_priced_protein(need: Requirement) -> Requirement:
    """The requirement with the last of its MP wanted at a price instead of asked for."""
    last = PRICED_MP_SHARE * need.mp_g
    return replace(need, mp_g=need.mp_g - last, priced_mp_g=last)


def growth_remarks(
    live_weight_kg: float,
    gain_kg_per_day: float,
    weights: tuple[float, float],
    most_gain: float,
    of: str = "",
) -> tuple[str, ...]:
    """Sentences where a weight or gain lies outside the range of the growth equations. of: words
    for the animals they hold for.
    """
    remarks = []
    low, high = weights
    if not low <= live_weight_kg <= high:
        remarks.append(
            f"Live weight {live_weight_kg:g} kg is outside {low:g}–{high:g} kg, the range of the"
            f" growth equations{of}."
        )
    if gain_kg_per_day > most_gain:
        remarks.append(
            f"A gain of {gain_kg_per_day:g} kg a day is above {most_gain:g} kg, the range of the"
            " growth equations."
        )
    return tuple(remarks)
