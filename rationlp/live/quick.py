"""One group's ration at other prices, at once: each group's model kept open on the day shown."""

from __future__ import annotations

from collections.abc import Mapping
from threading import Lock
from typing import Any

from rationlp.ask.engine import GroupEngine
from rationlp.farm.farm import Farm
from rationlp.live.answer import feeds
from rationlp.live.phases import SETTLED
from rationlp.model.ration import amounts_of, make_blocks
from rationlp.needs.calendar import farm_on


class Quick:
    """The groups of a farm, open on its first day. Used by one thread at a time."""

    def __init__(self, farm: Farm) -> None:
        self._farm = farm
        self._lock = Lock()
        self._engines = [
            GroupEngine(block) for block in make_blocks(farm_on(farm)) if block.needs.energy
        ]

    def at(self, prices: Mapping[str, float]) -> dict[str, Any]:
        """Every group's settled ration at other prices [currency/t fresh] by offer id, all others
        at the farm's own.
        """
        groups = []
        with self._lock:
            for engine in self._engines:
                offers = {offer.id: offer for offer in engine.block.offers}
                settled = engine.at({n: price for n, price in prices.items() if n in offers})
                if not settled.exists:
                    continue
                amounts = amounts_of(engine.block, settled.amounts)
                cost = sum(
                    one.kg_fresh
                    * prices.get(one.offer, offers[one.offer].price_per_t_fresh)
                    / 1000.0
                    for one in amounts
                )
                groups.append(
                    {
                        "id": engine.block.group.id,
                        "cost": cost,
                        "feeds": feeds(self._farm, amounts),
                    }
                )
        return {"phase": SETTLED, "groups": groups, "day": self._farm.start.isoformat()}
