"""A winter that cannot be fed: the least shortfall over all groups and periods, with the stores as
they are.

Every need and limit of every block gets a priced way out, weighted by its head-days and by one over
its own size, as for one group; what is in store stays hard. The requirement is taken on each
answer's own D.
"""

from __future__ import annotations

from dataclasses import replace

from rationlp.model.explain import ElasticModel, short_amounts
from rationlp.planned import PlanShortfall
from rationlp.wintering.links import KG_PER_T, Yard, link_columns, link_rows

USUAL_ME = 10.5
"""ME of the forage in which a shortfall is told [MJ/kg DM]; common practice (c)."""
_FILLED = 0.85
"""Share of the appetite at which the search begins [-]."""


def plan_shortfalls(yard: Yard) -> tuple[PlanShortfall, ...]:
    """What cannot be met, by group and period, the largest tonnage first."""
    links = tuple(replace(column, cost=0.0) for column in link_columns(yard))
    blocks = [(run.block, run.weight) for run in yard.runs]
    model = ElasticModel(blocks, (links, tuple(link_rows(yard))))
    answer = model.settle([_FILLED * part.usual_kg for part in model.elastic])
    if answer is None:
        return ()
    told = []
    for run in yard.runs:
        group = run.block.group
        for shortfall in short_amounts(run.block, model.live, answer.solution):
            for period, days in zip(run.periods, run.head_days, strict=True):
                t_dm = tonnes_short(shortfall.short, shortfall.unit, days)
                told.append(PlanShortfall(group.id, period, shortfall, t_dm, group.name))
    return tuple(sorted(told, key=lambda one: (one.period, -one.t_dm)))


def tonnes_short(short: float, unit: str, head_days: float) -> float:
    """A shortfall as t DM of usual forage; 0 for what is not energy or dry matter."""
    per_day = {"MJ": short / USUAL_ME, "kg DM": short, "kg": short}.get(unit, 0.0)
    return per_day * head_days / KG_PER_T
