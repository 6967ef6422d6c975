"""One figure of another standard beside ours, and what of our own requirement it is set beside."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import inf
from pathlib import Path

from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.folders import as_record, rows_of
from rationlp.needs import group_needs
from rationlp.needs.energy import EnergyNeed, kl, km
from rationlp.needs.objects import MILK_NE, GroupNeeds
from rationlp.records import dataclass

NET_MAINTENANCE, NET_MILK = "maintenance and activity, net energy", "milk, net energy"
NET_GROWTH = "growth, net energy"
ME_PREGNANCY_YEAR = "pregnancy, ME without margin, mean of a year"
ME_PREGNANCY_TERM = "pregnancy, ME without margin, mean of 147 days"
ME_MAINTENANCE, ME_MAINTENANCE_BARE = (
    "maintenance, ME with margin",
    "maintenance, ME without margin",
)
ME_MILK = "milk, ME with margin"
ME_WHOLE, ME_WHOLE_BARE = "whole need, ME with margin", "whole need, ME without margin"
QUANTITIES = (
    ME_WHOLE,
    ME_WHOLE_BARE,
    ME_MAINTENANCE,
    ME_MAINTENANCE_BARE,
    ME_MILK,
    ME_PREGNANCY_YEAR,
    ME_PREGNANCY_TERM,
    NET_MAINTENANCE,
    NET_MILK,
    NET_GROWTH,
)
"""What is compared, in the order in which it is shown."""

WHOLE = frozenset({ME_WHOLE, ME_WHOLE_BARE})
MAINTENANCE = frozenset({ME_MAINTENANCE, ME_MAINTENANCE_BARE, NET_MAINTENANCE})


@dataclass(frozen=True)
class Opinion:
    """What another published standard asks for, beside ours.

    method: the standard. quantity: what is compared. value: its figure [unit], None where the
    animal lies outside the standard's range (`valid`, in words). ours: our figure for the same
    quantity and animal, None where it cannot be worked out. difference_share: value/ours − 1, None
    where either is missing. equation: with its inputs, and how ours was made comparable. status:
    (a) checked, (b) from memory, (c) common practice.
    """

    method: str
    quantity: str
    value: float | None
    unit: str
    ours: float | None
    difference_share: float | None
    equation: str
    valid: str
    source: str
    status: str


@dataclass(frozen=True)
class Method:
    """A published standard: its name, where it was read, its status, the range in words."""

    name: str
    source: str
    status: str
    valid: str = "no range printed"

    def says(
        self,
        quantity: str,
        value: float | None,
        ours: float | None,
        equation: str,
        status: str | None = None,
    ) -> Opinion:
        """An opinion in MJ/d. status: where this figure's differs from the method's."""
        if ours == inf:
            ours = None
        share = None
        if value is not None and ours is not None and ours > 0.0:
            share = value / ours - 1.0
        if value is None:
            equation = f"no figure: {equation.split(';')[0]} holds for {self.valid}"
        return Opinion(
            method=self.name,
            quantity=quantity,
            value=value,
            unit="MJ/d",
            ours=ours,
            difference_share=share,
            equation=equation,
            valid=self.valid,
            source=self.source,
            status=status or self.status,
        )


def method(key: str) -> Method:
    """A published standard of methods.csv."""
    return as_record(Method, _methods()[key])


@lru_cache(maxsize=1)
def _methods() -> dict[str, dict[str, str]]:
    return {row["key"]: row for row in rows_of(Path(__file__).with_name("methods.csv"))}


@dataclass(frozen=True)
class Case:
    """A group as it is compared: its needs, and the q of a usual ration of its class."""

    group: Group
    needs: GroupNeeds
    energy: EnergyNeed
    margins: Margins
    q: float

    @property
    def weight(self) -> float:
        """Live weight [kg]."""
        return self.group.number("live_weight_kg")

    def fact(self, key: str, default: float = 0.0) -> float:
        """A numeric fact, or the default where the group has none."""
        return float(self.group.facts.get(key, default))

    def word(self, key: str, default: str) -> str:
        """A word among the facts, or the default where the group has none."""
        return str(self.group.facts.get(key, default))

    def step(self, key: str) -> float:
        """The value of one of our own steps by key; 0 where the group has no such step."""
        return next((step.value for step in self.needs.steps if step.key == key), 0.0)

    @property
    def maintenance_me(self) -> float:
        """Our maintenance [MJ ME/d] at q, without margin: Em/km."""
        return self.energy.em / km(self.q)

    @property
    def milk_me(self) -> float:
        """Our milk [MJ ME/d] at q, without margin and level of feeding: El/kl."""
        return self.step(MILK_NE) / kl(self.q)

    @property
    def whole_me(self) -> float:
        """Our need [MJ ME/d] at q, margin and level included; infinite if the gain cannot be."""
        return self.energy.required_mj(self.q)

    def milking_me_bare(self, over_kl: float) -> float:
        """The same for maintenance and `over_kl` [MJ net energy/d] alone, without margin."""
        return replace(self.energy, margin=1.0, over_kl=over_kl, fixed_me=0.0).required_mj(self.q)

    def whole_me_if(self, **facts: float) -> float:
        """Our whole need [MJ ME/d] at q, margin included, of the same animal with other facts."""
        animal = replace(self.group, facts={**self.group.facts, **facts})
        energy = group_needs(animal, self.margins).energy
        assert energy is not None
        return energy.required_mj(self.q)
