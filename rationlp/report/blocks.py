"""Charts of block signs for a terminal: a line a store, what is left of it from the first day to
turnout. No colour.
"""

from __future__ import annotations

import codecs
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from typing import TextIO

from rationlp.after.stock import Lasting
from rationlp.report.tables.table import shown

_SIGNS = " ▁▂▃▄▅▆▇█"
_MOST_SIGNS = 60
_LEAST_SIGNS = 8
_LEAST_NAME = 10


def may_draw(stream: TextIO, environment: Mapping[str, str]) -> bool:
    """Whether block signs may be written: to a terminal that takes UTF-8 and is no dumb one; never
    to files and pipes.
    """
    if not stream.isatty() or environment.get("TERM", "").lower() == "dumb":
        return False
    try:
        return codecs.lookup(stream.encoding or "ascii").name == "utf-8"
    except LookupError:
        return False


def run_down_blocks(stores: Sequence[Lasting], width: int) -> str:
    """A heading and a line a store of at most `width` columns: name, t DM on the first day, the way
    down, t DM at turnout.

    Each store is scaled to its own first day, in eighths; the lowest sign stands for as little as
    is left. Empty without stores.
    """
    if not stores:
        return ""
    firsts = [shown(one.left[0].t_dm.typical, 1) for one in stores]
    lasts = [shown(one.left[-1].t_dm.typical, 1) for one in stores]
    wide = (max(map(len, firsts)), max(map(len, lasts)))
    room = width - sum(wide) - 3
    name = min(
        max(len(one.name) for one in stores), max(_LEAST_NAME, room - _MOST_SIGNS, room // 2)
    )
    days = (stores[0].left[-1].on - stores[0].left[0].on).days
    signs = max(_LEAST_SIGNS, min(room - name, _MOST_SIGNS, days + 1))
    lines = [
        f"{_cut(one.name, name):<{name}} {first:>{wide[0]}} {_signs(one, signs)} {last:>{wide[1]}}"
        for one, first, last in zip(stores, firsts, lasts, strict=True)
    ]
    return "\n".join(
        [f"Left of each store [t DM], {stores[0].left[0].on} to {stores[0].left[-1].on}", *lines]
    )


def _cut(name: str, most: int) -> str:
    return name if len(name) <= most else f"{name[: most - 1]}…"


def _signs(one: Lasting, number: int) -> str:
    """The way down in so many signs: what is left on days evenly apart, the first day and turnout
    among them.
    """
    days = [left.on.toordinal() for left in one.left]
    whole = one.left[0].t_dm.typical
    if whole <= 0.0:
        return " " * number
    apart = (days[-1] - days[0]) / (number - 1)
    return "".join(_sign(_left_on(one, days, days[0] + n * apart) / whole) for n in range(number))


def _left_on(one: Lasting, days: Sequence[int], day: float) -> float:
    """What is left on a day [t DM], in a straight line between the days known."""
    after = min(max(bisect_right(days, day), 1), len(days) - 1)
    share = (day - days[after - 1]) / (days[after] - days[after - 1])
    before, then = one.left[after - 1].t_dm.typical, one.left[after].t_dm.typical
    return before + min(max(share, 0.0), 1.0) * (then - before)


def _sign(share: float) -> str:
    """The sign for a share of the first day: a full block from 15/16 on, blank for nothing only."""
    return _SIGNS[max(round(8.0 * share), 1)] if share > 0.0 else _SIGNS[0]
