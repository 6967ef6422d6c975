"""Every line of the tables of rationlp/guide/speed.md, one after another: whole processes, groups,
winters, and a winter kept open.

Run as a script on a quiet machine: `python tests/benchmarks/page.py [quick]`; half an hour, `quick`
leaves out winters of 20 groups and the questions of many solves. Medians; asserts nothing.
"""

from __future__ import annotations

import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import questions
import run
import winter
from run import EXAMPLE, INSTALLED, line, process_seconds
from winter_farms import stock

from rationlp.ask.again import PLAIN, WarmWinter
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.model.block_ration import solve_block
from rationlp.read.changed import ChangedFarm, held
from rationlp.wintering.parts import winter_periods, winter_runs
from rationlp.wintering.plan import solve_winter

TIMES = 5


def heading(text: str) -> None:
    """A heading above the lines of one table."""
    sys.stdout.write(f"\n{text}\n")
    sys.stdout.flush()


def seconds(work: Callable[[], object]) -> float:
    """Processor time of one call [s]."""
    start = time.process_time()
    work()
    return time.process_time() - start


def winter_processes() -> None:
    """Whole commands about the winter, beside the ration of a day and beside the winter."""
    ration = process_seconds(*INSTALLED, "ration", str(EXAMPLE))
    planned = process_seconds(*INSTALLED, "winter", str(EXAMPLE))
    line("rationlp winter examples/dairy beside ration", planned, ration, "target 2")
    lasting = process_seconds(*INSTALLED, "last", str(EXAMPLE))
    line("rationlp last examples/dairy beside winter", lasting, planned, "target 1.1")
    with tempfile.TemporaryDirectory() as folder:
        words = ("sheet", str(EXAMPLE), "--record", "--output", str(Path(folder) / "page.html"))
        sheet = process_seconds(*INSTALLED, *words)
    line("rationlp sheet --record beside winter", sheet, planned, "target 1.1")


def stocked(farm: Farm) -> dict[str, StoreStock]:
    """Stores as in the table of winters: scarce, but enough for a plan."""
    runs = winter_runs(farm, winter_periods(farm), {})
    eaten = sum(one.weight * one.block.needs.intake.cap_kg_dm for one in runs
                if one.block.needs.intake) / 1000.0  # fmt: skip
    return {store.id: stock(store.id, 0.12 * eaten) for store in farm.stores}


def beside_groups() -> None:
    """A winter to its proof, beside each of its runs solved and proved alone."""
    for groups, periods in ((4, 12), (8, 12)):
        farm = winter.farm_of(groups, periods, 30)
        stocks, runs = stocked(farm), winter_runs(farm, winter_periods(farm), {})
        alone = statistics.median(
            seconds(lambda runs=runs: [solve_block(one.block) for one in runs])
            for _ in range(TIMES)
        )
        whole = statistics.median(
            seconds(lambda farm=farm, stocks=stocks: solve_winter(farm, PLAIN, stocks))
            for _ in range(TIMES)
        )
        line(f"{groups} x {periods} x 30 to proof beside its runs alone", whole, alone, "target 2")


def open_winter() -> None:
    """One store and one price changed in a winter kept open, beside the plan anew; the first change
    apart, because it proves every run at any level of feeding.
    """
    farm = winter.farm_of(8, 12, 30)
    stocks = stocked(farm)
    anew = statistics.median(seconds(lambda: solve_winter(farm, PLAIN, stocks)) for _ in range(3))
    opened = WarmWinter(farm, stocks)
    first = seconds(lambda: opened.after(ChangedFarm(farm, stocks)))
    line("8 x 12 x 30 kept open: the first question", first, anew, "")
    store = farm.stores[0].id
    of_store, of_price = [], []
    for number in range(TIMES):
        t_dm = stocks[store].edible_t_dm.typical * (0.99 - 0.01 * number)
        other = ChangedFarm(farm, {**stocks, store: held(stocks[store], t_dm)})
        of_store.append(seconds(lambda other=other: opened.after(other)))
    offer = next(offer for offer in farm.offers if offer.bought)
    for number in range(TIMES):
        price = offer.price_per_t_fresh * (1.01 + 0.01 * number)
        dearer = farm.with_offer(replace(offer, price_per_t_fresh=price))
        other = ChangedFarm(dearer, stocks)
        of_price.append(seconds(lambda other=other: opened.after(other)))
    line("8 x 12 x 30 kept open: one store", statistics.median(of_store), anew, "target 0.1 s")
    line("8 x 12 x 30 kept open: one price", statistics.median(of_price), anew, "target 0.3 s")


def many_winters() -> None:
    """Winters with all prices other than the farm's, by one process from a winter kept open, beside
    each planned anew; those it cannot answer are planned anew and counted.
    """
    farm = winter.farm_of(4, 12, 20)
    stocks, chance = stocked(farm), random.Random(2)
    opened = WarmWinter(farm, stocks)
    others = [questions.drawn(farm, stocks, chance) for _ in range(questions.WINTERS)]
    anew = statistics.median(
        seconds(lambda other=other: solve_winter(other.farm, PLAIN, other.stocks))
        for other in others[:TIMES]
    )
    start, asked = time.process_time(), 0
    for other in others:
        if opened.after(other) is None:
            asked += 1
            solve_winter(other.farm, PLAIN, other.stocks)
    taken = (time.process_time() - start) / len(others)
    line(f"4 x 12 x 20 kept open, all prices moved ({asked} anew)", taken, anew, "target 0.24 s")


def main() -> None:
    """Print all tables."""
    quick = "quick" in sys.argv
    heading("Whole processes, and groups")
    run.processes()
    run.in_process()
    winter_processes()
    if not quick:
        questions.price_changes()
        questions.price_map()
        questions.processes()
        questions.winters(questions.WINTERS)
    heading("A winter kept open, and beside its groups")
    open_winter()
    many_winters()
    beside_groups()
    heading("A winter from needs to a settled plan, and to its proof")
    winter.table(tuple(size for size in winter.SIZES if not quick or size[0] < 20))


if __name__ == "__main__":
    main()
