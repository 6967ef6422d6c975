"""A published blending problem written as a farm folder: own quantities, own feeds, prices, one
group with stated needs.

A kg of a feed's dry matter stands for one unit of the problem (a pound, a package, a bag), so a
price a tonne is a thousand times the printed cost of a unit.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from pathlib import Path

from published_problems import Record

from rationlp.quantities import quantities

GROUP = "animals"
MOST_PRICE = 20_000.0
"""Problems dearer than this a tonne are written in hundredths of their money, which must change
nothing but the money.
"""


@dataclass
class Blend:
    """What goes into the folder. contents: quantity → feed → per unit. limits: (quantity, per,
    at_least, at_most).
    feed_limits: feed → (least, most) units. dm: dry matter of single feeds [g/kg], 1000 where not
    named.
    """

    prices: dict[str, float]
    contents: dict[str, dict[str, float]] = field(default_factory=dict)
    limits: list[tuple[str, str, float | None, float | None]] = field(default_factory=list)
    feed_limits: dict[str, tuple[float | None, float | None]] = field(default_factory=dict)
    dm: dict[str, float] = field(default_factory=dict)
    basis: str = "dm"
    money: float = 1.0


def money_unit(record: Record) -> float:
    """What one unit of the problem's money is in the farm's currency: 1, or 0.01 where prices would
    pass the ceiling.
    """
    return 1.0 if 1000.0 * max(record["costs"].values()) <= MOST_PRICE else 0.01


def blend_of(record: Record, per_kg: bool = False) -> Blend:
    """A record as a blend. Rows with equal coefficients become one quantity with two limits; a row
    of ones is dry matter.

    per_kg writes every row that can be one as a share of the dry matter: rows of the mix where the
    record fixes the batch, and rows the record says are cleared shares (`share_limits`).
    """
    feeds = [variable["name"] for variable in record["variables"]]
    money = money_unit(record)
    blend = Blend({feed: money * record["costs"][feed] for feed in feeds}, money=money)
    whole = next(
        (row["rhs"] for row in record["rows"] if _is_whole(row, feeds) and row["op"] == "="), None
    )
    for row in record["rows"]:
        shares = record.get("share_limits", {})
        if _is_whole(row, feeds):
            _limit(blend, "dm_kg", "head_day", row["op"], row["rhs"])
        elif per_kg and row["name"] in shares:
            limit = shares[row["name"]]
            # The record holds the cleared row, content less limit; a feed table holds the content.
            contents = {feed: limit + row["coeffs"].get(feed, 0.0) for feed in feeds}
            _limit(blend, _quantity(blend, row["name"], contents), "kg_dm", row["op"], limit)
        else:
            contents = {feed: float(row["coeffs"].get(feed, 0.0)) for feed in feeds}
            name = _quantity(blend, row["name"], contents)
            if per_kg and whole is not None:
                _limit(blend, name, "kg_dm", row["op"], row["rhs"] / whole)
            else:
                _limit(blend, name, "head_day", row["op"], row["rhs"])
    for variable in record["variables"]:
        if variable["lb"] or variable["ub"] is not None:
            blend.feed_limits[variable["name"]] = (variable["lb"] or None, variable["ub"])
    return blend


def _is_whole(row: Record, feeds: list[str]) -> bool:
    return [row["coeffs"].get(feed) for feed in feeds] == [1] * len(feeds)


def _quantity(blend: Blend, row_name: str, contents: dict[str, float]) -> str:
    """The quantity with these contents, declared if it is new; `A_min` and `A_max` are two limits
    on one quantity.
    """
    for name, known in blend.contents.items():
        if known == contents:
            return name
    name = row_name.removesuffix("_min").removesuffix("_max").lower()
    blend.contents[name] = contents
    return name


def _limit(blend: Blend, quantity: str, per: str, op: str, bound: float) -> None:
    low = None if op == "<=" else float(bound)
    high = None if op == ">=" else float(bound)
    for number, (name, other_per, least, most) in enumerate(blend.limits):
        if (name, other_per) == (quantity, per):
            merged = (least if low is None else low, most if high is None else high)
            blend.limits[number] = (quantity, per, *merged)
            return
    blend.limits.append((quantity, per, low, high))


def offer(feed: str) -> str:
    """The id of a feed of a problem on the farm; the packaged tables have feeds of some of the same
    names.
    """
    return f"own_{feed}"


def write_blend(blend: Blend, folder: Path) -> Path:
    """Write farm.toml and feeds.csv into `folder`."""
    names = list(blend.contents)
    with (folder / "feeds.csv").open("w", encoding="utf-8", newline="") as handle:
        table = csv.writer(handle)
        table.writerow(["key", "name", "kind", "dm_g_per_kg", *names])
        for feed in blend.prices:
            figures = [repr(float(blend.contents[name].get(feed, 0.0))) for name in names]
            table.writerow(
                [
                    offer(feed),
                    feed.replace("_", " "),
                    "compound",
                    blend.dm.get(feed, 1000.0),
                    *figures,
                ]
            )
    (folder / "farm.toml").write_text("\n".join(_toml(blend)) + "\n", encoding="utf-8")
    return folder


def _toml(blend: Blend) -> list[str]:
    lines = ["[farm]", 'name = "A published problem"', 'currency = "USD"']
    lines += [
        "[winter]",
        "start = 2026-10-15",
        "turnout = 2027-04-20",
        "[home_grown]",
        'price = "nothing"',
    ]
    for name in (name for name in blend.contents if name not in quantities()):
        lines += [
            "[[own_quantities]]",
            f'name = "{name}"',
            f'title = "{name}"',
            'unit = "units/kg"',
        ]
        lines += [f'basis = "{blend.basis}"']
    for feed, price in blend.prices.items():
        lines += [
            "[[bought]]",
            f'feed = "{offer(feed)}"',
            f"price_per_t_fresh = {price * blend.dm.get(feed, 1000.0)!r}",
        ]
    lines += ["[[groups]]", f'id = "{GROUP}"', 'name = "Animals"', 'class = "stated"', "head = 1"]
    for feed, (least, most) in blend.feed_limits.items():
        to_fresh = 1000.0 / blend.dm.get(feed, 1000.0)
        lines += ["[[groups.feed_limits]]", f'feed = "{offer(feed)}"']
        lines += _bounds("min_kg_fresh", least, "max_kg_fresh", most, to_fresh)
    for quantity, per, least, most in blend.limits:
        lines += ["[[groups.quantity_limits]]", f'quantity = "{quantity}"', f'per = "{per}"']
        lines += _bounds("at_least", least, "at_most", most, 1.0)
    return lines


def _bounds(
    low_key: str, low: float | None, high_key: str, high: float | None, factor: float
) -> list[str]:
    pairs = ((low_key, low), (high_key, high))
    return [f"{key} = {float(value) * factor!r}" for key, value in pairs if value is not None]
