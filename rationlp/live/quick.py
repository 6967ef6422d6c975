"""One group's ration at other prices, at once: each group's model kept open on the day shown."""

from __future__ import annotations

from datetime import date
from threading import Lock
from typing import Any

from rationlp.ask.engine import GroupEngine
from rationlp.farm.farm import Farm
from rationlp.live.answer import feeds
from rationlp.live.phases import QUICK, SETTLED
from rationlp.model.ration import amounts_of, make_blocks
from rationlp.model.rows import block_costs
from rationlp.model.rows.block import at_prices
from rationlp.needs.calendar import farm_on

Json = dict[str, Any]


class _Group:
    """A group open on a day, and its last answer with the costs that it was made at."""

    def __init__(self, engine: GroupEngine) -> None:
        self._engine = engine
        self._costs: dict[Any, float] = {}
        self._answer: Json | None = None

    def at(self, farm: Farm) -> Json | None:
        """The group's settled ration at the prices of a farm; None without one."""
        block = at_prices(self._engine.block, farm)
        costs = block_costs(block)
        if costs == self._costs:
            return self._answer
        settled = self._engine.nearby(costs) or self._engine.at_costs(costs)
        self._costs, self._answer = costs, None
        if settled.exists:
            amounts = amounts_of(block, settled.amounts)
            cost = sum(amount.cost for amount in amounts)
            name = block.group.id
            self._answer = {"id": name, "cost": cost, "feeds": feeds(farm, amounts)}
        return self._answer


class Quick:
    """The groups of a farm, open on a day."""

    def __init__(self, farm: Farm, day: date) -> None:
        self._lock, self._day = Lock(), day
        blocks = make_blocks(farm_on(farm, day))
        self._groups = [_Group(GroupEngine(block)) for block in blocks if block.needs.energy]

    def at(self, farm: Farm) -> Json:
        """Every group's settled ration on a farm that differs from this one by prices of bought
        feeds alone.
        """
        with self._lock:
            answers = [group.at(farm) for group in self._groups]
        groups = [answer for answer in answers if answer is not None]
        day = self._day.isoformat()
        return {"phase": SETTLED, "said": QUICK, "groups": groups, "day": day}


class KeptQuick:
    """The groups of the farm that was asked about last, kept open."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._key: Any = None
        self._groups: Quick | None = None

    def of(self, key: Any, farm: Farm, day: date) -> Quick:
        """The open groups of a farm on a day; key: what makes it another farm."""
        with self._lock:
            if self._groups is None or self._key != (key, day):
                self._key, self._groups = (key, day), Quick(farm, day)
            return self._groups
