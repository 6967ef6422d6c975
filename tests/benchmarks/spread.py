"""How long the plan made for the spread takes in processor time, and how much memory: 15 and 45
winters in three stages. Run as a script: `python tests/benchmarks/spread.py`; nothing here is an
assertion.
"""

from __future__ import annotations

import resource
import sys
import time
from pathlib import Path

from rationlp.chances.course import Wish, solve_course
from rationlp.chances.layout import TreeLayout
from rationlp.chances.market import make_market
from rationlp.chances.template import make_template
from rationlp.chances.tree import make_tree
from rationlp.chances.winters import farm_spreads, listed_winters, stage_days
from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import farm_stocks

DAIRY = Path(__file__).resolve().parents[2] / "examples" / "dairy"


def main() -> None:
    """Print time, gap and memory."""
    farm = read_farm(DAIRY)
    stocks = farm_stocks(farm)
    spreads = farm_spreads(farm, stocks)
    begun = time.process_time()
    market = make_market(farm, stage_days(farm, farm.start), spreads)
    template = make_template(market, stocks)
    assert template is not None
    sys.stdout.write(f"mean winter settled: {time.process_time() - begun:.1f} s\n")
    for prices, most_late in ((1, None), (3, None), (1, 0.1)):
        begun = time.process_time()
        layout = TreeLayout(template, make_tree(listed_winters(spreads, 5, 3, prices)))
        course = solve_course(layout, Wish(most_late))
        assert course is not None
        size = f"{len(layout.program.rows)} x {len(layout.program.columns)}"
        sys.stdout.write(
            f"{len(course.winters)} winters ({size}), late buying in {most_late or 1} at most:"
            f" {time.process_time() - begun:.1f} s, gap {100.0 * course.gap:.4f} %\n"
        )
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    sys.stdout.write(f"memory: {megabytes:.0f} MB\n")


if __name__ == "__main__":
    main()
