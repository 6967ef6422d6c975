"""How long the plan of a winter takes, phase by phase, beside the raw solver on the same sequence
of programmes.

Run as a script: `python tests/benchmarks/winter.py [small | largest]`. Processor time of a thread,
so that a busy machine says the same; medians of three. The raw solver is measured by its own clock,
which runs on while the machine is busy. Nothing here is an assertion.
"""

from __future__ import annotations

import random
import resource
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "model"))

from random_groups import BOUGHT, FORAGES, random_group, tables
from winter_farms import stock, store

from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Offer
from rationlp.farm.group import Calendar, Group
from rationlp.model.block_ration import NoOptimum, solve_block
from rationlp.model.rows.block import TODAY, Block
from rationlp.model.solve import LiveModel
from rationlp.needs import group_needs
from rationlp.needs.calendar import aged
from rationlp.wintering.bound import winter_bound
from rationlp.wintering.links import Yard
from rationlp.wintering.parts import winter_periods, winter_runs
from rationlp.wintering.plan import settled_winter
from rationlp.wintering.search import WinterModel

START = date(2026, 10, 15)
SIZES = ((1, 6), (1, 12), (4, 12), (8, 6), (8, 12), (8, 26), (20, 12), (20, 26))
SMALL = ((1, 6), (4, 6))
LARGEST = ((40, 52),)
CLASSES = ("dairy_cow_milking", "dairy_cow_dry", "growing_cattle", "finishing_cattle")
REPEATS = 3


def farm_of(groups: int, periods: int, feeds: int) -> Farm:
    """Random groups whose needs differ in every period, ten forages in store and straights to
    buy.
    """
    rng = random.Random(groups * 1000 + periods)
    chosen = (*FORAGES, *BOUGHT)[:feeds]
    chosen = (*chosen, *sorted(set(tables()) - set(chosen)))[:feeds]
    offers = []
    for key in chosen:
        home = key in FORAGES
        price = (
            (100.0 if home else 250.0) * rng.uniform(0.7, 1.4) * tables()[key].dm_g_per_kg / 860.0
        )
        offers.append(Offer(key, key, tables()[key], not home, price))
    made: list[Group] = []
    while len(made) < groups:
        group = random_group(rng, CLASSES[len(made) % len(CLASSES)])
        facts = dict(group.facts)
        if "live_weight_change_kg_per_day" in facts:
            facts["live_weight_change_kg_per_day"] = 0.02
        if "days_to_calving" in facts:
            facts["days_to_calving"] = 30.0 + 7.0 * periods
        group = replace(
            group,
            id=f"g{len(made)}",
            feed_limits=(),
            facts=facts,
            calendar=Calendar(START),
            head=40,
        )
        if _has_rations(group, tuple(offers), 7.0 * periods):
            made.append(group)
    end = START + timedelta(days=7 * periods)
    weeks = tuple(
        (START + timedelta(days=7 * n), START + timedelta(days=7 * n + 7)) for n in range(periods)
    )
    stores = tuple(store(key) for key in chosen if key in FORAGES)
    return Farm(
        "",
        "B",
        "GBP",
        START,
        end,
        Margins(),
        "cost",
        0.1,
        tuple(offers),
        stores,
        tuple(made),
        tables(),
        periods=weeks,
    )


def _has_rations(group: Group, offers: tuple[Offer, ...], days: float) -> bool:
    """A ration exists on the first day and on the last."""
    for later in (0.0, days):
        facts = aged(group.animal_class, group.facts, later)
        animals = replace(group, facts=facts)
        block = Block(animals, TODAY, group_needs(animals, Margins()), offers, {}, 0.1)
        if isinstance(solve_block(block), NoOptimum):
            return False
    return True


class Clock:
    """Time spent in the raw solver."""

    def __init__(self) -> None:
        self.raw = 0.0
        self.solves = 0

    def watch(self) -> None:
        """Count every run of the solver from now on."""
        plain = LiveModel.solve
        clock = self

        def timed(self: LiveModel, cold: bool = False) -> Any:
            begun = self._solver.getRunTime()
            answer = plain(self, cold)
            clock.raw += self._solver.getRunTime() - begun
            clock.solves += 1
            return answer

        LiveModel.solve = timed  # type: ignore[method-assign]


def phases(farm: Farm, clock: Clock) -> dict[str, float]:
    """Seconds by phase, the raw solver's share and the gap."""
    found: dict[str, float] = {}

    def step(name: str, work: Callable[[], Any]) -> Any:
        begun = time.process_time()
        value = work()
        found[name] = time.process_time() - begun
        return value

    clock.raw, clock.solves = 0.0, 0
    periods = winter_periods(farm)
    runs = step("needs", lambda: winter_runs(farm, periods, {}))
    eaten = (
        sum(run.weight * run.block.needs.intake.cap_kg_dm for run in runs if run.block.needs.intake)
        / 1000.0
    )
    held = {one.id: stock(one.id, 0.12 * eaten) for one in farm.stores}
    free = {name: one.edible_t_dm.typical for name, one in held.items()}
    bedded = {name: (0.0,) * len(periods) for name in held}
    model = step("build", lambda: WinterModel(Yard(farm, periods, runs, held, free, bedded)))
    both = step("settle", lambda: settled_winter(model))
    if both is None:
        return {**found, "raw": clock.raw, "solves": float(clock.solves), "gap": float("nan")}
    plan, settled = both[0], clock.raw
    bound = step("prove", lambda: winter_bound(model, plan.solution))
    gap = (plan.cost - bound.lower_bound) / plan.cost
    return {
        **found,
        "raw settled": settled,
        "raw": clock.raw,
        "solves": float(clock.solves),
        "gap": gap,
    }


def table(sizes: tuple[tuple[int, int], ...]) -> None:
    """Print the table of winters of these groups and periods."""
    clock = Clock()
    clock.watch()
    names = ("needs", "build", "settle", "prove")
    sys.stdout.write(
        "groups x periods x feeds   "
        + "  ".join(f"{name:>8s}" for name in names)
        + "   to a plan  beside raw   proved  programmes      gap\n"
    )
    for groups, periods in sizes:
        feeds = 60 if groups * periods >= 520 else 30
        runs = [
            phases(farm_of(groups, periods, feeds), clock)
            for _ in range(1 if groups >= 20 else REPEATS)
        ]
        middle = {name: statistics.median(run.get(name, 0.0) for run in runs) for name in runs[0]}
        plan = sum(middle.get(name, 0.0) for name in names[:3])
        parts = "  ".join(f"{middle.get(name, 0.0):7.2f}s" for name in names)
        raw = middle.get("raw settled", middle["raw"])
        sys.stdout.write(
            f"{groups:6d} x {periods:3d} x {feeds:3d}       {parts}   {plan:8.2f}s "
            f" {plan / max(raw, 1e-9):8.1f} x {plan + middle.get('prove', 0.0):7.2f}s "
            f" {middle['solves']:9.0f}  {middle['gap']:.2e}\n"
        )
    sys.stdout.write(
        f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB\n"
    )


if __name__ == "__main__":
    chosen = {"small": SMALL, "largest": LARGEST}
    table(next((chosen[word] for word in sys.argv if word in chosen), SIZES))
