"""A winter kept open: other prices of bought feeds are settled without beginning again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from rationlp.ask.held import Appetite, OpenAppetite
from rationlp.ask.stores import OpenWinter
from rationlp.farm.farm import Farm
from rationlp.live.phases import FACES
from rationlp.live.stages import KnownStages
from rationlp.model.rows.block import at_prices
from rationlp.planned import WinterPlan
from rationlp.read.changed import Change, ChangedFarm
from rationlp.wintering.answer import plan_of
from rationlp.wintering.courses import slow_faces
from rationlp.wintering.search import winter_costs

PRICE = ".price_per_t_fresh"


class WarmWinter:
    """The winter of a farm and what its groups would eat, open at its own prices.

    read: what its folder held when it was read. like: a winter kept open before: this one begins
    at its plan, and takes over what is the same; it is not asked again. Raises InputError and
    SolverTrouble as a plan does.
    """

    def __init__(
        self,
        read: Any,
        changes: Iterable[Change],
        farm: ChangedFarm,
        like: WarmWinter | None = None,
    ) -> None:
        self._key = (read, _but_prices(changes))
        winter = appetite = None
        self.stages = KnownStages()
        if like is not None:
            winter, appetite, self.stages = like._winter, like._appetite, like.stages
        self._winter: OpenWinter = OpenWinter(farm.farm, farm.stocks, like=winter)
        self._appetite: OpenAppetite = OpenAppetite(
            farm.farm, self._winter.model, appetite, farm.stocks
        )

    def fits(self, read: Any, changes: Iterable[Change]) -> bool:
        """Whether a farm differs from the one kept open by prices of bought feeds alone."""
        return self._key == (read, _but_prices(changes))

    def appetite(self, farm: Farm) -> Appetite:
        """What the groups would eat at the prices of a farm."""
        return self._appetite.at(farm)

    def plan(self, farm: Farm) -> WinterPlan | None:
        """The settled plan at the prices of a farm, certified; None where it has to be planned
        anew: whole loads, an answer that does not pass. Which clamps are open is left to the proof.
        Raises InputError and SolverTrouble as a plan does.
        """
        winter = self._winter
        model, yard = winter.model, winter.yard
        if winter.solution is None or winter.whole:
            return None
        runs = tuple(replace(run, block=at_prices(run.block, farm)) for run in yard.runs)
        priced = replace(yard, farm=farm, runs=runs)
        costs = winter_costs(priced)
        settled = winter.certified_at(costs)
        if settled is None:
            return None
        solution, certificate = settled
        model.runs, model.yard = runs, priced
        try:
            answer = (solution, solution.values)
            plan = plan_of(priced, model, answer, (certificate, None, True), worded=False)
        finally:
            model.runs, model.yard = yard.runs, yard
        if not certificate.passed:
            return None
        return plan

    def remark(self, plan: WinterPlan) -> str:
        """What is to be said of a plan settled here; empty where all its clamps advance."""
        return FACES if slow_faces(self._winter.yard, plan) else ""


def _but_prices(changes: Iterable[Change]) -> tuple[tuple[str, str], ...]:
    """All changes but prices of bought feeds."""
    return tuple(
        (change.path, change.text) for change in changes if not change.path.endswith(PRICE)
    )
