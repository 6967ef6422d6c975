"""The table of winters in rationlp/guide/speed.md, one command: before, target, now, met or not.

Run as a script: `python tests/benchmarks/winters.py [ROW ...] [--winters N]`; no row is every row,
`list` names them. Each row is measured in a process of its own, in processor time, so that other
work on the machine counts for little: medians of a few, the largest once. Asserts nothing.
"""

from __future__ import annotations

import itertools
import math
import os
import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import questions
import winter
from page import stocked
from run import ENVIRONMENT, EXAMPLE, INSTALLED, process_seconds

from rationlp.ask.again import PLAIN, WarmWinter
from rationlp.ask.engine import GroupEngine
from rationlp.ask.whatif import Question, Scope, _answers
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.model.block_ration import solve_block
from rationlp.model.ration import make_blocks
from rationlp.model.rows import block_costs
from rationlp.read.changed import ChangedFarm, held
from rationlp.read.farm import read_farm
from rationlp.wintering.parts import winter_periods, winter_runs
from rationlp.wintering.plan import solve_winter

WINTERS = 50
TIMES = 5


@dataclass(frozen=True)
class Measured:
    """A figure as it is told, and as a number beside its target."""

    told: str
    value: float


@dataclass(frozen=True)
class Line:
    """A line of the table. target: the number that `measure` is to stay below, None without one."""

    what: str
    before: str
    target: float | None
    unit: str
    measure: Callable[[], Measured]


def seconds(work: Callable[[], object]) -> float:
    """Processor time of one call [s]."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def told(value: float, unit: str, more: str = "") -> Measured:
    """A figure with three figures that say something."""
    return Measured(f"{value:.3g} {unit}{more}".replace("  ", " "), value)


def planned(groups: int, periods: int, feeds: int) -> float:
    """Needs, rows, plan and proof of a winter, nothing known from before [s]."""
    farm = winter.farm_of(groups, periods, feeds)
    stocks = stocked(farm)
    taken: list[float] = []

    def once() -> None:
        plan = solve_winter(farm, PLAIN, stocks)
        assert plan.proof is not None
        assert plan.proof.passed

    for _ in range(1 if groups * periods > 200 else 3):
        taken.append(seconds(once))
    return statistics.median(taken)


def cold_small() -> Measured:
    """8 x 12 x 30, from needs to proof."""
    return told(planned(8, 12, 30), "s")


def cold_large() -> Measured:
    """20 x 26 x 60, from needs to proof, with the most memory that the process took."""
    taken = planned(20, 26, 60)
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return told(taken, "s", f", {megabytes:.0f} MB")


GROWTH = ((1, 12), (4, 12), (8, 12), (8, 26), (20, 26), (40, 52))


def growth() -> Measured:
    """The power of groups x periods with which time grows, over all and from step to step."""
    times = [(groups * periods, planned(groups, periods, 30)) for groups, periods in GROWTH]
    powers = [
        math.log(later / earlier) / math.log(more / fewer)
        for (fewer, earlier), (more, later) in itertools.pairwise(times)
    ]
    (fewest, first), (most, last) = times[0], times[-1]
    power = math.log(last / first) / math.log(most / fewest)
    steps = ", ".join(f"{one:.2f}" for one in powers)
    each = ", ".join(f"{one:.3g} s" for _, one in times)
    return Measured(f"{power:.2f} (steps {steps}; {each})", power)


def opened() -> tuple[Farm, dict[str, StoreStock], WarmWinter]:
    """8 x 12 x 30 kept open, asked once: the first question proves every run anew."""
    farm = winter.farm_of(8, 12, 30)
    stocks = stocked(farm)
    warm = WarmWinter(farm, stocks)
    assert warm.after(ChangedFarm(farm, stocks)) is not None
    return farm, stocks, warm


def one_stock() -> Measured:
    """A store that holds a little less each time."""
    farm, stocks, warm = opened()
    store, taken = farm.stores[0].id, []
    for number in range(TIMES):
        t_dm = stocks[store].edible_t_dm.typical * (0.99 - 0.01 * number)
        other = ChangedFarm(farm, {**stocks, store: held(stocks[store], t_dm)})
        taken.append(_asked(warm, other))
    return told(statistics.median(taken), "s")


def one_price() -> Measured:
    """A bought feed that costs a little more each time."""
    farm, stocks, warm = opened()
    offer, taken = next(offer for offer in farm.offers if offer.bought), []
    for number in range(TIMES):
        price = offer.price_per_t_fresh * (1.01 + 0.01 * number)
        dearer = farm.with_offer(replace(offer, price_per_t_fresh=price))
        taken.append(_asked(warm, ChangedFarm(dearer, stocks)))
    return told(statistics.median(taken), "s")


def _asked(warm: WarmWinter, other: ChangedFarm) -> float:
    begun = time.process_time()
    answer = warm.after(other)
    taken = time.process_time() - begun
    assert answer is not None, "the open winter gave no answer of its own"
    return taken


def beside_groups() -> Measured:
    """8 x 12 x 30 to its proof, beside the sum of winters of one group each, which have all stores
    to themselves; and beside the sum of all its rations one by one.
    """
    farm = winter.farm_of(8, 12, 30)
    stocks, whole = stocked(farm), planned(8, 12, 30)
    alone = sum(
        seconds(lambda one=one: solve_winter(replace(farm, groups=(one,)), PLAIN, stocks))
        for one in farm.groups
    )
    runs = winter_runs(farm, winter_periods(farm), {})
    rations = seconds(lambda: [solve_block(run.block) for run in runs])
    return Measured(f"{whole / alone:.2f} × ({whole / rations:.2f} × its rations)", whole / alone)


def thousand() -> Measured:
    """Winters of 4 x 12 x 20 with every price other, as `whatif` asks for them: processor time of
    all processes, half of it as time on two cores.
    """
    count = WINTERS
    if "--winters" in sys.argv:
        count = int(sys.argv[sys.argv.index("--winters") + 1])
    farm, chance = winter.farm_of(4, 12, 20), random.Random(2)
    stocks = stocked(farm)
    every = [ChangedFarm(farm, stocks)]
    every += [questions.drawn(farm, stocks, chance) for _ in range(count)]
    asked = [Question(str(number), one, None, None) for number, one in enumerate(every)]
    before = os.times()
    answers = _answers(asked, Scope(workers=2))
    after = os.times()
    assert all(one[0].cost is not None for one in answers)
    each = (sum(after[:4]) - sum(before[:4])) / count
    return Measured(f"{500.0 * each:.0f} s on two cores ({each:.2f} s each)", 500.0 * each)


def ration_seconds() -> float:
    """`rationlp ration examples/dairy` as a whole process [s]."""
    return process_seconds(*INSTALLED, "ration", str(EXAMPLE))


def winter_seconds() -> float:
    """`rationlp winter examples/dairy` as a whole process [s]."""
    return process_seconds(*INSTALLED, "winter", str(EXAMPLE))


def beside_ration() -> Measured:
    """`winter` beside `ration`."""
    planned_in, ration = winter_seconds(), ration_seconds()
    return told(planned_in / ration, "×", f" ({planned_in:.2f} s)")


def last_beside() -> Measured:
    """`last` beside `winter`."""
    lasting = process_seconds(*INSTALLED, "last", str(EXAMPLE))
    return told(lasting / winter_seconds(), "×", f" ({lasting:.2f} s)")


def record_beside() -> Measured:
    """`sheet --record` beside `winter`."""
    with tempfile.TemporaryDirectory() as folder:
        page = str(Path(folder) / "page.html")
        sheet = process_seconds(*INSTALLED, "sheet", str(EXAMPLE), "--record", "--output", page)
    return told(sheet / winter_seconds(), "×", f" ({sheet:.2f} s)")


def group_price() -> Measured:
    """One price of a group moved, settled and certified on its open model, for every group of the
    example; the slowest group counts.
    """
    chance, medians = random.Random(1), []
    for block in make_blocks(read_farm(EXAMPLE)):
        engine = GroupEngine(block)
        bought = [offer for offer in block.offers if offer.bought]
        taken = []
        for _ in range(200):
            offer = chance.choice(bought)
            dearer = replace(
                offer, price_per_t_fresh=offer.price_per_t_fresh * chance.uniform(0.8, 1.2)
            )
            offers = tuple(dearer if one is offer else one for one in block.offers)
            costs = block_costs(replace(block, offers=offers))
            begun = time.process_time()
            assert engine.nearby(costs) is not None
            taken.append(time.process_time() - begun)
        medians.append(1e3 * statistics.median(taken))
    least, most = min(medians), max(medians)
    return Measured(f"{least:.2g} to {most:.2g} ms by group", most)


LINES = {
    "largest": Line("20 × 26 × 60 planned and proved, cold", "33 s, 540 MB", 8.0, "s", cold_large),
    "cold": Line("8 × 12 × 30 planned and proved, cold", "2.1 s", 0.8, "s", cold_small),
    "stock": Line("one stock of it changed, settled again, bound", "1 s", 0.1, "s", one_stock),
    "price": Line("one price of it changed, settled again, bound", "1 s", 0.3, "s", one_price),
    "growth": Line("growth with groups × periods, 1 × 12 to 40 × 52", "1.3–1.5", 1.15, "", growth),
    "groups": Line("8 × 12 × 30 ÷ sum of its groups alone", "—", 2.0, "×", beside_groups),
    "thousand": Line("1,000 winters 4 × 12 × 20 proved, all prices other", "410 s", 120.0, "s",
                     thousand),
    "winter": Line("`rationlp winter examples/dairy` ÷ `ration`", "4 ×", 2.0, "×", beside_ration),
    "last": Line("`rationlp last examples/dairy` ÷ `winter`", "2 ×", 1.1, "×", last_beside),
    "record": Line("`rationlp sheet examples/dairy --record` ÷ `winter`", "2 ×", 1.1, "×",
                   record_beside),
    "ration": Line("a price of a group changed, settled, certified", "0.4–1.5 ms", 0.5, "ms",
                   group_price),
}  # fmt: skip
HEAD = "| what | before | target | now | met | row |\n|---|---|---|---|---|---|\n"


def row(name: str) -> str:
    """A line of the table as the guide shows it, measured now."""
    line = LINES[name]
    measured = line.measure()
    target, met = "—", "—"
    if line.target is not None:
        target = f"{line.target:g} {line.unit}".strip()
        met = "yes" if measured.value <= line.target else "no"
    return f"| {line.what} | {line.before} | {target} | {measured.told} | {met} | `{name}` |\n"


def main(words: Sequence[str]) -> None:
    """Measure the rows named, each in a process of its own; all of them where none is named."""
    if "list" in words:
        sys.stdout.write("\n".join(LINES) + "\n")
        return
    if words[:1] == ["one"]:
        sys.stdout.write(row(words[1]))
        return
    more = list(words[words.index("--winters") :]) if "--winters" in words else []
    names = [word for word in words if word in LINES] or list(LINES)
    sys.stdout.write(HEAD)
    for name in names:
        sys.stdout.flush()
        command = [sys.executable, __file__, "one", name, *more]
        subprocess.run(command, check=True, env=ENVIRONMENT)


if __name__ == "__main__":
    main(sys.argv[1:])
