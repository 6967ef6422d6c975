"""Invented farms and rations of a few feeds with round figures, made by hand, on which a caution is
or is not called for.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date

from rationlp.after.cautions import farm_cautions, ration_cautions
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Feed, Figure, Offer
from rationlp.farm.group import Feeding, Group
from rationlp.farm.store import Store
from rationlp.needs.energy import EnergyNeed
from rationlp.needs.objects import GroupNeeds
from rationlp.result import Amount, Caution, FedSupply

Facts = dict[str, float | str]
START = date(2026, 10, 15)
NEED_MJ = 10.0


@dataclass(frozen=True)
class Food:
    """A feed eaten: kg DM a head a day, what it is, where its figures come from, and the
    figures.
    """

    kg: float
    kind: str = "forage"
    figures: dict[str, float] = field(default_factory=dict)
    key: str = ""
    sort: str = ""
    origin: str = "table"

    def feed(self, name: str) -> Feed:
        """The feed, at 500 g DM/kg unless its figures say otherwise."""
        every = {"dm_g_per_kg": 500.0, **self.figures}
        figures = {key: Figure(value, self.origin, "toy") for key, value in every.items()}
        return Feed(self.key or name, name, self.kind, figures, sort=self.sort)


def forage(kg: float = 10.0, **figures: float) -> Food:
    """A forage from a table."""
    return Food(kg, "forage", figures)


def of(kind: str, kg: float = 1.0, key: str = "", **figures: float) -> Food:
    """A feed of a kind, or of a key of the packaged tables."""
    return Food(kg, kind, figures, key)


def analysed(
    kg: float = 1.0, sort: str = "grass_silage", origin: str = "lab", **figures: float
) -> Food:
    """A forage of a sort with figures of a laboratory sheet."""
    return Food(kg, "forage", figures, sort=sort, origin=origin)


def animals(animal_class: str, facts: Facts | None = None, name: str = "herd") -> Group:
    """A group of a class."""
    return Group(name, name, animal_class, 10, "rationed", facts or {})


def farm_of(group: Group, foods: list[Food], stores: tuple[Store, ...] = ()) -> Farm:
    """A farm that offers feed0, feed1, … to one group."""
    offers = tuple(
        Offer(f"feed{n}", f"feed{n}", food.feed(f"feed{n}"), False, 0.0)
        for n, food in enumerate(foods)
    )
    return Farm(
        "here",
        "Invented",
        "GBP",
        START,
        date(2027, 4, 1),
        Margins(),
        "nothing",
        0.1,
        offers,
        stores,
        (group,),
        {},
    )


def needs_of(group: Group) -> GroupNeeds:
    """Needs of a 60 kg animal of 10 MJ ME whatever the ration, with a margin of 5 % beside it."""
    energy = EnergyNeed("additive", 0.0, fixed_me=NEED_MJ, feeding_level_applies=False, margin=1.05)
    parts = (None, 1.0, None, None, None, None, None, False, (), ())
    return GroupNeeds(group.id, group.animal_class, (), energy, *parts, 60.0)  # type: ignore[arg-type]


def eaten(
    group: Group,
    foods: list[Food],
    stores: tuple[Store, ...] = (),
    feeding: Feeding | None = None,
    day: date | None = None,
    before: dict[str, float] | None = None,
) -> tuple[Caution, ...]:
    """The cautions on a ration of these feeds. day: when; before: kg DM fed before by offer id."""
    farm = replace(farm_of(group, foods, stores), feeding=feeding or Feeding(), day=day)
    amounts = tuple(
        Amount(offer.id, offer.name, food.kg, food.kg * 2.0, 0.0, None)
        for offer, food in zip(farm.offers, foods, strict=True)
    )
    fed = FedSupply(group.id, group.id, amounts, (), 0.0, 0.0, 0.0, None, needs_of(group))
    return ration_cautions(farm, fed, before)


def stored(group: Group, food: Food, kind: str = "clamp", **more: object) -> tuple[Caution, ...]:
    """The cautions on a farm with one store of this feed. height_m, filled and weight_kg are its
    sizes.
    """
    size = {key: more.pop(key) for key in ("height_m", "filled", "weight_kg") if key in more}
    store = Store("feed0", "feed0", kind, "feed0", size, None, None, **more)  # type: ignore[arg-type]
    return farm_cautions(farm_of(group, [food], (store,)))


def ids(cautions: tuple[Caution, ...]) -> set[str]:
    """Which cautions they are."""
    return {caution.id for caution in cautions}
