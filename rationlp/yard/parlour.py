"""The parlour way of feeding cows: a base ration at the trough for maintenance and so many litres,
then concentrate by the litre.

The group's ration is that of the model; the feed given in the parlour is taken out of it, the rest
is the base that every cow of the group eats. For each yield the concentrate is found that meets the
cow's own requirement of energy and of protein, at the metabolisability and level of feeding of what
she then eats.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import Group
from rationlp.needs import group_margins, requirement_of, standard_of
from rationlp.needs.objects import Requirement
from rationlp.needs.supply import metabolisable_protein, ration_supply
from rationlp.quantities import KG_PER_LITRE, fresh_from_dm
from rationlp.records import dataclass
from rationlp.result import Amount, GroupRation
from rationlp.rules.limits import practice_figure

MILKINGS_A_DAY = 2
STEP_LITRES = 2
_MOST_LITRES = 70.0
_MOST_CONCENTRATE_KG_DM = 20.0
_STEPS = 60
_CLOSE = 1e-6
NEEDS = ("energy", "protein")


@dataclass(frozen=True)
class ParlourLine:
    """One yield: litres a day, parlour feed [kg fresh a day, and a milking], its reason."""

    litres: float
    kg_fresh: float
    kg_a_milking: float
    limited_by: str
    within_meal: bool


@dataclass(frozen=True)
class Parlour:
    """base: the feeds at the trough, a head a day. base_litres: what they carry besides
    maintenance, by the scarcer of energy and protein. kg_per_litre: parlour feed [kg fresh] for
    each litre above. meal_most_kg: most in one meal [kg fresh].
    most_litres: the highest yield that the meals can feed.
    """

    group: str
    feed: str
    base: tuple[Amount, ...]
    base_litres: float
    base_limited_by: str
    kg_per_litre: float
    meal_most_kg: float
    most_litres: float
    lines: tuple[ParlourLine, ...]


@dataclass(frozen=True)
class _Cow:
    """A cow of the group: the farm's margins, the base she eats, the feed of the parlour."""

    farm: Farm
    group: Group
    base: tuple[tuple[Feed, float], ...]
    feed: Feed

    def needs(self, litres: float) -> Requirement:
        """Her energy and protein at a yield: the limits of her ration are not asked for here."""
        facts = {**self.group.facts, "milk_kg_per_day": litres * KG_PER_LITRE}
        cow = replace(self.group, facts=facts)
        return requirement_of(cow)(cow, group_margins(cow, self.farm.margins))

    def short(self, needs: Requirement, kg_dm: float, which: str) -> float:
        """ME [MJ] or MP [g] short on the base and `kg_dm` of parlour feed, or minus spare."""
        parts = (*self.base, (self.feed, kg_dm))
        level, standard = needs.energy.level_of_ration(parts), standard_of(self.group)
        if which == "energy":
            brought = ration_supply(parts, level, standard).energy_mj
            return needs.energy.needed_mj(parts) - brought
        margin = group_margins(self.group, self.farm.margins).mp
        return needs.mp_g * margin - metabolisable_protein(parts, level, standard)

    def _short_with(self, needs: Requirement, which: str, kg_dm: float) -> float:
        return self.short(needs, kg_dm, which)

    def _spare_at(self, which: str, litres: float) -> float:
        return -self.short(self.needs(litres), 0.0, which)

    def base_litres(self) -> tuple[float, str]:
        """Litres that the base carries by the scarcer of energy and protein, or 0."""
        return min(
            (_crossing(partial(self._spare_at, which), _MOST_LITRES), which) for which in NEEDS
        )

    def concentrate(self, litres: float) -> tuple[float, str]:
        """The least parlour feed [kg DM] that meets both needs, and which of them asked for it."""
        needs = self.needs(litres)
        possible = []
        for which in NEEDS:
            kg_dm = _crossing(partial(self._short_with, needs, which), _MOST_CONCENTRATE_KG_DM)
            possible.append((kg_dm, which))
        return max(possible)


def parlour(farm: Farm, ration: GroupRation) -> Parlour | None:
    """The parlour sheet of a group with a `parlour_feed` and a ration; else None."""
    group = next((group for group in farm.groups if group.id == ration.group), None)
    if group is None or group.parlour_feed is None or not ration.amounts:
        return None
    offers = {offer.id: offer for offer in farm.offers}
    offer = offers[group.parlour_feed]
    base = tuple(amount for amount in ration.amounts if amount.offer != offer.id)
    cow = _Cow(
        farm, group, tuple((offers[amount.offer].feed, amount.kg_dm) for amount in base), offer.feed
    )
    litres, limited = cow.base_litres()
    meal = practice_figure(ration.needs.limits_key, "meal_most_kg_fresh") or 4.0
    lines = tuple(_lines(cow, offer, litres, meal))
    fed = [line for line in lines if line.kg_fresh > 0.0]
    per_litre = 0.0
    if len(fed) > 1:
        per_litre = (fed[-1].kg_fresh - fed[0].kg_fresh) / (fed[-1].litres - fed[0].litres)
    return Parlour(
        group=group.id,
        feed=offer.name,
        base=base,
        base_litres=litres,
        base_limited_by=limited,
        kg_per_litre=per_litre,
        meal_most_kg=meal,
        most_litres=max((line.litres for line in lines if line.within_meal), default=litres),
        lines=lines,
    )


def _crossing(falling: Callable[[float], float], most: float) -> float:
    """Least x in [0, most] where a falling function is not above nought (Illinois rule)."""
    low, high = 0.0, most
    at_low, at_high = falling(low), falling(high)
    if at_low <= 0.0:
        return low
    if at_high > 0.0:
        return high
    moved: bool | None = None
    for _ in range(_STEPS):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        value = falling(middle)
        above = value > 0.0
        # An end that stays twice is given half its weight, so that both ends close in.
        weight = 1.0
        if above == moved:
            weight = 0.5
        moved = above
        if above:
            low, at_low, at_high = middle, value, at_high * weight
        else:
            high, at_high, at_low = middle, value, at_low * weight
        if -_CLOSE <= value <= 0.0:
            break
    return high


def _lines(cow: _Cow, offer: Offer, base_litres: float, meal: float) -> list[ParlourLine]:
    """Every second litre from the base up to two steps past what the meals allow."""
    lines: list[ParlourLine] = []
    litres = STEP_LITRES * (int(base_litres) // STEP_LITRES)
    past = 0
    while past < 2 and litres <= _MOST_LITRES:
        kg_dm, word = cow.concentrate(float(litres))
        if kg_dm >= _MOST_CONCENTRATE_KG_DM:
            break
        fresh = fresh_from_dm(kg_dm, offer.feed.dm_g_per_kg)
        within = fresh <= meal * MILKINGS_A_DAY
        past += not within
        if kg_dm <= 0.0:
            word = ""
        lines.append(ParlourLine(float(litres), fresh, fresh / MILKINGS_A_DAY, word, within))
        litres += STEP_LITRES
    return lines
