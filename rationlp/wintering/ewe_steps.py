"""Concentrate of ewes in lamb through a winter: it never falls before lambing, and rises by steps
that a rumen follows.

Each period is fed for the need of its end. A step larger than the most is priced, never forbidden:
a flock whose forage turns poor half way still gets its plan.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from math import inf

from rationlp.model.lp import Column, Key, Row
from rationlp.planned import Period
from rationlp.quantities import fresh_from_dm
from rationlp.wintering.parts import Run

STEP_KG, STEP_DAYS = 0.25, 14.0
"""Most that a ewe's concentrate rises in a fortnight [kg fresh a day]; common practice (c)."""

STEP_MJ = 55.0
"""Price of a kg of concentrate by which a step is larger, as MJ of bought energy [MJ a head a day]:
several times what any concentrate costs, so that it is spread over the weeks before wherever it can
be. It is no money; common practice, no source (c).
"""

COMMON = "common practice, no source"


def step_pairs(runs: Sequence[Run]) -> Iterator[tuple[Run, Run]]:
    """Runs of ewes in their last eight weeks, one after the other, nearer to lambing."""
    by_part: dict[str, list[Run]] = {}
    for run in runs:
        if run.block.needs.late_ewe is not None:
            by_part.setdefault(run.block.group.id, []).append(run)
    for several in by_part.values():
        for before, after in itertools.pairwise(several):
            follow = after.periods[0] == before.periods[-1] + 1
            # Once the first ewes have lambed, those left are further from lambing than the group
            # was.
            nearer = _days(after) <= _days(before)
            if follow and nearer:
                yield before, after


def _days(run: Run) -> float:
    return run.block.group.number("days_to_lambing")


def _over(after: Run) -> Key:
    return after.block.key("step_over")


def step_columns(runs: Sequence[Run]) -> Iterator[Column]:
    """How far a step passes the most [kg fresh a head a day], priced for the period."""
    for _, after in step_pairs(runs):
        title = "concentrate stepped up too fast"
        price = STEP_MJ * after.block.mj_price * after.head_days[0]
        yield Column(_over(after), price, unit="kg fresh", title=title)


def step_rows(runs: Sequence[Run], periods: Sequence[Period]) -> Iterator[Row]:
    """0 ≤ C after − C before and C after − C before − over ≤ 0.25 kg a fortnight, C kg fresh of all
    concentrates.
    """
    for before, after in step_pairs(runs):
        coefs: dict[Key, float] = {}
        for run, sign in ((after, 1.0), (before, -1.0)):
            for offer in run.block.offers:
                if offer.feed.is_concentrate:
                    coefs[run.block.feed(offer)] = sign * fresh_from_dm(1.0, offer.feed.dm_g_per_kg)
        if not coefs:
            continue
        most = STEP_KG * max(1.0, periods[before.periods[-1]].days / STEP_DAYS)
        title = "concentrate of ewes in lamb"
        yield Row(after.block.key("step_down"), coefs, 0.0, inf, "limit", "kg fresh", title, COMMON)
        rising = {**coefs, _over(after): -1.0}
        key = after.block.key("step_up")
        yield Row(key, rising, -inf, most, "priced", "kg fresh", title, COMMON)
