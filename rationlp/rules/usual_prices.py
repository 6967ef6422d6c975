"""What bought feeds usually cost beside one another, and prices far from it: most often a slip of
the decimal point or unit.

Shares of the price of barley, both a tonne of dry matter, from feeds/usual-prices.csv (common
practice, no source). They are only held against the farm's own middle, so that another currency or
a dear year calls for no word.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from statistics import median

from rationlp.errors import Finding
from rationlp.farm.feed import Feed, Offer
from rationlp.folders import packaged_rows

FAR = 4.0
"""So many times the usual price, or one over it, is told of; common practice (c)."""
LEAST_FEEDS = 3
"""With fewer priced feeds than this nobody can say which of them is out."""


@lru_cache(maxsize=1)
def _usual() -> dict[tuple[str, str], float]:
    return {
        (row["of"], row["what"]): float(row["beside_barley"])
        for row in packaged_rows("usual-prices.csv")
    }


def usual_share(feed: Feed) -> float | None:
    """What a tonne of DM of a feed usually costs beside barley; None where its kind has none."""
    return _usual().get(("feed", feed.key)) or _usual().get(("kind", feed.kind))


def price_notices(offers: Iterable[Offer]) -> list[Finding]:
    """A notice (WA220) for each bought feed whose price is out of proportion to the others'."""
    priced: list[tuple[Offer, float]] = []
    for offer in offers:
        share = usual_share(offer.feed)
        if offer.bought and offer.price_per_t_fresh > 0.0 and share is not None:
            per_t_dm = offer.price_per_t_fresh * 1000.0 / offer.feed.dm_g_per_kg
            priced.append((offer, per_t_dm / share))
    if len(priced) < LEAST_FEEDS:
        return []
    middle = median(times for _, times in priced)
    return [
        _notice(offer, price / middle)
        for offer, price in priced
        if not 1.0 / FAR <= price / middle <= FAR
    ]


def _notice(offer: Offer, times: float) -> Finding:
    usual = offer.price_per_t_fresh / times
    much = f"{times:.0f} times"
    if times <= 1.0:
        much = f"a {1.0 / times:.0f}th of"
    problem = (
        f"{offer.price_per_t_fresh:g} a tonne fresh, {much} the {usual:.0f} that it would be beside"
        " the other feeds bought"
    )
    remedy = "check unit (a tonne fresh), decimal point and feed; nothing is forbidden by this"
    return Finding("WA220", f'bought feed "{offer.id}"', problem, remedy)
