"""A winter kept open: other prices of bought feeds are settled without beginning again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from rationlp.ask.bought import other_price
from rationlp.ask.stores import OpenWinter
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.live.phases import FACES
from rationlp.model.lp import Key
from rationlp.model.proof import certify
from rationlp.planned import WinterPlan
from rationlp.read.changed import Change, ChangedFarm
from rationlp.wintering.answer import plan_of
from rationlp.wintering.plan import slow_faces

PRICE = ".price_per_t_fresh"


class WarmWinter:
    """The winter of a farm, open at its own prices."""

    def __init__(self, folder: Path, changes: Iterable[Change], farm: ChangedFarm) -> None:
        self._folder, self._others = folder, _but_prices(changes)
        self._farm = farm.farm
        self._winter = OpenWinter(farm.farm, farm.stocks)

    def fits(self, folder: Path, changes: Iterable[Change]) -> bool:
        """Whether a farm differs from the one kept open by prices only."""
        return folder == self._folder and _but_prices(changes) == self._others

    def plan(self, farm: ChangedFarm) -> WinterPlan | None:
        """The settled plan at the prices of a farm, certified; None where it has to be planned
        anew: whole loads, an answer that does not pass. Which clamps are open is left to the proof.
        """
        winter = self._winter
        costs = self._costs(farm.farm)
        if winter.solution is None or winter.whole or costs is None:
            return None
        found = winter.settled_at(costs)
        if found is None:
            return None
        model, yard, own = winter.model, winter.yard, winter.model.costs
        runs = tuple(
            replace(run, block=replace(run.block, offers=_priced(run.block.offers, farm.farm)))
            for run in yard.runs
        )
        priced = replace(yard, farm=farm.farm, runs=runs)
        model.costs = {**own, **costs}
        model.live.set_costs(model.costs)
        model.runs, model.yard = runs, priced
        try:
            certificate = certify(model.live.numbers(), found, found.values)
            plan = plan_of(priced, model, (found, found.values), (certificate, None, True))
        finally:
            model.runs, model.yard, model.costs = yard.runs, yard, own
            model.live.set_costs(own)
        if not certificate.passed:
            return None
        if slow_faces(priced, plan):
            plan = replace(plan, remarks=(FACES, *plan.remarks))
        return plan

    def _costs(self, farm: Farm) -> dict[Key, float] | None:
        """Costs of the columns of feeds whose price is another; None for one that cost nothing."""
        before = {offer.id: offer for offer in self._farm.offers}
        costs: dict[Key, float] = {}
        for offer in farm.offers:
            old = before[offer.id]
            if old.price_per_t_fresh == offer.price_per_t_fresh:
                continue
            if old.price_per_t_fresh <= 0.0 or not offer.bought:
                return None
            priced = other_price(self._winter, old)
            if priced is not None:
                costs |= priced.costs(offer.price_per_t_fresh)
        return costs


def _priced(offers: Iterable[Offer], farm: Farm) -> tuple[Offer, ...]:
    """The offers of a block at the prices of another farm."""
    prices = {offer.id: offer.price_per_t_fresh for offer in farm.offers}
    return tuple(
        replace(one, price_per_t_fresh=prices[one.id]) if one.id in prices else one
        for one in offers
    )


def _but_prices(changes: Iterable[Change]) -> tuple[tuple[str, str], ...]:
    """All changes but prices of bought feeds."""
    return tuple((one.path, one.text) for one in changes if not one.path.endswith(PRICE))
