"""Listed winters that cannot be fed, named where there is no plan for the spread."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from rationlp.chances.course import solve_course
from rationlp.chances.layout import TreeLayout
from rationlp.chances.market import make_market
from rationlp.chances.spread_answer import SpreadAsked
from rationlp.chances.spread_plan import points_of
from rationlp.chances.template import make_template
from rationlp.chances.tree import make_tree
from rationlp.chances.winters import (
    ListedWinter,
    farm_spreads,
    held_share,
    listed_winters,
    stage_days,
)
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.records import dataclass


@dataclass(frozen=True)
class UnfedWinter:
    """A listed winter that cannot be fed though all of it were known from the first day on. light:
    share by which the store that is furthest out holds less than thought [-], below 0 for more.
    late_days: turnout after the farm's own [d]. share: of winters that it stands for [-].
    """

    light: float
    late_days: int
    share: float


def unfed_winters(
    farm: Farm, asked: SpreadAsked, stocks: Mapping[str, StoreStock], start: date
) -> tuple[UnfedWinter, ...]:
    """The listed winters of a farm that cannot be fed, each looked at on its own; none where the
    winter as thought cannot be, which its own plan tells.
    """
    spreads = farm_spreads(farm, stocks).times(asked.width)
    market = make_market(farm, stage_days(farm, start), spreads, asked.bales_per_t_dm)
    template = make_template(market, stocks)
    if template is None:
        return ()
    unfed = []
    for winter in listed_winters(spreads, *points_of(farm, asked)):
        alone = ListedWinter(0, 1.0, winter.stock, winter.late_days, winter.price)
        if solve_course(TreeLayout(template, make_tree((alone,)))) is not None:
            continue
        held = [held_share(spreads, store.id, winter) for store in farm.stores]
        furthest = max(held, key=lambda share: abs(1.0 - share), default=1.0)
        unfed.append(UnfedWinter(1.0 - furthest, winter.late_days, winter.weight))
    return tuple(unfed)
