"""The tree of a winter: a node is what is known in a stage; winters that look alike there share it.

So nothing has to say that a decision does not foresee: there is one ration a node and group.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from rationlp.chances.winters import FACTORS, SEEN, ListedWinter
from rationlp.records import dataclass

STAGES = 3


@dataclass(frozen=True)
class Node:
    """What is known in a stage. parent: number of the node before, −1 for the first. winters: the
    numbers of those that look alike here. weight: their share [-].
    """

    number: int
    stage: int
    parent: int
    winters: tuple[int, ...]
    weight: float

    @property
    def mark(self) -> str:
        """Its name in keys."""
        return f"n{self.number}"


@dataclass(frozen=True)
class Tree:
    """Winters and nodes, parents before their children."""

    winters: tuple[ListedWinter, ...]
    nodes: tuple[Node, ...]

    def path(self, node: Node) -> Iterator[Node]:
        """A node and all before it, the last first."""
        yield node
        while node.parent >= 0:
            node = self.nodes[node.parent]
            yield node

    def way(self, winter: ListedWinter) -> tuple[Node, ...]:
        """The nodes of a winter, stage by stage."""
        return tuple(node for node in self.nodes if winter.number in node.winters)


def make_tree(winters: Sequence[ListedWinter], seen: Mapping[str, int] | None = None) -> Tree:
    """The tree of listed winters. seen: by factor the stage from which it is known; with 0 for all
    of them every winter goes its own way from the first day on.
    """
    when = {**SEEN, **(seen or {})}
    nodes: list[Node] = []
    before: dict[int, int] = {}
    for stage in range(STAGES):
        alike: dict[tuple[float, ...], list[ListedWinter]] = {}
        known = [factor for factor in FACTORS if when[factor] <= stage]
        for winter in winters:
            alike.setdefault(tuple(winter.of(factor) for factor in known), []).append(winter)
        for group in alike.values():
            numbers = tuple(winter.number for winter in group)
            weight = sum(winter.weight for winter in group)
            node = Node(len(nodes), stage, before.get(numbers[0], -1), numbers, weight)
            nodes.append(node)
        for node in nodes:
            if node.stage == stage:
                before |= dict.fromkeys(node.winters, node.number)
    return Tree(tuple(winters), tuple(nodes))
