"""How much typical figures vary: standard deviations of feeds/spreads.csv, own ones over them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache

from rationlp.errors import Faults
from rationlp.farm.feed import DIGESTED_SHARE, Feed, Figure
from rationlp.farm.feed_table import is_silage
from rationlp.farm.store import Store, StoreStock
from rationlp.farm.values import as_number
from rationlp.folders import as_record, packaged_rows
from rationlp.quantities import quantities
from rationlp.records import dataclass

ME, CP, NDF, DM, FME = (
    "me_mj_per_kg_dm",
    "cp_g_per_kg_dm",
    "ndf_g_per_kg_dm",
    "dm_g_per_kg",
    "fme_mj_per_kg_dm",
)
UNVARIED_KINDS = frozenset({"mineral", "npn", "fat"})
"""Feeds made to a recipe or a pure substance: their figures are taken as known."""


@dataclass(frozen=True)
class SpreadRow:
    """A standard deviation. of: silage, hay, straw, straight, forage, store, group, winter or
    bought. known_by: table or lab. share: it is a share of the value, not in its unit.
    """

    id: str
    figure: str
    of: str
    known_by: str
    spread: float
    share: bool
    remark: str
    status: str
    source: str


@lru_cache(maxsize=1)
def default_spreads() -> dict[str, SpreadRow]:
    """Every row of feeds/spreads.csv by id."""
    rows = packaged_rows("spreads.csv")
    return {row["id"]: as_record(SpreadRow, row, share=row["as"] == "share") for row in rows}


def spreads_with(texts: Iterable[str]) -> dict[str, SpreadRow]:
    """The default spreads with own ones (`id=value`) over them. Raises InputError (IN538)."""
    spreads = dict(default_spreads())
    faults = Faults("--spread")
    for text in texts:
        name, sign, value = (part.strip() for part in text.partition("="))
        if name not in spreads:
            remedy = f"there are: {', '.join(spreads)}"
            faults.unknown("IN538", f'no spread "{name}"', name, spreads, remedy)
            continue
        number, highest = None, 1000.0
        if sign:
            number = _plain(value)
        if spreads[name].share:
            highest = 1.0
        if number is None or not 0.0 <= number <= highest:
            valid = f"write {name}=value, from 0 to {highest:g}"
            place = faults.of(f"--spread {name}")
            place.add("IN538", f'"{value}" is no standard deviation', valid)
        else:
            own = replace(spreads[name], spread=number, status="", source="the person's own")
            spreads[name] = own
    faults.refuse()
    return spreads


def _plain(text: str) -> float | None:
    try:
        return as_number(float(text))
    except ValueError:
        return None


def sort_of_spread(feed: Feed) -> str:
    """Which rows hold for a feed; empty for one whose figures do not vary."""
    if feed.kind in UNVARIED_KINDS:
        return ""
    if feed.kind == "straw":
        return "straw"
    if not feed.is_forage:
        return "straight"
    if is_silage(feed):
        return "silage"
    return "hay"


def spread_of(spreads: Mapping[str, SpreadRow], feed: Feed, figure: str) -> float:
    """Standard deviation of a feed's figure, in its unit; 0 for one that is not known or does not
    vary.

    A figure of a laboratory sheet varies less than one of the tables; one of the farm's own counts
    as of the tables.
    """
    known = feed.figures.get(figure)
    sort = sort_of_spread(feed)
    if known is None or not sort:
        return 0.0
    by, sorts = "table", {sort}
    if known.origin == "lab":
        by = "lab"
    if feed.is_forage:
        sorts.add("forage")
    for row in spreads.values():
        if row.figure == figure and row.of in sorts and row.known_by == by:
            if row.share:
                return row.spread * known.value
            return row.spread
    return 0.0


def stock_spread(store: Store, stock: StoreStock, spreads: Mapping[str, SpreadRow]) -> float:
    """Deviation of a store's tonnes [share]: by density, else by half its low-to-high range."""
    if "core_kg_dm_per_m3" in store.size:
        return spreads["density_core"].spread
    if stock.density_kg_dm_per_m3 is not None and "amount_t_fresh" not in store.size:
        return spreads["density_table"].spread
    typical = stock.t_dm.typical
    if typical <= 0.0:
        return 0.0
    return (stock.t_dm.high - stock.t_dm.low) / (4.0 * typical)


def shifted(feed: Feed, values: Mapping[str, float]) -> Feed:
    """A feed with figures drawn or lowered, kept within what can be true; fermentable energy goes
    with the energy, and by NRC (2001), which takes a concentrate by its composition, so do the
    nutrients digested of one (c).
    """
    figures = dict(feed.figures)
    for name, value in values.items():
        quantity = quantities()[name]
        low, high = quantity.hard_low or 0.0, quantity.hard_high
        if high is None:
            high = value
        figures[name] = Figure(min(max(value, low), high), "farm", "drawn")
    energy, fermentable = feed.figures.get(ME), feed.figures.get(FME)
    if ME in values and energy is not None and energy.value > 0.0:
        share, how = figures[ME].value / energy.value, "in proportion to the energy drawn"
        figures[DIGESTED_SHARE] = Figure(share, "computed", how, "c")
        if fermentable is not None:
            figures[FME] = Figure(fermentable.value * share, "computed", how, "c")
    return replace(feed, figures=figures)
