"""How dense forage lies in store [kg DM/m3]: by crop, dry matter and depth from tables, by
equation, or as the farm measured it.

The tables stand in feeds/densities.csv, each row with source and status. Two published tables of
grass silage disagree by up to 20 %: the shallow one is used up to 2.5 m or where the clamp was
poorly rolled, the deep one from 3 m, in between a mean of both; the range is 12 % either way (own
choice), widened to take in both tables.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from itertools import pairwise

from rationlp.csvfile import read_rows
from rationlp.farm.feed import Feed
from rationlp.farm.store import Spread
from rationlp.folders import feeds_folder, number_in
from rationlp.records import dataclass
from rationlp.stock.shapes import Sizes, Solid, number

TABLE_SPREAD = 0.12
"""What a density from a table or an equation may be out by; own choice (c)."""
OWN_SPREAD = {"density_kg_dm_per_m3": 0.08, "core_kg_dm_per_m3": 0.06, "step_m_per_week": 0.05}
"""What a density of the farm's own may be out by, by how it was found; own choice (c)."""
STAND_IN = {"forage": "grass_silage", "straw": "cereal_straw"}
"""What a feed of the farm's own, of no known sort, is counted as dense as; own choice (c)."""
SHALLOW_M, DEEP_M = 2.5, 3.0
SOURCE_KEYS = {
    "legume_silage": "grass_silage",
    "wholecrop_alkaline": "wholecrop",
    "treated_straw": "cereal_straw",
}
"""Sorts that no table has, and whose rows stand in for them; common practice, no source (c)."""
MAIZE_DM, MAIZE_STARCH, MAIZE_DEPTH = (25.0, 42.0), (10.0, 45.0), (1.0, 4.5)
"""Where the maize equation is used [% DM, % of DM, m]; held at the ends outside; own choice (c)."""
USUAL_MAIZE_STARCH = 30.0


@dataclass(frozen=True)
class Density:
    """A density [kg DM/m3] with how it was found. note: what a person should know of it, or ""."""

    spread: Spread
    equation: str
    source: str
    status: str
    note: str = ""


@dataclass(frozen=True)
class _Row:
    dm: float | None
    depth: float | None
    low: float | None
    typical: float
    high: float | None
    fresh: bool
    status: str
    source: str

    def dry(self, value: float, dm_percent: float) -> float:
        if self.fresh:
            return value * dm_percent / 100.0
        return value


def crop_of(feed: Feed) -> str:
    """What the tables here call a feed: its sort, what stands in for its kind, or its own key."""
    sort = feed.sort or STAND_IN.get(feed.kind, feed.key)
    return SOURCE_KEYS.get(sort, sort)


def own_keys(size: Mapping[str, float | str]) -> list[str]:
    """Which of the ways to measure a density the farm used."""
    return [key for key in OWN_SPREAD if key in size]


def density(feed: Feed, size: Sizes, solid: Solid, kind: str) -> Density | None:
    """Density of a clamp, bag, stack or heap: the farm's own, else by table or equation."""
    own = own_keys(size)
    dm = feed.dm_g_per_kg / 10.0
    if own:
        return _own(own[0], size, solid, dm)
    crop = crop_of(feed)
    if kind == "bag":
        return _single("", "bag", dm)
    if kind == "stack":
        return _single(crop, f"stack_{size.get('packed', 'medium')}", dm)
    if feed.kind == "root":
        return _single(crop, "heap", dm)
    if crop == "maize_silage":
        starch = feed.value("starch_g_per_kg_dm")
        percent = USUAL_MAIZE_STARCH
        if starch is not None:
            percent = starch / 10.0
        return _maize(dm, percent, solid.depth_m)
    return _by_tables(crop, dm, solid.depth_m, size.get("rolled") == "poorly")


def bale_density(feed: Feed) -> Density | None:
    """Density of the forage inside a bale [kg DM/m3]; practice (c). None without a row."""
    return _single(crop_of(feed), "bale", feed.dm_g_per_kg / 10.0)


def maize_density(dm_percent: float, starch_percent: float, depth_m: float) -> float:
    """Maize in a clamp [kg DM/m3]: (929 - 17.5 DM % + 7.9 starch % + 44 depth m) x DM % / 100.

    Source: French livestock institute (1993), proved again by a survey of Breton farms, quoted by
    the chambers of agriculture of Brittany (a). Single figures explain little of it (starch 16 %,
    depth 16 %): a weighed core or week beats it.
    """
    return (929.0 - 17.5 * dm_percent + 7.9 * starch_percent + 44.0 * depth_m) * dm_percent / 100.0


def wall_mark_density(kg_fresh: float, area_m2: float, step_m: float, dm_share: float) -> float:
    """Density from marks on the wall [kg DM/m3]: kg fresh fed in a week over face area times the
    step back, times DM share.

    Source: farming press in Ireland, marks on both walls read again after seven days (a).
    """
    return kg_fresh / (area_m2 * step_m) * dm_share


def around(typical: float, share: float) -> Spread:
    """A figure with the same share below and above it."""
    return Spread(typical * (1.0 - share), typical, typical * (1.0 + share))


def _own(key: str, size: Sizes, solid: Solid, dm_percent: float) -> Density:
    spread = OWN_SPREAD[key]
    if key == "step_m_per_week":
        kg = number(size, "fed_t_fresh_per_week") * 1000.0
        marked = wall_mark_density(kg, solid.area_m2, number(size, key), dm_percent / 100.0)
        words = "kg fed in a week / (face x step) x DM"
        return Density(around(marked, spread), words, "the farm's marks on the wall", "")
    words = "stated by the farm"
    if key == "core_kg_dm_per_m3":
        words = "a weighed core"
    return Density(around(number(size, key), spread), words, "the farm's own figure", "")


def _single(crop: str, table: str, dm_percent: float) -> Density | None:
    rows = _rows().get((crop, table), ())
    if not rows:
        return None
    row = rows[0]
    low, high = (row.typical if value is None else value for value in (row.low, row.high))
    spread = Spread(*(row.dry(value, dm_percent) for value in (low, row.typical, high)))
    return Density(spread, "by crop", row.source, row.status)


def _maize(dm: float, starch: float, depth: float) -> Density:
    used = [min(max(value, low), high) for value, (low, high) in _maize_ranges(dm, starch, depth)]
    curve = maize_density(*used)
    note = _outside(dm, MAIZE_DM)
    table = _between("maize_silage", "deep", dm, depth)
    spread = around(curve, TABLE_SPREAD)
    if table is not None and MAIZE_DM[0] <= dm <= 35.0 and depth <= SHALLOW_M:
        spread = Spread(min(spread.low, table), curve, max(spread.high, table))
    equation = "(929 - 17.5 DM % + 7.9 starch % + 44 depth) x DM %/100, 12 % either way"
    return Density(spread, equation, "French livestock institute (1993)", "a", note)


def _maize_ranges(
    dm: float, starch: float, depth: float
) -> list[tuple[float, tuple[float, float]]]:
    return [(dm, MAIZE_DM), (starch, MAIZE_STARCH), (depth, MAIZE_DEPTH)]


def _by_tables(crop: str, dm: float, depth: float, poorly_rolled: bool) -> Density | None:
    shallow = _between(crop, "shallow", dm, depth)
    if shallow is None:
        return None
    deep = _between(crop, "deep", dm, min(depth, DEEP_M))
    rows = _rows()[crop, "shallow"]
    sources, typical, every = [rows[-1].source], shallow, [shallow]
    if deep is not None:
        if poorly_rolled:
            weight = 0.0
        else:
            weight = min(max((depth - SHALLOW_M) / (DEEP_M - SHALLOW_M), 0.0), 1.0)
        typical = shallow + weight * (deep - shallow)
        every.append(deep)
        deep_source = _rows()[crop, "deep"][0].source
        if weight == 1.0:
            sources = [deep_source]
        elif weight > 0.0:
            sources.append(deep_source)
    low, high = (typical * (1.0 - TABLE_SPREAD), typical * (1.0 + TABLE_SPREAD))
    spread = Spread(
        min(low, *every, *_stated(rows, dm, "low")),
        typical,
        max(high, *every, *_stated(rows, dm, "high")),
    )
    known = [row.dm for row in rows if row.dm is not None]
    ends = (min(known), max(known))
    equation, source = "table by dry matter and depth", "; ".join(sources)
    return Density(spread, equation, source, rows[-1].status, _outside(dm, ends))


def _stated(rows: tuple[_Row, ...], dm: float, side: str) -> list[float]:
    """The low or high figures that the rows next to a dry matter print themselves [kg DM/m3]."""
    return [
        row.dry(value, row.dm)
        for row in rows
        if row.dm is not None
        and abs(row.dm - dm) <= 5.0
        and (value := getattr(row, side)) is not None
    ]


def _outside(dm: float, ends: tuple[float, float]) -> str:
    if ends[0] <= dm <= ends[1]:
        return ""
    return (
        f"{dm:g} % dry matter is outside the densities known for this crop, {ends[0]:g} to"
        f" {ends[1]:g} %"
    )


def _between(crop: str, table: str, dm: float, depth: float) -> float | None:
    """A table read between its rows [kg DM/m3], held at its ends: by depth, then by dry matter."""
    by_dm: dict[float, list[tuple[float, float]]] = {}
    for row in _rows().get((crop, table), ()):
        if row.dm is not None:
            by_dm.setdefault(row.dm, []).append((row.depth or 0.0, row.dry(row.typical, row.dm)))
    if not by_dm:
        return None
    return _line([(at, _line(pairs, depth)) for at, pairs in by_dm.items()], dm)


def _line(pairs: list[tuple[float, float]], x: float) -> float:
    pairs = sorted(pairs)
    x = min(max(x, pairs[0][0]), pairs[-1][0])
    for (x0, y0), (x1, y1) in pairwise(pairs):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return pairs[-1][1]


@lru_cache(maxsize=1)
def _rows() -> dict[tuple[str, str], tuple[_Row, ...]]:
    table: dict[tuple[str, str], tuple[_Row, ...]] = {}
    for row in read_rows(feeds_folder() / "densities.csv").rows:
        key = (row.cells["crop"], row.cells["table"])
        table[key] = (*table.get(key, ()), _row(row.cells))
    return table


def _row(cells: Mapping[str, str]) -> _Row:
    names = ("dm_percent", "depth_m", "low_kg_per_m3", "high_kg_per_m3")
    dm, depth, low, high = (number_in(cells[name]) for name in names)
    typical = float(cells["kg_per_m3"])
    return _Row(
        dm, depth, low, typical, high, cells["basis"] == "fresh", cells["status"], cells["source"]
    )
