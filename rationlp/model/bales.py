"""Bales of silage once opened: whether those who share one finish it in time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from rationlp.farm.farm import Farm
from rationlp.farm.traits import traits
from rationlp.records import dataclass
from rationlp.result import GroupRation
from rationlp.rules.bales import (
    DAYS_OPEN,
    DAYS_OPEN_WARM,
    WARM_C,
    bale_weights,
    days_open,
    spoils_open,
)

_NOTHING_KG = 0.5
"""Less than this a day of a whole yard is rounding of a plan, not feeding [kg fresh]."""


@dataclass(frozen=True)
class Eater:
    """What a group takes of one store: its id and class, kg fresh a day of all its head."""

    group: str
    animal_class: str
    offer: str
    kg_a_day: float


def eaters_of(rations: Iterable[GroupRation]) -> Iterator[Eater]:
    """What every group takes of every feed in a day [kg fresh of all its head]."""
    for ration in rations:
        for amount in ration.amounts:
            kg = amount.kg_fresh * ration.head
            yield Eater(ration.group, ration.needs.animal_class, amount.offer, kg)


@dataclass(frozen=True)
class OpenBale:
    """A store whose bales lie open too long: days one lasts, kg a day enough, who eats from it."""

    store: str
    name: str
    bale_kg: float
    days: float
    groups: tuple[str, ...]
    sheep: bool

    @property
    def kg_needed(self) -> float:
        """kg fresh a day that finish a bale in time in winter."""
        return self.bale_kg / DAYS_OPEN


def open_too_long(farm: Farm, eaters: Sequence[Eater]) -> Iterator[OpenBale]:
    """Stores of moist bales of which one lies open longer than it keeps; groups share a yard."""
    feeds = {offer.id: offer.feed for offer in farm.offers}
    names = {store.id: store.name for store in farm.stores}
    for store, bale_kg in bale_weights(farm).items():
        those = [eater for eater in eaters if eater.offer == store and eater.kg_a_day > 0.0]
        total = sum(one.kg_a_day for one in those)
        if not spoils_open(feeds[store]) or total <= _NOTHING_KG:
            continue
        days = days_open(bale_kg, total)
        if days > DAYS_OPEN * (1.0 + 1e-9):
            sheep = any(traits(one.animal_class).sheep for one in those)
            groups = tuple(dict.fromkeys(one.group for one in those))
            yield OpenBale(store, names[store], bale_kg, days, groups, sheep)


def bale_words(bale: OpenBale, to_sheep: bool) -> str:
    """What is said of such a bale; sheep die of listeriosis from silage that cattle can eat."""
    text = (
        f"{bale.name}: an opened bale of {bale.bale_kg:.0f} kg lasts the groups here that eat it"
        f" {bale.days:.1f} days; it keeps {DAYS_OPEN:.0f} days in winter, {DAYS_OPEN_WARM:.0f}"
        f" above {WARM_C:g} °C. It takes {bale.kg_needed:.0f} kg a day to finish one in time: open"
        " it for more groups at once, buy smaller bales, or feed hay."
    )
    if to_sheep:
        text += (
            " Never give sheep what is older: silage that has lain open, or with mould or soil in"
            " it, can kill them with listeriosis. Throw the rest away, or give it to cattle."
        )
    return text


def bales_line(bales: Iterable[OpenBale]) -> str:
    """For the first lines: bales open too long, the longest of each store; empty for none."""
    longest: dict[str, OpenBale] = {}
    for bale in bales:
        before = longest.get(bale.store)
        if before is None or bale.days > before.days:
            longest[bale.store] = bale
    if not longest:
        return ""
    told = "; ".join(f"{bale.name} {bale.days:.0f} days" for bale in longest.values())
    line = f"An opened bale lies too long ({DAYS_OPEN:.0f} days in winter at most): {told}."
    if any(bale.sheep for bale in longest.values()):
        line += " Never give sheep what is older: listeriosis kills them."
    return f"{line} (`--full`)"


def without_bale_words(name: str, what: str, money: str, more: float | None) -> str:
    """What leaving such bales out would cost. what: the ration or the plan; money: of the dearer
    one; more: how much dearer it is [currency], None where it does not exist.
    """
    if more is None:
        return f"Without {name} there is no {what} that meets every need."
    if more <= 0.0:
        return f"Without {name} the {what} would cost no more."
    return f"Without {name} the {what} would cost {money} more."


def bale_remarks(farm: Farm, eaters: Iterable[Eater]) -> dict[str, tuple[str, ...]]:
    """Sentences by group that eats from a bale that lies open too long."""
    every = tuple(eaters)
    classes = {one.group: one.animal_class for one in every}
    found: dict[str, tuple[str, ...]] = {}
    for bale in open_too_long(farm, every):
        for group in bale.groups:
            words = bale_words(bale, traits(classes[group]).sheep)
            found[group] = (*found.get(group, ()), words)
    return found
