"""The listed winters: few, fixed, and with weights; what they differ in, and when that is seen.

Stock, turnout and a common factor of prices are normal; each is stood for by the points and weights
of Gauss and Hermite, which have the right mean and spread. The winters are all combinations.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import field
from datetime import date, timedelta
from math import exp, sqrt

import numpy as np

from rationlp.chances.data import figure
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.planned import Period
from rationlp.records import dataclass
from rationlp.rules.spreads import default_spreads, stock_spread

STOCK, TURNOUT, PRICE = "stock", "turnout", "price"
FACTORS = (STOCK, TURNOUT, PRICE)
SEEN = {STOCK: 1, TURNOUT: 2, PRICE: 1}
"""The stage in which each is known: marks on the wall and prices at the turn of the year, turnout
in late winter. Common practice, no source (c)."""
LATE_STAGE_DAYS = 42
"""Length of late winter [d]: turnout is known no earlier than this; own choice, no source (c)."""
LEAST_STAGE_DAYS = 14
LEAST_HELD = 0.05


@dataclass(frozen=True)
class ListedWinter:
    """One listed winter. weight: its share of all winters [-]. stock, price: how far from the mean
    [standard deviations]. late_days: turnout after the farm's own [d]. by_store: how far each store
    is from the mean, by id, where that is not `stock` [standard deviations].
    """

    number: int
    weight: float
    stock: float
    late_days: int
    price: float
    by_store: dict[str, float] = field(default_factory=dict)

    def of(self, factor: str) -> float:
        """Its value of one of FACTORS."""
        values = {STOCK: self.stock, TURNOUT: float(self.late_days), PRICE: self.price}
        return values[factor]


@dataclass(frozen=True)
class Spreads:
    """How far winters differ. stock: of each store by id [share]. turnout_days: of turnout [d].
    price: of the common factor of prices in half a year, log [-]. All standard deviations.
    """

    stock: Mapping[str, float]
    turnout_days: float
    price: float

    def times(self, share: float) -> Spreads:
        """The same spreads, all of them so many times as wide."""
        stock = {store: share * sd for store, sd in self.stock.items()}
        return Spreads(stock, share * self.turnout_days, share * self.price)


def farm_spreads(farm: Farm, stocks: Mapping[str, StoreStock]) -> Spreads:
    """The spreads of a farm: of each store as it was measured, of turnout and prices."""
    loss = default_spreads()["loss"].spread
    stock = {}
    for store in farm.stores:
        held = stocks[store.id]
        measured = stock_spread(store, held, default_spreads())
        lost = sum(loss * one / (1.0 - one) for one in held.losses.values())
        stock[store.id] = sqrt(measured**2 + lost**2)
    return Spreads(stock, figure("turnout"), figure("price"))


def normal_points(count: int) -> tuple[tuple[float, float], ...]:
    """(value, weight) of a standard normal number by Gauss and Hermite, exact to 2·count − 1."""
    points, weights = np.polynomial.hermite_e.hermegauss(count)
    total = float(weights.sum())
    # The middle one of an odd number is nought but for rounding.
    return tuple(
        (round(float(z), 12), float(w) / total) for z, w in zip(points, weights, strict=True)
    )


def listed_winters(
    spreads: Spreads, stock: int = 5, turnout: int = 3, price: int = 1
) -> tuple[ListedWinter, ...]:
    """All combinations of so many points each. A factor without any spread has one point.

    Days of turnout are whole; where that moves their mean, nothing else is moved for it.
    """
    any_stock = max(spreads.stock.values(), default=0.0) > 0.0
    found = []
    combined = itertools.product(
        normal_points(stock if any_stock else 1),
        normal_points(turnout if spreads.turnout_days > 0.0 else 1),
        normal_points(price if spreads.price > 0.0 else 1),
    )
    for number, ((z, a), (late, b), (dear, c)) in enumerate(combined):
        days = round(spreads.turnout_days * late)
        found.append(ListedWinter(number, a * b * c, z, days, dear))
    return tuple(found)


def held_share(spreads: Spreads, store: str, winter: ListedWinter) -> float:
    """What a store holds in a winter, as a share of what is thought; never below 5 %."""
    z = winter.by_store.get(store, winter.stock)
    return max(1.0 + spreads.stock[store] * z, LEAST_HELD)


def price_share(spreads: Spreads, months: float, winter: ListedWinter) -> float:
    """What bought feed costs after so many months, as a share of its price now; 1 on average."""
    sd = spreads.price * sqrt(max(months, 0.0) / 6.0)
    if winter.price:
        return exp(sd * winter.price - 0.5 * sd * sd)
    return 1.0


def stage_days(farm: Farm, start: date) -> tuple[date, ...]:
    """The first days of autumn, of the turn of the year and of late winter: the farm's own where it
    gives them and they are still to come, else 25 December where that lies between, else the
    middle.
    """
    own = [day for day in farm.later.looks if day > start]
    if len(own) == 2:
        return start, own[0], own[1]
    late = farm.turnout - timedelta(days=LATE_STAGE_DAYS)
    if own:
        return start, start + (own[0] - start) / 2, own[0]
    middle = start + (late - start) / 2
    turn = next(
        (
            day
            for day in (date(year, 12, 25) for year in (start.year, farm.turnout.year))
            if start + timedelta(days=LEAST_STAGE_DAYS) < day < late
        ),
        middle,
    )
    if (late - start).days < 2 * LEAST_STAGE_DAYS:
        third = (farm.turnout - start) / 3
        turn, late = start + third, start + 2 * third
    return start, turn, late


def stretched(periods: tuple[Period, ...], late_days: int) -> tuple[float, ...]:
    """Each period's days under another turnout over its days in the plan; the last goes on."""
    turnout = periods[-1].last + timedelta(days=late_days)
    shares = []
    for period in periods:
        ends = turnout if period is periods[-1] or turnout < period.last else period.last
        shares.append(max(0, (ends - period.first).days) / period.days)
    return tuple(shares)


def winter_mark(winter: ListedWinter) -> str:
    """The name of a winter in keys."""
    return f"w{winter.number}"
