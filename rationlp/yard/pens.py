"""Feeding without a wagon: bales a pen, kg at the rail, kg a meal times meals, minerals by hand.

Concentrates are judged by the meal, never by the day: the most of one meal is that of the class in
feeds/practice.csv.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil

from rationlp.farm.feed import Offer
from rationlp.quantities import fresh_from_dm
from rationlp.read.loading import loading_figure
from rationlp.records import dataclass
from rationlp.rules.limits import practice_figure
from rationlp.yard.loads import dose_kg, keep_total

BALES, RAIL, MEALS, TOPPED, HOPPER = "bales", "rail", "meals", "by hand", "hopper"
_HAIR = 1e-9
_MOST_DAYS = 14
_CLOSE = 0.02
_SMALL_PEN_KG = 25.0
"""Below this a pen's forage is rounded to 1 kg instead of 10; common practice, no source (c)."""


@dataclass(frozen=True)
class PenLine:
    """One feed for a pen. way: `bales`, `rail`, `meals`, `hopper` or `by hand`. wanted_kg: a day,
    as the ration has it with refusals; kg: a day, as it can be given [kg fresh].

    bales in bale_days, of bale_kg each: whole bales. kg_a_meal: of the whole pen, `meals` times a
    day.
    """

    offer: str
    name: str
    way: str
    wanted_kg: float
    kg: float
    bales: int | None = None
    bale_days: int | None = None
    bale_kg: float | None = None
    kg_a_meal: float | None = None


@dataclass(frozen=True)
class Pen:
    """A pen's feeding in a day. concentrate_kg: of all that is fed by the meal [kg fresh a head a
    day]; meals: as many as keep each within meal_most_kg [kg fresh a head], a class figure of
    common practice (c); class_figure: False where the class has none. hopper: concentrate stands in
    front of them all day and is no meal.
    """

    head: int
    lines: tuple[PenLine, ...]
    concentrate_kg: float
    meals: int
    meal_most_kg: float
    class_figure: bool
    hopper: bool = False

    def kg_of(self, offer: str) -> float:
        """kg fresh of a feed for the pen in a day."""
        return sum(line.kg for line in self.lines if line.offer == offer)


@dataclass(frozen=True)
class Serving:
    """A feed to be put out, at today's dry matter [kg DM a head a day], without refusals."""

    offer: Offer
    kg_dm: float

    @property
    def kg_fresh(self) -> float:
        """kg fresh a head a day."""
        return fresh_from_dm(self.kg_dm, self.offer.feed.dm_g_per_kg)


def whole_bales(bales_a_day: float) -> tuple[int, int]:
    """Bales and the days they are fed in: the fewest days, up to a fortnight, that come within 2 %
    of what is wanted; one bale in as many days as it lasts where that is longer.
    """
    if bales_a_day * _MOST_DAYS < 1.0:
        return 1, max(1, round(1.0 / bales_a_day))
    choices = [(max(1, round(bales_a_day * days)), days) for days in range(1, _MOST_DAYS + 1)]
    off = {days: abs(bales / days / bales_a_day - 1.0) for bales, days in choices}
    for bales, days in choices:
        if off[days] <= _CLOSE:
            return bales, days
    return min(choices, key=lambda choice: (off[choice[1]], choice[1]))


def make_pen(
    served: Sequence[Serving],
    head: int,
    refusals: float,
    limits_key: str | None,
    bale_kg: Mapping[str, float],
    hopper: bool = False,
) -> Pen:
    """A pen of `head` animals fed without a wagon. refusals: share left lying of forage;
    limits_key: whose meal limit; bale_kg: weight of a bale by store id; hopper: concentrate stands
    in front of them all day, as cattle on cereals get it (common practice, c).
    """
    meal = [fed for fed in served if _by_meal(fed.offer)]
    meal_limit = practice_figure(limits_key, "meal_most_kg_fresh")
    most = meal_limit or loading_figure("meal_any")
    a_head = sum(fed.kg_fresh for fed in meal)
    meals = 1
    if not hopper:
        meals = max(1, ceil(a_head / most - _HAIR))
    lines = [
        _forage(fed, head * (1.0 + refusals), bale_kg) for fed in served if _is_bulk(fed.offer)
    ]
    for line in _meal_lines(meal, head, meals):
        if hopper:
            line = replace(line, way=HOPPER, kg_a_meal=None)
        lines.append(line)
    lines += [_topped(fed, head) for fed in served if fed.offer.feed.kind == "mineral"]
    return Pen(
        head,
        tuple(line for line in lines if line.kg > 0.0),
        a_head,
        meals,
        most,
        meal_limit is not None,
        hopper,
    )


def _is_bulk(offer: Offer) -> bool:
    return offer.feed.is_fodder


def _by_meal(offer: Offer) -> bool:
    return not _is_bulk(offer) and offer.feed.kind != "mineral"


def _forage(fed: Serving, head: float, bale_kg: Mapping[str, float]) -> PenLine:
    """Forage or roots of a pen, in bales where it lies in bales; `head` with its refusals."""
    kg = fed.kg_fresh * head
    if fed.offer.id in bale_kg:
        weight = bale_kg[fed.offer.id]
        bales, days = whole_bales(kg / weight)
        return PenLine(
            fed.offer.id, fed.offer.name, BALES, kg, bales * weight / days, bales, days, weight
        )
    step = 1.0
    if kg >= _SMALL_PEN_KG:
        step = loading_figure("step_forage")
    return PenLine(fed.offer.id, fed.offer.name, RAIL, kg, max(1.0, round(kg / step)) * step)


_MEAL_STEPS = {False: 0.1, True: 0.5}
"""To what a weight below 10 kg, and from there on, is rounded [kg]."""


def _meal_lines(meal: Sequence[Serving], head: int, meals: int) -> list[PenLine]:
    """Each feed in one meal of the pen, to 0.5 kg (0.1 below 10 kg), their total kept."""
    targets = [fed.kg_fresh * head / meals for fed in meal]
    rounded = keep_total(targets, [_MEAL_STEPS[kg >= 10.0] for kg in targets])
    return [
        PenLine(
            fed.offer.id, fed.offer.name, MEALS, want * meals, round(kg * meals, 6), kg_a_meal=kg
        )
        for fed, want, kg in zip(meal, targets, rounded, strict=True)
    ]


def _topped(fed: Serving, head: int) -> PenLine:
    kg = fed.kg_fresh * head
    return PenLine(fed.offer.id, fed.offer.name, TOPPED, kg, dose_kg(kg))
