"""The blocks of a settled plan as a template: every row of every run as it stands at the plan's own
levels of feeding, a head a day, so that it can be laid into each node of a tree.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from rationlp.chances.data import figure
from rationlp.chances.market import Market
from rationlp.farm.store import StoreStock
from rationlp.model.answer import Part
from rationlp.model.lp import Column, Row
from rationlp.planned import Period
from rationlp.records import dataclass
from rationlp.wintering.ewe_steps import step_pairs
from rationlp.wintering.levels import AcceptedPlan, settle_plan
from rationlp.wintering.links import Yard
from rationlp.wintering.parts import Run
from rationlp.wintering.search import WinterModel, begin
from rationlp.wintering.yard import WinterOptions, make_yard


@dataclass(frozen=True)
class Pattern:
    """One run: its columns with their cost a head a day, its rows, and the part with its curves.
    by_stage: its head-days in each period of each stage: (period, head · d).
    """

    run: Run
    part: Part
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    by_stage: tuple[tuple[tuple[int, float], ...], ...]


@dataclass(frozen=True)
class Template:
    """A winter to be laid into trees. yard: stores and runs of the mean winter. mean: its cheapest
    plan, settled. mixes, steps: rows that tie runs within a stage, and ewes' runs one after the
    other.
    """

    market: Market
    yard: Yard
    mean: AcceptedPlan
    patterns: tuple[Pattern, ...]
    mixes: tuple[Row, ...]
    steps: tuple[tuple[Row, Run], ...]

    @property
    def periods(self) -> tuple[Period, ...]:
        """Of the mean winter."""
        return self.yard.periods


def make_template(market: Market, stocks: Mapping[str, StoreStock]) -> Template | None:
    """The template of a farm, settled on its mean winter; None where that cannot be fed.

    Loads are not whole and faces may stand still: both are matters of a plan already chosen.
    """
    farm = market.farm
    yard = make_yard(farm, WinterOptions(start=market.stages[0]), stocks)
    model = WinterModel(yard)
    if model.infeasible:
        return None
    mean = settle_plan(model, begin(model))
    if mean is None:
        return None
    model.touch(mean.touches)
    stage_of = [_stage(market, period) for period in yard.periods]
    if len(stage_of) > 1:
        # However long the last step is, it is the one that a late spring makes longer.
        stage_of[-1] = len(market.stages) - 1
    patterns = tuple(
        _pattern(model, number, stage_of, len(market.stages)) for number in range(len(model.runs))
    )
    rows = model.live.rows[model.first_link :]
    mixes = tuple(row for row in rows if row.key[0] == "mix")
    afters = {after.block.key("")[-2:]: after for _, after in step_pairs(model.runs)}
    steps = tuple(
        (row, afters[row.key[-2:]]) for row in rows if row.key[0] in ("step_up", "step_down")
    )
    return Template(_dearer(market, model, mean), yard, mean, patterns, mixes, steps)


def _dearer(market: Market, model: WinterModel, mean: AcceptedPlan) -> Market:
    """Forage on the day that a store is empty costs no less than twice what a tonne of that store
    is worth in the mean winter: else an empty store would be good news.
    """
    rescue = dict(market.rescue)
    for store in rescue:
        number = model.live.row_index.get(("store", store))
        if number is not None:
            worth = -figure("rescue_price") * mean.solution.row_duals[number]
            rescue[store] = max(rescue[store], worth)
    return replace(market, rescue=rescue)


def _stage(market: Market, period: Period) -> int:
    """The stage in which a period begins."""
    return max(n for n, day in enumerate(market.stages) if n == 0 or day <= period.first)


def _pattern(model: WinterModel, number: int, stage_of: list[int], stages: int) -> Pattern:
    run, live = model.runs[number], model.live
    owns = run.block.owns
    columns = []
    for key, j in live.column_index.items():
        if owns(key):
            cost = live.cost[j] / run.weight
            columns.append(Column(key, cost, live.col_low[j], live.col_high[j]))
    names = list(live.column_index)
    rows = []
    for i, row in enumerate(live.rows):
        if owns(row.key) and row.key[0] not in ("step_up", "step_down"):
            coefs = {names[j]: value for j, value in live.coefs[i].items()}
            rows.append(Row(row.key, coefs, live.row_low[i], live.row_high[i], row.kind))
    days: list[list[tuple[int, float]]] = [[] for _ in range(stages)]
    for period, head_days in zip(run.periods, run.head_days, strict=True):
        days[stage_of[period]].append((period, head_days))
    part = model.parts[number]
    return Pattern(run, part, tuple(columns), tuple(rows), tuple(map(tuple, days)))
