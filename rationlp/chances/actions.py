"""What a farm can do later in the winter by its own figures, as columns and rows of a tree: feed on
contract, and animals sold before turnout.

A group that may be sold is laid out for each head that it has in autumn: a share k of them is still
there in a node, its limits and needs are those of a head times k, and k never grows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from math import inf

from rationlp.chances.tree import Node, Tree
from rationlp.chances.winters import winter_mark
from rationlp.farm.farm import Farm
from rationlp.farm.later import EarlySale, LaterPrice
from rationlp.model.lp import Column, Key, Row, at_most

SIGNED = -1
"""The stage in which a contract is shut: before autumn begins."""
Price = Callable[[str, Node], float]
Shut = frozenset[tuple[str, int]]


def sale_name(group: str) -> str:
    """The name of the sale of a group, where actions are shut."""
    return f"sell {group}"


def sale_of(farm: Farm, group: str, origin: str) -> EarlySale | None:
    """The sale of a group, or of the group that a part of one comes from."""
    return next((sale for sale in farm.later.sales if sale.group in (group, origin)), None)


def kept_key(sale: EarlySale, node: Node) -> Key:
    """The column of the share of a group that is still there in a node."""
    return ("kept", sale.group, node.mark)


# ---- rows of a head, times the share of animals that are still there


def kept_column(column: Column, key: Key) -> Column:
    """A column whose bounds are rows, for they go with the share kept."""
    high = column.high
    if high > 0.0:
        high = inf
    return replace(column, key=key, low=min(column.low, 0.0), high=high)


def bound_rows(column: Column, key: Key, kept: Key) -> Iterator[Row]:
    """low·k ≤ column ≤ high·k."""
    if 0.0 < column.high < inf:
        yield at_most(("kept_high", *key), {key: 1.0, kept: -column.high}, 0.0, "", "", "")
    if column.low not in (0.0, -inf):
        yield Row(("kept_low", *key), {key: 1.0, kept: -column.low}, 0.0, inf)


def kept_rows(row: Row, kept: Key) -> Iterator[Row]:
    """low·k ≤ Σ coefs·columns ≤ high·k, as one row where that is one."""
    sides = ((("low",), row.low, 0.0, inf), (("high",), row.high, -inf, 0.0))
    for key, side, low, high in sides:
        if side in (inf, -inf):
            continue
        coefs = dict(row.coefs)
        if side:
            coefs[kept] = coefs.get(kept, 0.0) - side
        yield replace(row, key=(*row.key, *key), coefs=coefs, low=low, high=high)


# ---- animals sold


def sale_columns(farm: Farm, tree: Tree, shut: Shut) -> Iterator[Column]:
    """Share sold in a node, at what it loses against one kept until turnout; share still there."""
    for sale in farm.later.sales:
        head = farm.group(sale.group).head
        least = 0.0
        if sale.most_head is not None:
            least = 1.0 - sale.most_head / head
        for node in tree.nodes:
            price = sale.by_stage[node.stage]
            high = 1.0
            if price is None or (sale_name(sale.group), node.stage) in shut:
                price, high = 0.0, 0.0
            cost = node.weight * head * (sale.turnout - price)
            yield Column(("sell", sale.group, node.mark), cost, 0.0, high)
            yield Column(kept_key(sale, node), 0.0, max(least, 0.0), 1.0)


def sale_rows(farm: Farm, tree: Tree) -> Iterator[Row]:
    """Still there = there before − sold."""
    for sale in farm.later.sales:
        for node in tree.nodes:
            coefs: dict[Key, float] = {
                kept_key(sale, node): 1.0,
                ("sell", sale.group, node.mark): 1.0,
            }
            there = 1.0
            if node.parent >= 0:
                coefs[kept_key(sale, tree.nodes[node.parent])] = -1.0
                there = 0.0
            yield Row(("kept_row", sale.group, node.mark), coefs, there, there)


# ---- feed on contract


def contracts(farm: Farm) -> tuple[LaterPrice, ...]:
    """The bought feeds that may be had on contract."""
    return tuple(price for price in farm.later.prices if price.contract is not None)


def contract_columns(
    farm: Farm, tree: Tree, price: Price, storable: tuple[str, ...], shut: Shut
) -> Iterator[Column]:
    """Signed in autumn, called off later, resold where it was not [t fresh]. What is called off of
    a feed that is bought as it is eaten need not be bought at the price of its day.
    """
    for signed in contracts(farm):
        assert signed.contract is not None
        high = inf
        if signed.most_t is not None:
            high = signed.most_t
        if (signed.offer, SIGNED) in shut:
            high = 0.0
        yield Column(("contract", signed.offer, tree.nodes[0].mark), signed.contract, 0.0, high)
        for node in tree.nodes:
            if node.stage > 0:
                spared = 0.0
                if signed.offer not in storable:
                    spared = price(signed.offer, node)
                yield Column(("call", signed.offer, node.mark), -node.weight * spared)
        for winter in tree.winters:
            key: Key = ("unused", signed.offer, winter_mark(winter))
            yield Column(key, -winter.weight * signed.resold)


def contract_rows(
    farm: Farm,
    tree: Tree,
    eaten: Callable[[str, Node], Mapping[Key, float]],
    storable: tuple[str, ...],
) -> Iterator[Row]:
    """Called off and resold ≤ signed; called off ≤ eaten, of what is bought [t fresh]."""
    for signed in contracts(farm):
        for winter in tree.winters:
            coefs: dict[Key, float] = {
                ("call", signed.offer, node.mark): 1.0
                for node in tree.way(winter)
                if node.stage > 0
            }
            coefs[("unused", signed.offer, winter_mark(winter))] = 1.0
            coefs[("contract", signed.offer, tree.nodes[0].mark)] = -1.0
            key = ("signed", signed.offer, winter_mark(winter))
            yield at_most(key, coefs, 0.0, "t fresh", "", "")
        for node in tree.nodes:
            if node.stage > 0 and signed.offer not in storable:
                called: dict[Key, float] = {("call", signed.offer, node.mark): 1.0}
                called |= {key: -t for key, t in eaten(signed.offer, node).items()}
                yield at_most(("called", signed.offer, node.mark), called, 0.0, "t fresh", "", "")
