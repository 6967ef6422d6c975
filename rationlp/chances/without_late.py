"""How light the stores may be, and how late the spring, before forage has to be bought late: found
by halving, then counted on fresh draws. What a plan promises on a few listed winters is thereby
measured on many others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import sqrt

import numpy as np

from rationlp.chances.course import Wish, solve_course
from rationlp.chances.layout import LATE_STAGE, TreeLayout
from rationlp.chances.risk import COUNTED, FIRST_SEED, SECOND_SEED
from rationlp.chances.template import Template
from rationlp.chances.tree import STAGES, make_tree
from rationlp.chances.winters import ListedWinter, winter_mark
from rationlp.halving import halve
from rationlp.model.lp import Key
from rationlp.records import dataclass

MOST_Z = 3.0
"""Stores are looked at between so many standard deviations light and heavy."""
CLOSE_Z = 0.05
SPRINGS = (-2.0, 0.0, 2.0)
"""Turnouts at which it is found; between them the way is taken to be straight [standard
deviations]."""


@dataclass(frozen=True)
class WithoutLate:
    """After an autumn: winters that can be fed with no forage bought late. draws: fresh winters
    counted. share: of them [-], error: its standard error, binomial [-]. tuned: share of as many
    other draws, by which the autumn was chosen where a share was asked for [-].
    """

    draws: int
    share: float
    error: float
    tuned: float


def without_late(template: Template, autumn: Mapping[Key, float]) -> WithoutLate:
    """What can be fed after an autumn, by column, without forage bought late."""
    spreads = template.market.spreads
    springs = SPRINGS if spreads.turnout_days > 0.0 else (0.0,)
    limits = [
        _lightest(template, autumn, round(spreads.turnout_days * spring)) for spring in springs
    ]
    tuned, share = (_share(springs, limits, seed) for seed in (FIRST_SEED, SECOND_SEED))
    return WithoutLate(COUNTED, share, sqrt(share * (1.0 - share) / COUNTED), tuned)


def _share(springs: Sequence[float], limits: Sequence[float], seed: int) -> float:
    """Share of the draws of a seed whose stores are no lighter than the least for their spring."""
    stock, spring = np.random.default_rng(seed).standard_normal((2, COUNTED))
    return float(np.mean(stock >= np.interp(spring, springs, limits)))


def _lightest(template: Template, autumn: Mapping[Key, float], late_days: int) -> float:
    """Least stock with which no forage has to be bought late [standard deviations], never beyond
    those looked at: the most of them too where none is enough.
    """
    if not _is_fed(template, autumn, ListedWinter(0, 1.0, MOST_Z, late_days, 0.0)):
        return MOST_Z
    if _is_fed(template, autumn, ListedWinter(0, 1.0, -MOST_Z, late_days, 0.0)):
        return -MOST_Z
    enough, _ = halve(
        lambda z: _is_fed(template, autumn, ListedWinter(0, 1.0, z, late_days, 0.0)),
        MOST_Z, -MOST_Z, CLOSE_Z,
    )  # fmt: skip
    return enough


def _is_fed(template: Template, autumn: Mapping[Key, float], winter: ListedWinter) -> bool:
    """Whether a winter can be fed with nothing bought late, none on the day a store is empty."""
    forages = template.market.storable
    shut = frozenset((name, stage) for name in forages for stage in range(LATE_STAGE, STAGES))
    layout = TreeLayout(template, make_tree((winter,)), shut)
    none: dict[Key, float] = {
        ("rescue", store.id, winter_mark(winter)): 0.0 for store in template.yard.farm.stores
    }
    return solve_course(layout, Wish(held={**autumn, **none})) is not None
