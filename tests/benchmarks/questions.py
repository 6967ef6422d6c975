"""Speed of questions that solve again: beside the bare imports they need, or beside building and
solving anew.

Run with the environment's own python; prints a table, asserts nothing. Medians of several runs; the
thousand winters are worked out from fewer (`--winters N`, 40 if left out).
"""

from __future__ import annotations

import dataclasses
import random
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from run import EXAMPLE, INSTALLED, NEEDED, line, median_of, process_seconds
from winter import farm_of
from winter_farms import stock

from rationlp.ask.batch import answer_all, cores
from rationlp.ask.engine import GroupEngine
from rationlp.ask.whatif import Question, answer_question
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.model.block_ration import solve_block
from rationlp.model.ration import make_blocks
from rationlp.read.changed import ChangedFarm
from rationlp.read.farm import read_farm
from rationlp.wintering.parts import winter_periods, winter_runs

MAP = 41
WINTERS = 40


def price_changes() -> None:
    """A group's prices changed in its open model, beside a group solved anew with its proof."""
    chance = random.Random(1)
    for block in make_blocks(read_farm(EXAMPLE)):
        engine = GroupEngine(block)
        times = []
        for _ in range(200):
            prices = {
                offer.id: offer.price_per_t_fresh * chance.uniform(0.8, 1.2)
                for offer in block.offers
            }
            start = time.perf_counter()
            engine.cost(prices)
            times.append(time.perf_counter() - start)
        anew = median_of(lambda block=block: solve_block(block))
        line(
            f"{block.group.id}: all prices changed, beside solved anew",
            statistics.median(times),
            anew,
            "1 ms",
        )


def price_map() -> None:
    """The cost of a group at 41 x 41 prices of two feeds, there and back, so that each point is
    next to the one before.
    """
    for block in make_blocks(read_farm(EXAMPLE)):
        bought = [
            offer
            for offer in block.offers
            if offer.bought and offer.feed.kind not in ("mineral", "vitamin")
        ]
        one, other = bought[0], bought[2]
        engine = GroupEngine(block)
        start = time.perf_counter()
        for row in range(MAP):
            columns = range(MAP) if row % 2 == 0 else range(MAP - 1, -1, -1)
            for column in columns:
                engine.cost(
                    {
                        one.id: one.price_per_t_fresh * (0.6 + 0.02 * row),
                        other.id: other.price_per_t_fresh * (0.6 + 0.02 * column),
                    }
                )
        taken = time.perf_counter() - start
        anew = median_of(lambda block=block: solve_block(block)) * MAP * MAP
        line(f"{block.group.id}: {MAP} x {MAP} prices, beside solved anew", taken, anew, "2 s")


def processes() -> None:
    """Whole processes beside the imports that they need."""
    needed = process_seconds("-c", NEEDED)
    words = ("switch", str(EXAMPLE), "--from", "first_cut", "--to", "maize")
    line("rationlp switch examples/dairy", process_seconds(*INSTALLED, *words), needed, "3 s")
    with tempfile.TemporaryDirectory() as folder:
        target = str(Path(folder) / "page.html")
        page = process_seconds(*INSTALLED, "report", str(EXAMPLE), "--output", target)
        line("rationlp report examples/dairy, beside imports", page, needed, "4 s")


def winters(count: int) -> None:
    """Winters of 4 groups, 12 periods and 20 feeds with other prices and stocks, on all cores, each
    with its proof.
    """
    farm = farm_of(4, 12, 20)
    runs = winter_runs(farm, winter_periods(farm), {})
    eaten = (
        sum(run.weight * run.block.needs.intake.cap_kg_dm for run in runs if run.block.needs.intake)
        / 1000.0
    )
    stocks = {one.id: stock(one.id, 0.12 * eaten) for one in farm.stores}
    chance = random.Random(2)
    questions = [
        Question(str(number), drawn(farm, stocks, chance), None, None) for number in range(count)
    ]
    start = time.perf_counter()
    answers = answer_all(answer_question, questions)
    taken = (time.perf_counter() - start) / count
    start = time.perf_counter()
    for question in questions[:5]:
        answer_question(question)
    alone = (time.perf_counter() - start) / 5
    solved = sum(one[0].cost is not None for one in answers)
    line(
        f"a winter, {solved} of {count} with a plan, {cores()} cores, beside one at a time",
        taken,
        alone,
        "0.3 s",
    )
    sys.stdout.write(f"1,000 such winters: {1000.0 * taken:.0f} s (target 300 s)\n")


def drawn(farm: Farm, stocks: dict[str, StoreStock], chance: random.Random) -> ChangedFarm:
    """The farm with every price up to a tenth higher or lower."""
    offers: Any = tuple(
        dataclasses.replace(
            offer, price_per_t_fresh=offer.price_per_t_fresh * chance.uniform(0.9, 1.1)
        )
        for offer in farm.offers
    )
    return ChangedFarm(dataclasses.replace(farm, offers=offers), stocks)


if __name__ == "__main__":
    price_changes()
    price_map()
    processes()
    winters(int(sys.argv[sys.argv.index("--winters") + 1]) if "--winters" in sys.argv else WINTERS)
