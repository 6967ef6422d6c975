"""Which feeds are made for cattle or for sheep: minerals, licks and mineralised compounds that name
their animal.

Sheep are poisoned by the copper that cattle need, and cattle on a sheep mineral go short of copper.
Straights and forages are for both. A feed that names both, or neither, is for both too. Common
practice, no source (c).
"""

from __future__ import annotations

import re

from rationlp.farm.feed import Feed

MADE_UP_KINDS = frozenset({"mineral", "compound", "liquid"})
SHEEP_WORDS = frozenset(
    {"sheep", "ewe", "ewes", "lamb", "lambs", "ram", "rams", "tup", "tups", "hogg", "hoggs"}
)
CATTLE_WORDS = frozenset(
    {
        "cattle", "cow", "cows", "calf", "calves", "heifer", "heifers", "bull", "bulls", "dairy",
        "beef", "suckler",
        "sucklers", "stirk", "stirks", "youngstock",
    }
)  # fmt: skip
_WORD = re.compile(r"[a-z]+")


def made_for(feed: Feed, name: str = "") -> str:
    """`sheep`, `cattle` or "" for a feed, by its key, its name and the farm's name for it."""
    if feed.kind not in MADE_UP_KINDS:
        return ""
    words = set(
        _WORD.findall(f"{feed.key} {feed.name} {name}".lower().replace("not for sheep", ""))
    )
    sheep, cattle = bool(words & SHEEP_WORDS), bool(words & CATTLE_WORDS)
    if sheep == cattle:
        return ""
    if sheep:
        return "sheep"
    return "cattle"
