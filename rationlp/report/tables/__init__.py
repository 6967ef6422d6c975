"""Every table of the program, one function a table: from result objects to plain rows, the same for
screen and file.

ration.py   what to feed, supply against need, the overview      needs.py   what a group requires
and why parlour.py  concentrate by the litre                             winter.py  needs step by
step through the winter compare.py  other standards beside our needs changeover.py  the steps from
one ration to the next stock.py    what is in store and what a use does to it farm.py     offers,
stores, groups, origins, notices             feeds.py   the feed tables: list, one feed, two
compared
"""

from rationlp.report.tables.changeover import change_overs_table, change_words, ramp_table
from rationlp.report.tables.compare import compare_table, spread
from rationlp.report.tables.farm import (
    groups_table,
    notices_table,
    offers_table,
    origins_table,
    stores_table,
)
from rationlp.report.tables.feeds import compare_feeds, feed_table, feeds_table
from rationlp.report.tables.needs import energy_table, limits_table, minerals_table, needs_table
from rationlp.report.tables.parlour import parlour_table
from rationlp.report.tables.ration import (
    ration_overview,
    ration_table,
    rations_table,
    shortfall_table,
    supplies_table,
    supply_table,
)
from rationlp.report.tables.stock import stock_steps_table, stocks_table, uses_table
from rationlp.report.tables.table import Column, Table, shown
from rationlp.report.tables.winter import winter_needs_table

__all__ = [
    "Column",
    "Table",
    "change_overs_table",
    "change_words",
    "compare_feeds",
    "compare_table",
    "energy_table",
    "feed_table",
    "feeds_table",
    "groups_table",
    "limits_table",
    "minerals_table",
    "needs_table",
    "notices_table",
    "offers_table",
    "origins_table",
    "parlour_table",
    "ramp_table",
    "ration_overview",
    "ration_table",
    "rations_table",
    "shortfall_table",
    "shown",
    "spread",
    "stock_steps_table",
    "stocks_table",
    "stores_table",
    "supplies_table",
    "supply_table",
    "uses_table",
    "winter_needs_table",
]
