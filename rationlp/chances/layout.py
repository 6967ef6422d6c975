"""The programme of a winter that is not known: a template laid into every node of a tree.

Columns of a block carry the mark of their node. What is in store binds every listed winter along
its own way through the tree; bought forage must be there before it is eaten. Costs are weighted by
the share of winters. Amounts: t DM from stores, t fresh bought, as in the winter's own programme.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from math import inf

from rationlp.chances.actions import (
    Shut,
    bound_rows,
    contract_columns,
    contract_rows,
    contracts,
    kept_column,
    kept_key,
    kept_rows,
    sale_columns,
    sale_of,
    sale_rows,
)
from rationlp.chances.template import Pattern, Template
from rationlp.chances.tree import Node, Tree
from rationlp.chances.winters import ListedWinter, held_share, stretched, winter_mark
from rationlp.farm.feed import Offer
from rationlp.model.lp import Column, Key, Program, Row, at_most
from rationlp.records import dataclass
from rationlp.wintering.links import KG_PER_T, sale_price_per_t_dm

LATE_STAGE = 1
"""Forage bought in this stage or after is bought late."""


@dataclass(frozen=True)
class NodeBlock:
    """A run in a node. weight: its head-days there [head · d]. kept: the column of the share of its
    animals that are still there, None for those that are not sold.
    """

    pattern: Pattern
    node: Node
    weight: float
    kept: Key | None = None

    def key(self, key: Key) -> Key:
        """A key of the template, as it is called in this node."""
        return (*key, self.node.mark)

    def feed(self, offer: Offer) -> Key:
        """The column of an offer in this node."""
        return self.key(self.pattern.run.block.feed(offer))

    def tonnes(self, offer: Offer) -> float:
        """t DM that leave the store for each kg DM a head a day."""
        return self.pattern.run.put_out(offer) * self.weight / KG_PER_T

    def fed(self, offer_id: str) -> Offer | None:
        """The offer by its id, where the run may eat it."""
        offers = self.pattern.run.block.offers
        return next((offer for offer in offers if offer.id == offer_id), None)


class TreeLayout:
    """A template in a tree. cells: by node, in the order of nodes. shut: (forage, stage) in which
    none may be bought, and other actions by their names in actions.py.
    """

    def __init__(self, template: Template, tree: Tree, shut: Shut = frozenset()) -> None:
        self.template, self.tree, self.shut = template, tree, shut
        self.market, self.yard = template.market, template.yard
        self.cells = {node.number: tuple(self._cells(node)) for node in tree.nodes}
        self.forages = tuple(
            offer for offer in self.yard.farm.offers if offer.id in self.market.storable
        )

    def _cells(self, node: Node) -> Iterator[NodeBlock]:
        last = node.stage == len(self.market.stages) - 1
        late = self.winter_of(node).late_days if last else 0
        shares = stretched(self.template.periods, late)
        for pattern in self.template.patterns:
            weight = sum(days * shares[period] for period, days in pattern.by_stage[node.stage])
            if weight > 0.0:
                yield NodeBlock(pattern, node, weight, self._kept(pattern, node))

    def _kept(self, pattern: Pattern, node: Node) -> Key | None:
        group = pattern.run.block.group
        sale = sale_of(self.yard.farm, group.id, group.origin)
        if sale is None:
            return None
        return kept_key(sale, node)

    def winter_of(self, node: Node) -> ListedWinter:
        """The first of the winters that share a node."""
        return self.tree.winters[node.winters[0]]

    def price(self, offer: Offer, node: Node) -> float:
        """What a tonne fresh costs in a node [currency/t fresh]."""
        return self.market.price(offer, node.stage, self.winter_of(node))

    @cached_property
    def program(self) -> Program:
        """The mean cost of the listed winters, to be made least."""
        columns = (*self._block_columns(), *self._market_columns())
        rows = (*self._block_rows(), *self._tied_rows(), *self._winter_rows())
        return Program(columns, rows)

    # ---- columns

    def _block_columns(self) -> Iterator[Column]:
        for cells in self.cells.values():
            for cell in cells:
                for column in cell.pattern.columns:
                    cost = self._cost(cell, column)
                    weighted = cost * cell.weight * cell.node.weight
                    high = column.high
                    if column.key[:1] == ("feed",) and self._is_too_early(column.key[1], cell.node):
                        high = 0.0
                    laid = replace(column, key=cell.key(column.key), cost=weighted, high=high)
                    if cell.kept is not None:
                        laid = kept_column(laid, laid.key)
                    yield laid

    def _is_too_early(self, offer_id: str, node: Node) -> bool:
        """Whether grass is not there yet: only in late winter it is."""
        return offer_id in self.market.grass and node.stage < len(self.market.stages) - 1

    def _cost(self, cell: NodeBlock, column: Column) -> float:
        """A head a day in this node: bought feed at its price there, forage when it is bought."""
        offer = None
        if column.key[0] == "feed":
            offer = cell.fed(column.key[1])
        if offer is None or not offer.bought:
            return column.cost
        if offer.id in self.market.storable:
            return 0.0
        if offer.price_per_t_fresh <= 0.0:
            return column.cost
        return column.cost * self.price(offer, cell.node) / offer.price_per_t_fresh

    def _market_columns(self) -> Iterator[Column]:
        farm = self.yard.farm
        yield from sale_columns(farm, self.tree, self.shut)
        yield from contract_columns(
            farm, self.tree, lambda name, node: self.price(farm.offer(name), node),
            self.market.storable, self.shut,
        )  # fmt: skip
        for node in self.tree.nodes:
            for offer in self.forages:
                high = 0.0 if (offer.id, node.stage) in self.shut else inf
                cost = node.weight * self.price(offer, node)
                yield Column(("buy", offer.id, node.mark), cost, 0.0, high, "t fresh")
            for outlet in self.yard.farm.outlets:
                for store in outlet.stores:
                    price = -sale_price_per_t_dm(self.yard, outlet, store)
                    key = ("sold", outlet.id, store, node.mark)
                    yield Column(key, node.weight * price, unit="t DM")
        for winter in self.tree.winters:
            for held in self.yard.farm.stores:
                cost = winter.weight * self.market.rescue[held.id]
                lacking: Key = ("rescue", held.id, winter_mark(winter))
                yield Column(lacking, cost, 0.0, self.gap_t_dm(held.id, winter), "t DM")
            for offer in self.forages:
                worth = -winter.weight * self.market.left_price(offer)
                yield Column(("left", offer.id, winter_mark(winter)), worth, unit="t fresh")

    # ---- rows

    def _block_rows(self) -> Iterator[Row]:
        for cells in self.cells.values():
            for cell in cells:
                kept = cell.kept
                for row in cell.pattern.rows:
                    coefs = {cell.key(key): value for key, value in row.coefs.items()}
                    laid = replace(row, key=cell.key(row.key), coefs=coefs)
                    if kept is None:
                        yield laid
                    else:
                        yield from kept_rows(laid, kept)
                for column in cell.pattern.columns:
                    if kept is not None:
                        yield from bound_rows(column, cell.key(column.key), kept)

    def _tied_rows(self) -> Iterator[Row]:
        """One mix for several groups, in every node; ewes' steps, from the run before."""
        for node in self.tree.nodes:
            here = {cell.pattern.run.block.key("")[-2:]: cell for cell in self.cells[node.number]}
            for row in self.template.mixes:
                if all(key[-2:] in here for key in row.coefs):
                    coefs = {here[key[-2:]].key(key): v for key, v in row.coefs.items()}
                    yield replace(row, key=(*row.key, node.mark), coefs=coefs)
            way = dict(here)
            for before in list(self.tree.path(node))[1:]:
                for cell in self.cells[before.number]:
                    way.setdefault(cell.pattern.run.block.key("")[-2:], cell)
            for row, after in self.template.steps:
                mark = after.block.key("")[-2:]
                if mark in here and all(key[-2:] in way for key in row.coefs):
                    coefs = {way[key[-2:]].key(key): v for key, v in row.coefs.items()}
                    yield replace(row, key=(*row.key, node.mark), coefs=coefs)

    def _winter_rows(self) -> Iterator[Row]:
        yield from sale_rows(self.yard.farm, self.tree)
        yield from contract_rows(
            self.yard.farm, self.tree, lambda name, node: self._eaten(name, (node,), in_fresh=True),
            self.market.storable,
        )  # fmt: skip
        for node in self.tree.nodes:
            for offer in self.forages:
                coefs = self._eaten(offer.id, tuple(self.tree.path(node)), in_fresh=True)
                coefs |= dict.fromkeys(self._brought(offer, tuple(self.tree.path(node))), -1.0)
                yield at_most(("there", offer.id, node.mark), coefs, 0.0, "t fresh", "", "")
        for winter in self.tree.winters:
            way = self.tree.way(winter)
            yield from self._stores(winter, way)
            yield from self._bought(winter, way)
            yield from self._outlets(winter, way)

    def _brought(self, offer: Offer, way: Sequence[Node]) -> Iterator[Key]:
        """Columns of what of a forage is bought and called off along a way."""
        on_contract = any(price.offer == offer.id for price in contracts(self.yard.farm))
        for node in way:
            yield ("buy", offer.id, node.mark)
            if on_contract and node.stage > 0:
                yield ("call", offer.id, node.mark)

    def _eaten(
        self, offer_id: str, way: Sequence[Node], in_fresh: bool = False
    ) -> dict[Key, float]:
        """What leaves an offer along a way for each column [t DM, or t fresh]."""
        coefs: dict[Key, float] = {}
        for node in way:
            for cell in self.cells[node.number]:
                offer = cell.fed(offer_id)
                if offer is not None:
                    per = 1.0
                    if in_fresh:
                        per = KG_PER_T / offer.feed.dm_g_per_kg
                    coefs[cell.feed(offer)] = cell.tonnes(offer) * per
        return coefs

    def used_t_dm(self, store: str, winter: ListedWinter, values: Mapping[Key, float]) -> float:
        """What is fed and sold of a store in a winter [t DM]."""
        way = self.tree.way(winter)
        used = sum(t * values[key] for key, t in self._eaten(store, way).items())
        for outlet in self.yard.farm.outlets:
            if store in outlet.stores:
                used += sum(values["sold", outlet.id, store, node.mark] for node in way)
        return used

    def put_out_t_dm(self, offer: str, values: Mapping[Key, float], node: Node) -> float:
        """What is put out of a store or a bought forage in a node [t DM]."""
        eaten = self._eaten(offer, (node,))
        return sum(t * values[key] for key, t in eaten.items())

    def autumn_t_dm(self, store: str, values: Mapping[Key, float]) -> float:
        """What is fed and sold of a store in autumn [t DM]."""
        node = self.tree.nodes[0]
        used = self.put_out_t_dm(store, values, node)
        for outlet in self.yard.farm.outlets:
            if store in outlet.stores:
                used += values["sold", outlet.id, store, node.mark]
        return used

    def free_t_dm(self, store: str, winter: ListedWinter) -> float:
        """What a store holds in a winter beside its reserve and its bedding [t DM]."""
        stock = self.yard.stocks[store]
        held = stock.edible_t_dm.typical * held_share(self.market.spreads, store, winter)
        shares = stretched(self.template.periods, winter.late_days)
        bedded = sum(t * share for t, share in zip(self.yard.bedded[store], shares, strict=True))
        return held - stock.reserve_t_dm - bedded

    def gap_t_dm(self, store: str, winter: ListedWinter) -> float:
        """Most that a store can lack in a winter [t DM]: what it holds less than thought, and what
        it would give in so many more days, twice as much as on average. So nobody plans on it.
        """
        thought = max(self.yard.free_t_dm[store], 0.0)
        days = sum(period.days for period in self.template.periods)
        later = 2.0 * thought * max(winter.late_days, 0) / days
        return max(thought - self.free_t_dm(store, winter), 0.0) + later

    def _stores(self, winter: ListedWinter, way: Sequence[Node]) -> Iterator[Row]:
        """Σ eaten + sold − rescue ≤ what the store holds in this winter [t DM]."""
        for store in self.yard.farm.stores:
            coefs = self._eaten(store.id, way)
            coefs[("rescue", store.id, winter_mark(winter))] = -1.0
            for outlet in self.yard.farm.outlets:
                if store.id in outlet.stores:
                    for node in way:
                        coefs[("sold", outlet.id, store.id, node.mark)] = 1.0
            key = ("store", store.id, winter_mark(winter))
            yield at_most(key, coefs, self.free_t_dm(store.id, winter), "t DM", store.name, "")

    def _bought(self, winter: ListedWinter, way: Sequence[Node]) -> Iterator[Row]:
        """What is left of bought forage; least and most of what is bought [t fresh]."""
        for offer in self.yard.farm.offers:
            if not offer.bought:
                continue
            eaten = self._eaten(offer.id, way, in_fresh=True)
            bought: dict[Key, float] = dict.fromkeys(self._brought(offer, way), 1.0)
            storable = offer.id in self.market.storable
            if storable:
                left: dict[Key, float] = {("left", offer.id, winter_mark(winter)): 1.0, **eaten}
                left |= dict.fromkeys(bought, -1.0)
                yield at_most(("over", offer.id, winter_mark(winter)), left, 0.0, "t fresh", "", "")
            coefs = bought if storable else eaten
            low = -inf if offer.least_t is None else offer.least_t
            high = inf if offer.most_t is None else offer.most_t
            if coefs and (low, high) != (-inf, inf):
                yield Row(("bought", offer.id, winter_mark(winter)), coefs, low, high)

    def _outlets(self, winter: ListedWinter, way: Sequence[Node]) -> Iterator[Row]:
        for outlet in self.yard.farm.outlets:
            if outlet.least_t_fresh is None and outlet.most_t_fresh is None:
                continue
            coefs: dict[Key, float] = {}
            for store in outlet.stores:
                dm = next(o.feed.dm_g_per_kg for o in self.yard.farm.offers if o.id == store)
                for node in way:
                    coefs[("sold", outlet.id, store, node.mark)] = KG_PER_T / dm
            low = -inf if outlet.least_t_fresh is None else outlet.least_t_fresh
            high = inf if outlet.most_t_fresh is None else outlet.most_t_fresh
            yield Row(("outlet", outlet.id, winter_mark(winter)), coefs, low, high)
