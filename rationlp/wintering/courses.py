"""Courses of clamps whose face must advance: which is open in which weeks, said beforehand.

A search over whole numbers asks every course and takes seconds; where it is only asked whether a
winter can be fed at all, or where that search comes upon no plan, a few courses that a yard would
follow, each a programme without whole numbers, answer. None of them need be the cheapest.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rationlp.planned import WinterPlan
from rationlp.wintering.links import Yard, least_taken_t

Course = Mapping[str, frozenset[int]]
"""Numbers of the periods in which each clamp is open."""


def slow_faces(yard: Yard, plan: WinterPlan) -> tuple[str, ...]:
    """Clamps and bags whose face would advance less than its least in some period."""
    slow = []
    for store in plan.stores:
        stock = yard.stocks[store.store]
        if stock.face is None:
            continue
        for period, used in zip(yard.periods, store.used_t_dm, strict=True):
            least = least_taken_t(stock, period.days)
            if 1e-6 < used < least * (1.0 - 1e-6):
                slow.append(store.store)
                break
    return tuple(slow)


def courses(yard: Yard) -> Iterator[Course]:
    """Of the open clamps one after another, each for as long as it can advance by its least; all of
    them from the first day, and all to the last day, as long as each can; all of them all winter,
    with what spoils.
    """
    count, clamps = len(yard.periods), yard.open_clamps
    in_turn: dict[str, frozenset[int]] = {}
    early: dict[str, frozenset[int]] = {}
    late: dict[str, frozenset[int]] = {}
    begins = 0
    for clamp in clamps:
        begins = min(begins, count - 1)
        ends = _last(yard, clamp, begins)
        in_turn[clamp] = frozenset(range(begins, ends))
        begins = ends
        early[clamp] = frozenset(range(_last(yard, clamp, 0)))
        late[clamp] = frozenset(range(_first(yard, clamp), count))
    always = {clamp: frozenset(range(count)) for clamp in clamps}
    tried: list[Course] = []
    for course in (early, late, in_turn, always):
        if course not in tried:
            tried.append(course)
            yield course


def _last(yard: Yard, clamp: str, begins: int) -> int:
    """The period after the last in which a clamp opened in period `begins` still advances."""
    left, number = yard.free_t_dm[clamp], begins
    for period in yard.periods[begins:]:
        left -= least_taken_t(yard.stocks[clamp], period.days)
        if left < 0.0:
            break
        number += 1
    return max(number, begins + 1)


def _first(yard: Yard, clamp: str) -> int:
    """The first period from which on a clamp advances by its least to the last day."""
    left, number = yard.free_t_dm[clamp], len(yard.periods)
    for period in reversed(yard.periods):
        left -= least_taken_t(yard.stocks[clamp], period.days)
        if left < 0.0:
            break
        number -= 1
    return min(number, len(yard.periods) - 1)
