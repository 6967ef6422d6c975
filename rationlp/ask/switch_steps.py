"""A switch for the whole farm, in kilograms: at 0, 25, 50, 75 and 100 % what each head gets, what
is bought, what lasts.

As in `switch` the two forages and straw are the only forages, and every ration is proved for
itself.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta

from rationlp.after.changeover import change_over
from rationlp.ask.switch import cheapest_share, nobody_eats_both, ration_at, the_pair, with_pair
from rationlp.errors import refused
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.feed_table import sort_of
from rationlp.model.ration import make_blocks
from rationlp.model.rows.block import Block
from rationlp.quantities import fresh_from_dm
from rationlp.records import dataclass
from rationlp.stock.dry_matter import farm_stocks

SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
GRASS, MAIZE = "grass_silage", "maize_silage"
_LEAST_KG_DM = 1e-3


@dataclass(frozen=True)
class StepFeed:
    """One feed of a ration [kg fresh a head a day]. bought: not of a store; kind: of the tables."""

    offer: str
    name: str
    kg_fresh: float
    bought: bool
    kind: str


@dataclass(frozen=True)
class GroupStep:
    """One share in one group. feed_cost: [currency a head a day]; change_days: from the start."""

    share: float
    feeds: tuple[StepFeed, ...]
    feed_cost: float
    change_days: int

    def kg_of(self, offer: str) -> float:
        """kg fresh a head a day of an offer."""
        return sum(feed.kg_fresh for feed in self.feeds if feed.offer == offer)


@dataclass(frozen=True)
class GroupSteps:
    """The shares of a group with a ration, lowest first; barred: the others; reason: if none."""

    group: str
    name: str
    head: int
    steps: tuple[GroupStep, ...]
    barred: tuple[float, ...]
    reason: str = ""

    def at(self, share: float) -> GroupStep | None:
        """The step of a share, or None where it has no ration."""
        return next((step for step in self.steps if step.share == share), None)


@dataclass(frozen=True)
class FarmStep:
    """One share in all groups. kg_fresh: mean of all heads by offer id [kg fresh a head a day];
    bought_t: by name [t fresh a week]; cost: [currency a week]. lasts: by id of the two, first day
    without; None where it lasts to turnout or is bought.
    """

    share: float
    head: int
    kg_fresh: Mapping[str, float]
    bought_t: Mapping[str, float]
    cost: float
    lasts: Mapping[str, date | None]
    change_days: int


@dataclass(frozen=True)
class SwitchSteps:
    """The switch of a farm in steps. day: of the rations; can_go_over_t: most of the second forage
    that the groups can get to turnout before its store is empty [t fresh], None where it is bought;
    up_to_share: the share that uses just so much, 1 where it lasts at any. left_out: names of
    groups that may not eat both.
    """

    farm: Farm
    day: date
    first: Offer
    second: Offer
    groups: tuple[GroupSteps, ...]
    steps: tuple[FarmStep, ...]
    can_go_over_t: float | None
    up_to_share: float
    left_out: tuple[str, ...]

    @property
    def best(self) -> FarmStep | None:
        """The cheapest step of the farm; of two that cost the same to a thousandth, the smaller."""
        if not self.steps:
            return None
        lowest = min(step.cost for step in self.steps)
        return next(step for step in self.steps if step.cost <= lowest * (1.0 + 1e-3))


def usual_pair(farm: Farm) -> tuple[str, str]:
    """The forages of a switch that nobody named: the largest store of grass silage and that of
    maize silage; on a farm without one of them the two forages of which most is held, straw left
    out. Raises InputError (IN810) where there are not two.
    """
    stocks = farm_stocks(farm)
    offers = {offer.id: offer.feed for offer in farm.offers}
    forages = [store.id for store in farm.stores if offers[store.id].is_forage]
    stores = [store for store in forages if offers[store].kind != "straw"]
    stores.sort(key=lambda store: -stocks[store].edible_t_dm.typical)
    grass = [store for store in stores if sort_of(offers[store]) == GRASS]
    maize = [store for store in stores if sort_of(offers[store]) == MAIZE]
    if grass and maize:
        return grass[0], maize[0]
    if len(stores) < 2:
        remedy = "name two forages with --from and --to: stores, or bought feeds"
        raise refused("IN810", "switch", "fewer than two forages in store", remedy)
    return stores[0], stores[1]


def switch_steps(
    farm: Farm, names: tuple[str, str], groups: Collection[str] | None = None
) -> SwitchSteps:
    """The switch in every group that may eat both forages (or in those of `groups`). farm: its
    groups as on one day.

    Raises InputError as `switch_by_share` does.
    """
    first, second = the_pair(farm, names)
    group_steps, left_out = [], []
    for block in make_blocks(farm, groups):
        ids = {offer.id for offer in block.offers}
        if first.id in ids and second.id in ids:
            group_steps.append(_group_steps(farm, with_pair(block, first, second)))
        else:
            left_out.append(block.group.name)
    if not group_steps:
        raise nobody_eats_both(first, second)
    day = farm.day or farm.start
    fed = [group for group in group_steps if group.steps]
    steps = tuple(_farm_steps(farm, (first, second), fed, day))
    t_in_store, up_to = _can_go_over(farm, second, steps, day)
    return SwitchSteps(
        farm, day, first, second, tuple(group_steps), steps, t_in_store, up_to, tuple(left_out)
    )


def _group_steps(farm: Farm, block: Block) -> GroupSteps:
    group = block.group
    empty = GroupSteps(group.id, group.name, group.head, (), SHARES)
    free = cheapest_share(block)
    if isinstance(free, str):
        return dataclasses.replace(empty, reason=free)
    steps: list[GroupStep] = []
    start: dict[str, float] = {}
    for share in SHARES:
        ration = ration_at(block, free[0], share)
        if ration is None:
            continue
        start = start or ration.kg_dm
        days = change_over(farm, block.needs, start, ration.kg_dm).days
        steps.append(_step(block, share, ration.kg_dm, days))
    with_ration = {step.share for step in steps}
    barred = tuple(share for share in SHARES if share not in with_ration)
    reason = ""
    if not steps:
        reason = "none of these shares has a ration"
    return dataclasses.replace(empty, steps=tuple(steps), barred=barred, reason=reason)


def _step(block: Block, share: float, kg_dm: Mapping[str, float], days: int) -> GroupStep:
    feeds = []
    for offer in block.offers:
        if kg_dm[offer.id] > _LEAST_KG_DM:
            fresh = fresh_from_dm(kg_dm[offer.id], offer.feed.dm_g_per_kg)
            feeds.append(StepFeed(offer.id, offer.name, fresh, offer.bought, offer.feed.kind))
    cost = sum(kg_dm[offer.id] * offer.price_per_kg_dm for offer in block.offers)
    return GroupStep(share, tuple(feeds), cost, days)


def _farm_steps(
    farm: Farm, pair: tuple[Offer, Offer], groups: Sequence[GroupSteps], day: date
) -> Iterable[FarmStep]:
    """The shares at which every group has a ration."""
    head = sum(group.head for group in groups)
    for share in SHARES:
        at = [(group.head, step) for group in groups if (step := group.at(share)) is not None]
        if len(at) < len(groups) or not at:
            continue
        a_day = {
            forage.id: sum(heads * step.kg_of(forage.id) for heads, step in at) for forage in pair
        }
        bought: dict[str, float] = {}
        for heads, step in at:
            for feed in step.feeds:
                if feed.bought:
                    t_a_week = heads * feed.kg_fresh * 7.0 / 1000.0
                    bought[feed.name] = bought.get(feed.name, 0.0) + t_a_week
        yield FarmStep(
            share=share,
            head=head,
            kg_fresh={offer: kg / head for offer, kg in a_day.items()},
            bought_t=bought,
            cost=7.0 * sum(heads * step.feed_cost for heads, step in at),
            lasts={offer.id: _lasts(farm, offer, a_day[offer.id], day) for offer in pair},
            change_days=max(step.change_days for _, step in at),
        )


def _held_t_fresh(farm: Farm, offer: Offer) -> float | None:
    """What of a store can be put before animals [t fresh]; None for a bought feed."""
    if offer.bought:
        return None
    stock = farm_stocks(farm)[offer.id]
    eaten_t_dm = stock.edible_t_dm.typical * (1.0 - stock.trough_loss)
    return fresh_from_dm(eaten_t_dm, offer.feed.dm_g_per_kg)


def _lasts(farm: Farm, offer: Offer, kg_a_day: float, day: date) -> date | None:
    """The first day without a store at this rate, or None where it lasts to turnout."""
    t_in_store = _held_t_fresh(farm, offer)
    if t_in_store is None or kg_a_day <= 0.0:
        return None
    ends = day + timedelta(days=int(min(1000.0 * t_in_store / kg_a_day, 10_000.0)))
    if ends >= farm.turnout:
        return None
    return ends


def _can_go_over(
    farm: Farm, second: Offer, steps: Sequence[FarmStep], day: date
) -> tuple[float | None, float]:
    """The most of the second forage to turnout [t fresh], and the share that uses it."""
    t_in_store = _held_t_fresh(farm, second)
    days = (farm.turnout - day).days
    uses = [(step.share, step.kg_fresh[second.id] * step.head * days / 1000.0) for step in steps]
    highest_t = max((t for _, t in uses), default=0.0)
    if t_in_store is None:
        return None, 1.0
    if highest_t <= t_in_store:
        return highest_t, 1.0
    below = (0.0, 0.0)
    for share, t in uses:
        if t > t_in_store:
            part = (t_in_store - below[1]) / (t - below[1])
            return t_in_store, below[0] + part * (share - below[0])
        below = (share, t)
    return t_in_store, 1.0
