"""Have I enough? What is in store against what the groups would eat to turnout if no store ever ran
out, before any plan.

What a group would eat is its cheapest ration at the farm's own prices with every forage on the farm
without end. It is worked out at three dates a group (first, middle, last) and taken for the weeks
nearest to each; it is searched for, not proved.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import sort_of
from rationlp.farm.store import Spread, StoreStock
from rationlp.model.block_ration import settle_levels
from rationlp.model.lp import Key, Program
from rationlp.model.rows import block_costs
from rationlp.model.rows.block import Block, at_prices
from rationlp.model.search import BlockModel, opened
from rationlp.records import dataclass
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.links import KG_PER_T
from rationlp.wintering.parts import Run, winter_periods, winter_runs, with_head
from rationlp.wintering.search import RunName, WinterModel, run_name
from rationlp.wintering.yard import bedding_t_dm

DATES_A_GROUP = 3
"""Rations worked out for each part of a group [dates]; our choice, for an answer in a second."""
ALL = "in all"
HAYLAGE, ROOTS = "haylage", "roots and kale"


@dataclass(frozen=True)
class CropHeld:
    """One crop, or all. crop: its sort (`grass_silage`, …) or `in all`. held_t_dm: edible in store,
    less what is set aside; would_eat_t_dm: to turnout, with waste at the trough [t DM]. days: how
    long what is held lasts at that rate [d], None where nothing is eaten.
    """

    crop: str
    stores: tuple[str, ...]
    held_t_dm: Spread
    would_eat_t_dm: float
    days: float | None

    @property
    def short_t_dm(self) -> float:
        """What is missing to turnout [t DM]; 0 where there is enough."""
        return max(0.0, self.would_eat_t_dm - self.held_t_dm.typical)


@dataclass(frozen=True)
class ForageBalance:
    """Days to turnout, each crop and all of them; not_counted: names of groups without ration;
    not_allowed: names of stores that no group may be given, which count for nothing; aside: names
    of stores and what is set aside of them and not held to be fed [t DM].
    """

    days: int
    crops: tuple[CropHeld, ...]
    whole: CropHeld
    not_counted: tuple[str, ...]
    not_allowed: tuple[str, ...] = ()
    aside: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Appetite:
    """What would be eaten to turnout if no store ever ran out. stocks: what is in store; eaten: by
    offer id, waste at the trough included [t DM]; without: names of groups without ration; allowed:
    ids of the feeds that some group may be given; aside: of each store, for bedding, for buyers it
    is promised to, and what must be left at turnout [t DM].
    """

    stocks: dict[str, StoreStock]
    eaten: dict[str, float]
    without: tuple[str, ...]
    allowed: frozenset[str]
    aside: dict[str, float]


def appetite(farm: Farm, stocks: Mapping[str, StoreStock] | None = None) -> Appetite:
    """What the groups would eat from the first day of the winter to turnout. stocks: what is in
    store, by the farm's own sizes where none are given. Raises InputError where a figure that a
    ration needs is missing.
    """
    return OpenAppetite(farm, stocks=stocks).at(farm)


class OpenAppetite:
    """The groups of a farm with every forage without end, their models kept open for other prices.

    winter: of the farm, where its runs are at hand with their programmes. like: of a farm that may
    have groups in common with this one, and is not asked again. stocks: what is in store, by the
    farm's own sizes where none are given. Raises InputError where a figure that a ration needs is
    missing.
    """

    def __init__(
        self,
        farm: Farm,
        winter: WinterModel | None = None,
        like: OpenAppetite | None = None,
        stocks: Mapping[str, StoreStock] | None = None,
    ) -> None:
        self._stocks = dict(stocks or farm_stocks(farm))
        waste = {name: stock.trough_loss for name, stock in self._stocks.items()}
        programs: dict[RunName, Program] = {}
        if winter is None:
            every = winter_runs(farm, winter_periods(farm), waste)
        else:
            every = tuple(winter.runs)
            pairs = zip(every, winter.singles, strict=True)
            programs = {run_name(run): single.program for run, single in pairs}
        self._aside = _set_aside(farm, self._stocks, every)
        self._allowed = frozenset(offer.id for run in every for offer in run.block.offers)
        known = [] if like is None else list(like._models())
        self._parts: list[tuple[list[Run], dict[int, _Eater]]] = [
            (of_part, _opened(of_part, known, programs)) for of_part in _by_part(every)
        ]

    def _models(self) -> Iterator[_Eater]:
        for _, models in self._parts:
            yield from models.values()

    def at(self, farm: Farm) -> Appetite:
        """What they would eat on a farm that differs from this one by prices alone."""
        eaten: dict[str, float] = {}
        without: dict[str, None] = {}
        for runs, models in self._parts:
            cheapest = {number: model.at(farm) for number, model in models.items()}
            rations = {number: kg for number, kg in cheapest.items() if kg is not None}
            if not rations:
                without[runs[0].block.group.name] = None
                continue
            for number, run in enumerate(runs):
                nearest = min(rations, key=lambda at: abs(at - number))
                for offer, kg in rations[nearest].items():
                    t_dm = kg * run.put_out_of(offer) * run.weight / 1000.0
                    eaten[offer] = eaten.get(offer, 0.0) + t_dm
        return Appetite(self._stocks, eaten, tuple(without), self._allowed, self._aside)


def held_against_appetite(farm: Farm, worked_out: Appetite | None = None) -> ForageBalance:
    """What is held against what would be eaten from the first day of the winter to turnout.

    Forage and roots only: stores of other feeds are left out. What is bedded, promised to a buyer
    or to be left at turnout is not held to be fed. worked_out: the appetite of this farm where it
    is at hand. Raises InputError where a figure that a ration needs is missing.
    """
    found = appetite(farm) if worked_out is None else worked_out
    days = (farm.turnout - farm.start).days
    crops = tuple(
        _crop(crop, stores, found, days)
        for crop, stores in _stores_by_crop(farm, found.allowed).items()
    )
    barred = tuple(
        store.name
        for store in farm.stores
        if farm.offer(store.id).feed.is_fodder and store.id not in found.allowed
    )
    every = [store for crop in crops for store in crop.stores]
    whole = _crop(ALL, every, found, days)
    aside = tuple(
        (store.name, found.aside[store.id])
        for store in farm.stores
        if store.id in every and found.aside[store.id] > 0.0
    )
    return ForageBalance(days, crops, whole, found.without, barred, aside)


def _by_part(runs: Iterable[Run]) -> list[list[Run]]:
    """The runs of each part of a group, in the order of days."""
    parts: dict[str, list[Run]] = {}
    for run in runs:
        parts.setdefault(run.block.group.id, []).append(run)
    return [sorted(of_part, key=lambda run: run.periods[0]) for of_part in parts.values()]


class _Eater:
    """A head of a block with every forage without end, kept open, and what it ate last."""

    def __init__(self, block: Block, program: Program | None) -> None:
        self.block = block
        self._model: BlockModel = opened(block, program=program)
        self._costs: dict[Key, float] | None = None
        self._eaten: dict[str, float] | None = None

    def at(self, farm: Farm) -> dict[str, float] | None:
        """The cheapest ration of the block at the prices of a farm [kg DM by offer id], searched
        for and settled; None where none was found.
        """
        costs = block_costs(at_prices(self.block, farm))
        if costs != self._costs:
            self._costs, self._eaten = costs, _cheapest(self._model, costs)
        return self._eaten


def _opened(
    runs: Sequence[Run], known: Iterable[_Eater], programs: Mapping[RunName, Program]
) -> dict[int, _Eater]:
    """A few of the runs in the solver, by number of the run. known: models of such blocks;
    programs: of the runs, where they are at hand.
    """
    last = len(runs) - 1
    chosen = sorted({round(last * n / (DATES_A_GROUP - 1)) for n in range(DATES_A_GROUP)})
    models = {}
    for number in chosen:
        block = runs[number].block
        same = (one for one in known if one.block.group.id == block.group.id)
        alike = (one for one in same if with_head(one.block, block.group.head) == block)
        models[number] = next(alike, None) or _Eater(block, programs.get(run_name(runs[number])))
    return models


def _cheapest(model: BlockModel, costs: dict[Key, float]) -> dict[str, float] | None:
    """The cheapest ration of a model at costs of its columns [kg DM by offer id]."""
    model.costs = costs
    model.live.set_costs(costs)
    if model.need is None:
        answer = model.solve(cold=True)
        if answer is None:
            return None
        return model.amounts(answer)
    if model.infeasible:
        return None
    rounds = settle_levels(model).rounds
    if not rounds:
        return None
    return model.amounts_of(rounds[-1].values)


def _stores_by_crop(farm: Farm, allowed: Collection[str]) -> dict[str, list[str]]:
    """Ids of the stores of forage and roots that some group may be given, by the sort of what is in
    them, in the farm's order.
    """
    crops: dict[str, list[str]] = {}
    for store in farm.stores:
        feed = farm.offer(store.id).feed
        if feed.is_fodder and store.id in allowed:
            crops.setdefault(_crop_of(feed), []).append(store.id)
    return crops


def _crop_of(feed: Feed) -> str:
    """What people call the crop: its sort, haylage and roots by their own names."""
    if "haylage" in feed.key:
        return HAYLAGE
    sort = sort_of(feed)
    return ROOTS if sort == "root" else sort


def _set_aside(
    farm: Farm, stocks: Mapping[str, StoreStock], runs: Sequence[Run]
) -> dict[str, float]:
    """By store: its reserve, its bedding, and what buyers are promised of it, shared out by what is
    left of their stores [t DM].
    """
    periods = winter_periods(farm)
    aside = {
        store.id: stocks[store.id].reserve_t_dm + sum(bedding_t_dm(farm, store.id, periods, runs))
        for store in farm.stores
    }
    dry = {store.id: farm.offer(store.id).feed.dm_g_per_kg / KG_PER_T for store in farm.stores}
    for outlet in farm.outlets:
        free = {
            store: max(stocks[store].edible_t_dm.typical - aside[store], 0.0) / dry[store]
            for store in outlet.stores
        }
        promised, held = outlet.least_t_fresh or 0.0, sum(free.values())
        for store, t_fresh in free.items():
            if held > 0.0:
                aside[store] += promised * t_fresh / held * dry[store]
    return aside


def _crop(crop: str, stores: Sequence[str], appetite: Appetite, days: int) -> CropHeld:
    low = typical = high = 0.0
    for store in stores:
        edible, aside = appetite.stocks[store].edible_t_dm, appetite.aside[store]
        low += max(edible.low - aside, 0.0)
        typical += max(edible.typical - aside, 0.0)
        high += max(edible.high - aside, 0.0)
    spread = Spread(low, typical, high)
    would_eat = sum(appetite.eaten.get(store, 0.0) for store in stores)
    lasts = None
    if would_eat > 0.0:
        lasts = days * spread.typical / would_eat
    return CropHeld(crop, tuple(stores), spread, would_eat, lasts)
