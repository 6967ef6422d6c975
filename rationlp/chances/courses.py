"""Courses of one farm through the same winters: as asked, actions shut, known earlier."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import inf

from rationlp.chances.actions import SIGNED, Shut, sale_name
from rationlp.chances.course import Course, Wish, solve_course
from rationlp.chances.layout import TreeLayout
from rationlp.chances.spread_answer import Costs
from rationlp.chances.template import Template
from rationlp.chances.tree import STAGES, make_tree
from rationlp.chances.winters import ListedWinter
from rationlp.model.lp import Key

AUTUMN = ("feed", "buy", "sold", "sell", "contract")
"""Kinds of columns that are settled in autumn."""


class Courses:
    """Courses of one template through the same winters."""

    def __init__(self, template: Template, winters: tuple[ListedWinter, ...]) -> None:
        self.template, self.winters = template, winters
        self.layout = TreeLayout(template, make_tree(winters))
        single = (ListedWinter(0, 1.0, 0.0, 0, 0.0),)
        # The winter's own cheapest plan signs no contract and sells no animal.
        later = template.yard.farm.later
        shut = {(sale_name(sale.group), stage) for sale in later.sales for stage in range(STAGES)}
        shut |= {(price.offer, SIGNED) for price in later.prices}
        self.alone = TreeLayout(template, make_tree(single), frozenset(shut))
        mean = solve_course(self.alone)
        assert mean is not None  # the template was settled on this very winter
        self.mean = mean

    def of(
        self,
        wish: Wish | None = None,
        seen: Mapping[str, int] | None = None,
        shut: Shut = frozenset(),
    ) -> Course | None:
        """A course, with factors known earlier or purchases shut."""
        if seen is None and not shut:
            return solve_course(self.layout, wish)
        return solve_course(TreeLayout(self.template, make_tree(self.winters, seen), shut), wish)

    def autumn(self, course: Course) -> dict[Key, float]:
        """What a course feeds and buys in autumn, by column."""
        first = self.layout.tree.nodes[0].mark
        return {
            key: value
            for key, value in course.values.items()
            if key[-1] == first and key[0] in AUTUMN
        }

    def at_later_prices(self, share: float) -> Course | None:
        """The course if our own prices of forage after autumn were only so far above its price in
        autumn, as a share of what they are thought to be [0 to 1].
        """
        market = self.template.market
        by_stage = tuple(1.0 + share * (times - 1.0) for times in market.by_stage)
        template = replace(self.template, market=replace(market, by_stage=by_stage))
        return solve_course(TreeLayout(template, self.layout.tree))


def costs_more(course: Course | None, than: Course | None) -> Costs:
    """What a course costs more than another; without the one more than any price, without the
    other nothing is known to be saved.
    """
    if course is None:
        return Costs(inf, 0.0)
    if than is None:
        return Costs(0.0, 0.0)
    return Costs(course.money - than.money, course.priced - than.priced)
