"""The small example with less than a third of its forage and bales on offer, so that the spread of
stock and spring matters.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from rationlp.chances.course import Course, Wish, solve_course
from rationlp.chances.layout import TreeLayout
from rationlp.chances.market import make_market
from rationlp.chances.template import Template, make_template
from rationlp.chances.tree import make_tree
from rationlp.chances.winters import ListedWinter, farm_spreads, listed_winters, stage_days
from rationlp.farm.farm import Farm
from rationlp.farm.store import Spread, StoreStock
from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import farm_stocks

EXAMPLES = Path(__file__).parents[2] / "examples"
Laid = tuple[Template, tuple[ListedWinter, ...]]


def scarce_stocks(farm: Farm, share: float = 0.3) -> dict[str, StoreStock]:
    """What is in store, a share of what the farm has, so that bales are bought."""
    stocks = {}
    for store, stock in farm_stocks(farm).items():
        held = stock.edible_t_dm
        less = Spread(share * held.low, share * held.typical, share * held.high)
        stocks[store] = replace(stock, edible_t_dm=less)
    return stocks


def scarce_template() -> Laid:
    """The small example short of forage, with bales on offer, and nine winters."""
    farm = read_farm(EXAMPLES / "few")
    stocks = scarce_stocks(farm)
    spreads = farm_spreads(farm, stocks)
    market = make_market(farm, stage_days(farm, farm.start), spreads, 90.0)
    template = make_template(market, stocks)
    assert template is not None
    return template, listed_winters(spreads, 3, 3)


def solved(
    laid: Laid,
    wish: Wish | None = None,
    seen: dict[str, int] | None = None,
    shut: frozenset[tuple[str, int]] = frozenset(),
) -> Course:
    """The course of a template through its winters."""
    course = solve_course(TreeLayout(laid[0], make_tree(laid[1], seen), shut), wish)
    assert course is not None
    return course
