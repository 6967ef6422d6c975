"""What a plan that a yard can feed keeps to: least amounts by head and by load, least orders, few
bought feeds.

All are common practice, no source (c): feeds/practice.csv and feeds/loading.csv; the farm's
`[yard]` table changes them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rationlp.farm.feed import Offer
from rationlp.farm.group import Feeding
from rationlp.model.rows.practice import own_limit
from rationlp.model.tidy import NOT_COUNTED, Fault, faults, least_useful_kg_dm
from rationlp.read.loading import loading_figure
from rationlp.read.yard_rules import least_load_kg, least_order_t
from rationlp.wintering.links import KG_PER_T, Yard, tonnes, uses
from rationlp.wintering.parts import Run

TRACE_KG = 1e-6
TRACE_T = 1e-6
HAIR = 1e-6


def has_rules(run: Run) -> bool:
    """Whether practice has figures for the animals of a run."""
    return run.block.needs.limits_key is not None and run.block.needs.energy is not None


def run_faults(yard: Yard, run: Run, kg: Mapping[str, float]) -> Iterator[Fault]:
    """What a person who mixes the ration of a run would not accept, by head first, then by load.
    kg: DM a head by offer id.
    """
    named = set()
    for fault in faults(run.block, kg):
        named.add(fault.offer.id)
        yield fault
    for offer in run.block.offers:
        least = least_of_load(yard, run, offer)
        if (
            offer.id not in named
            and least is not None
            and TRACE_KG < kg[offer.id] < least * (1.0 - HAIR)
        ):
            yield Fault(offer, least, "too little for one load of the wagon")


def least_amount(yard: Yard, run: Run, offer: Offer, dm_kg: float) -> float | None:
    """The least of a feed worth feeding to a run, by head and by load [kg DM a head a day]; None
    where there is none.
    """
    own = own_limit(run.block, offer)
    if own is not None and (own.min_kg_fresh or own.min_share_of_dm):
        return None
    by_head = least_useful_kg_dm(run.block, offer, dm_kg)
    by_load = least_of_load(yard, run, offer)
    least = max(by_head or 0.0, by_load or 0.0)
    return None if not least or _above_own_most(run, offer, least) else least


def least_of_load(yard: Yard, run: Run, offer: Offer) -> float | None:
    """The least of a straight that one load of a wagon takes, as kg DM a head a day of the group;
    None without a wagon.
    """
    group = run.block.group
    feeding: Feeding = group.feeding or yard.farm.feeding
    if feeding.wagon == "none" or offer.feed.kind in NOT_COUNTED or offer.id == group.parlour_feed:
        return None
    if offer.feed.dm_g_per_kg < loading_figure("long_dry") or not offer.feed.is_concentrate:
        return None
    own = own_limit(run.block, offer)
    if own is not None and (own.min_kg_fresh or own.min_share_of_dm):
        return None
    head = _at_the_trough(yard, run)
    loads = feeding.loads_per_day or 1
    least = least_load_kg(yard.farm.yard_rules) * loads / head * offer.feed.dm_g_per_kg / KG_PER_T
    return None if _above_own_most(run, offer, least) else least


def _above_own_most(run: Run, offer: Offer, least_kg_dm: float) -> bool:
    own = own_limit(run.block, offer)
    if own is None or own.max_kg_fresh is None:
        return False
    return own.max_kg_fresh * offer.feed.dm_g_per_kg < KG_PER_T * least_kg_dm


def _at_the_trough(yard: Yard, run: Run) -> float:
    """Animals for which one load is made: all parts of the group, and the groups that share its
    mix.
    """
    group = run.block.group
    name = group.origin or group.id
    names = {name}
    for mix in yard.farm.mixes:
        if name in mix.portions:
            names |= set(mix.portions)
    number = run.periods[0]
    together = [
        run.head[run.periods.index(number)]
        for run in yard.runs
        if number in run.periods and (run.block.group.origin or run.block.group.id) in names
    ]
    return float(max(sum(together), 1))


def ordered_t(yard: Yard, offer: Offer, kg: Mapping[tuple[int, str], float]) -> float:
    """What is bought of a feed over the winter [t fresh]. kg: DM a head a day by run number and
    offer id.
    """
    number = {id(run): i for i, run in enumerate(yard.runs)}
    return sum(
        tonnes(run, one) * KG_PER_T / one.feed.dm_g_per_kg * kg[(number[id(run)], offer.id)]
        for run, one in uses(yard, offer.id)
    )


def small_orders(
    yard: Yard, kg: Mapping[tuple[int, str], float]
) -> list[tuple[Offer, float, float]]:
    """(feed, tonnes fresh, least order) of what is bought below its least order, the smallest cost
    first.
    """
    found = []
    for offer in yard.farm.offers:
        least = least_order_t(yard.farm.yard_rules, offer)
        t = ordered_t(yard, offer, kg) if offer.bought and least else 0.0
        if TRACE_T < t < least * (1.0 - HAIR):
            found.append((offer, t, least))
    return sorted(found, key=lambda one: (one[1] * one[0].price_per_t_fresh, one[0].id))


def counted_feeds(yard: Yard, kg: Mapping[tuple[int, str], float]) -> list[tuple[Offer, float]]:
    """Bought feeds that count towards the most of them, with their tonnes fresh, the least cost
    first.
    """
    found = []
    for offer in yard.farm.offers:
        if offer.bought and counts(offer):
            t = ordered_t(yard, offer, kg)
            if t > TRACE_T:
                found.append((offer, t))
    return sorted(found, key=lambda one: (one[1] * one[0].price_per_t_fresh, one[0].id))


def counts(offer: Offer) -> bool:
    """Whether a bought feed takes a bin or bay: minerals come in bags and do not."""
    return offer.feed.kind not in ("mineral", "npn", "fat")
