"""A winter that cannot be fed: the least shortfall over all groups and periods, with the stores as
they are.

Every need and limit of every block gets a priced way out, weighted by its head-days and by one over
its own size, as for one group; what is in store stays hard. The requirement is taken on each
answer's own D.
"""

from __future__ import annotations

from math import inf

from rationlp.model.explain import elastic, short_amounts
from rationlp.model.lp import Column, Program, Row
from rationlp.model.solve import LiveModel, Solution, Status
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.planned import PlanShortfall
from rationlp.winter.links import KG_PER_T, Yard, link_columns, link_rows
from rationlp.winter.parts import Run

_PASSES = 12
USUAL_ME = 10.5
"""Energy density of the forage in which a shortfall of energy is told [MJ ME/kg DM]; common
practice (c).
"""


def plan_shortfalls(yard: Yard) -> tuple[PlanShortfall, ...]:
    """What cannot be met, by group and period, the largest tonnage first."""
    columns: list[Column] = []
    rows: list[Row] = []
    for run in yard.runs:
        program = elastic(run.block)
        columns += [
            Column(c.key, c.cost * run.weight, c.low, c.high, c.unit, c.title)
            for c in program.columns
        ]
        rows += program.rows
    links = [Column(c.key, 0.0, c.low, c.high, c.unit, c.title) for c in link_columns(yard)]
    live = LiveModel(Program((*columns, *links), (*rows, *link_rows(yard))))
    solution = _settle(yard, live)
    if solution is None:
        return ()
    found = []
    for run in yard.runs:
        for shortfall in short_amounts(run.block, live, solution):
            found += [
                PlanShortfall(
                    run.block.group.id,
                    period,
                    shortfall,
                    _tonnes(shortfall.short, shortfall.unit, days),
                    run.block.group.name,
                )
                for period, days in zip(run.periods, run.head_days, strict=True)
            ]
    return tuple(sorted(found, key=lambda one: (one.period, -one.t_dm)))


def _tonnes(short: float, unit: str, head_days: float) -> float:
    """A shortfall as tonnes of dry matter of a usual forage; 0 for what is not energy or dry
    matter.
    """
    per_day = {"MJ": short / USUAL_ME, "kg DM": short, "kg": short}.get(unit, 0.0)
    return per_day * head_days / KG_PER_T


def _settle(yard: Yard, live: LiveModel) -> Solution | None:
    """Energy rows moved to each answer's own D, a dozen times at most."""
    best: Solution | None = None
    touches: list[float | None] = [None] * len(yard.runs)
    for _ in range(_PASSES):
        for number, run in enumerate(yard.runs):
            _hold(run, live, touches[number])
        solution = live.solve()
        if solution.status is not Status.OPTIMAL:
            return best
        if best is not None and solution.objective >= best.objective * (1.0 - 1e-6):
            break
        best = solution
        touches = [live.value(solution, run.block.key("dm")) for run in yard.runs]
    return best


def _hold(run: Run, live: LiveModel, touch: float | None) -> None:
    """The tangent of M* at D, or at a middling ration to begin with."""
    need = run.block.needs.energy
    if need is None:
        return
    cap = run.block.needs.intake.cap_kg_dm if run.block.needs.intake is not None else 10.0
    dm = max(0.3 * cap, 0.85 * cap if touch is None else touch)
    q = 0.58
    for _ in range(40):
        required = need.required_mj(q)
        q = min(
            0.78,
            max(0.30, (required if required < inf else 18.8 * dm * 0.7) / dm / GE_MJ_PER_KG_DM),
        )
    value, first, _ = need.required(q)
    if value == inf:
        value, first = 0.7 * GE_MJ_PER_KG_DM * dm, 0.0
    slope = -first * q / (dm - first / GE_MJ_PER_KG_DM)
    live.set_coefficient(run.block.key("energy"), run.block.key("dm"), -slope)
    live.set_row_bounds(run.block.key("energy"), value - slope * dm, inf)
