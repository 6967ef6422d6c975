"""What a stated use does to a store: how fast a face moves, how many animals it takes, how long the
store lasts.

Silage heats and spoils where air has been too long, so a face has to move on. What is spoilt comes
off with the rest: a metre of advance feeds less than it holds.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, inf

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.farm.store import Face, Store, StoreStock
from rationlp.records import dataclass
from rationlp.rules.bales import DAYS_OPEN, MOIST_BELOW_G_PER_KG

COW_KG_FRESH = 35.0
"""Silage that a cow eats a day as her whole forage [kg fresh]; own choice (c)."""
BALES_BELOW, NARROW_BELOW = 20.0, 40.0
"""Cows below which bales, then a narrow clamp or bag, keep silage better; own arithmetic (c)."""
MOST_OF_LIVE_WEIGHT = 0.03
"""Most dry matter eaten a day of a store spread evenly [kg a kg live weight]; own choice (c)."""
MACHINE_M = 6.0
"""Width that one machine needs to work in a clamp [m]: German trade paper on ensiling (a)."""


@dataclass(frozen=True)
class Use:
    """What is taken from a store: head, each kg fresh a day. how: in words, where it comes from."""

    head: int
    kg_fresh: float
    how: str


@dataclass(frozen=True)
class StoreUse:
    """A store under a use. days: until what can be eaten is gone. taken_kg_dm_per_day: with what is
    spoilt.

    Of a face: advance [m a week], verdict (`ok`, `warn`, `fail`), smallest_herd at this amount a
    head, widest_face_m for this herd at this height. bale_days: how long one bale lasts. keep_as:
    what suits so much use. words:
    what a person would remark.
    """

    store: str
    use: Use
    days: float
    taken_kg_dm_per_day: float
    advance_m_per_week: float | None
    verdict: str
    smallest_herd: int | None
    widest_face_m: float | None
    bale_days: float | None
    keep_as: str
    words: tuple[str, ...]


def advance_m_per_week(kg_dm_per_day: float, kg_dm_per_m: float) -> float:
    """How far a face moves in a week [m]: 7 x kg DM a day / (face area x density)."""
    return 7.0 * kg_dm_per_day / kg_dm_per_m


def widest_face_m2(kg_dm_per_day: float, kg_dm_per_m3: float, m_per_week: float) -> float:
    """The largest face that so much use moves by so many metres a week [m2]."""
    return 7.0 * kg_dm_per_day / (kg_dm_per_m3 * m_per_week)


def smallest_herd(kg_dm_per_m: float, m_per_week: float, kg_dm_per_head: float) -> float:
    """The head that move a face by so many metres a week at so much a head a day; not rounded."""
    return kg_dm_per_m * m_per_week / 7.0 / kg_dm_per_head


def keep_as(kg_fresh_per_day: float) -> str:
    """What keeps silage for so much use a day: `bales`, `narrow clamp or bag`, or `clamp`."""
    cows = kg_fresh_per_day / COW_KG_FRESH
    if cows < BALES_BELOW:
        return "bales"
    if cows <= NARROW_BELOW:
        return "narrow clamp or bag"
    return "clamp"


def eaters(farm: Farm, store: Store) -> tuple[Group, ...]:
    """The groups that may get a store: it is not barred to them, and kept for nobody else."""
    return tuple(
        group
        for group in farm.groups
        if store.id not in group.barred and (not store.kept_for or group.id in store.kept_for)
    )


def most_eaten_kg_dm(groups: Sequence[Group]) -> float:
    """Most that groups eat a day [kg DM]: 3 % of live weight; infinite without a weight."""
    weights = [(float(group.facts.get("live_weight_kg", inf)), group.head) for group in groups]
    return sum(MOST_OF_LIVE_WEIGHT * kg * head for kg, head in weights)


def stated_uses(
    farm: Farm,
    stocks: Mapping[str, StoreStock],
    head: int | None = None,
    kg_fresh: float | None = None,
) -> tuple[StoreUse, ...]:
    """What the use that was asked for, as `stated_use` has it, does to each store in stock."""
    uses = []
    for store in farm.stores:
        stock = stocks.get(store.id)
        use = None
        if stock is not None:
            use = stated_use(farm, store, stock, head, kg_fresh)
        if stock is not None and use is not None:
            uses.append(store_use(farm, store, stock, use))
    return tuple(uses)


def stated_use(
    farm: Farm, store: Store, stock: StoreStock, head: int | None, kg_fresh: float | None
) -> Use | None:
    """The use that was asked for; where no amount was stated, all that can be eaten spread evenly
    from start to turnout.

    Spread evenly, no more is given than the groups could eat at all. head counts only with
    kg_fresh. None where no head were stated and no group may get the store.
    """
    feed = _feed(farm, store)
    groups = eaters(farm, store)
    eating = sum(group.head for group in groups)
    if head is not None and kg_fresh is not None:
        eating = head
    if eating <= 0:
        return None
    if kg_fresh is not None:
        return Use(eating, kg_fresh, "as stated")
    days = (farm.turnout - farm.start).days
    even = max(stock.edible_t_dm.typical - stock.reserve_t_dm, 0.0) * 1000.0 / days
    fed = min(even, most_eaten_kg_dm(groups))
    return Use(
        eating,
        fed / (feed.dm_g_per_kg / 1000.0) / eating,
        "evenly to turnout, at most 3 % of live weight a head",
    )


def store_use(farm: Farm, store: Store, stock: StoreStock, use: Use) -> StoreUse:
    """A store under a use, with the verdict on its face or its bales."""
    feed = _feed(farm, store)
    per_head = use.kg_fresh * feed.dm_g_per_kg / 1000.0
    fed = per_head * use.head
    share_kept = stock.edible_t_dm.typical / stock.t_dm.typical
    days = 0.0
    if fed > 0.0:
        days = (stock.edible_t_dm.typical - stock.reserve_t_dm) * 1000.0 / fed
    taken = fed / share_kept
    face = stock.face
    if face is None:
        bale_days = _bale_days(store, stock, feed, fed)
        sentences = _bale_words(bale_days, store.name)
        blank = (None, "", None, None)
        return StoreUse(store.id, use, days, taken, *blank, bale_days, "", sentences)
    advance = advance_m_per_week(taken, face.kg_dm_per_m)
    verdict = _verdict(advance, face)
    herd = None
    if fed > 0.0:
        enough = smallest_herd(face.kg_dm_per_m, face.warn_m_per_week, per_head / share_kept)
        herd = ceil(enough - 1e-9)
    widest = face.width_m * advance / face.warn_m_per_week
    suits = keep_as(use.kg_fresh * use.head)
    sentences = _face_words(store.name, face, (advance, widest), verdict, suits)
    return StoreUse(
        store.id, use, days, taken, advance, verdict, herd, widest, None, suits, sentences
    )


def _feed(farm: Farm, store: Store) -> Feed:
    return next(offer.feed for offer in farm.offers if offer.id == store.id)


def _verdict(advance: float, face: Face) -> str:
    if advance >= face.warn_m_per_week:
        return "ok"
    if advance >= face.fail_m_per_week:
        return "warn"
    return "fail"


def _face_words(
    name: str, face: Face, moved: tuple[float, float], verdict: str, suits: str
) -> tuple[str, ...]:
    if verdict == "ok":
        return ()
    advance, widest = moved
    sentences = [
        f"{name}: the face moves {advance:.2f} m a week; {face.warn_m_per_week:g} m is wanted in"
        f" winter, below {face.fail_m_per_week:g} m it is likely to heat and spoil. So much use"
        f" carries a face {widest:.1f} m wide at this height."
    ]
    if widest < MACHINE_M:
        sentences.append(
            f"{name}: a machine needs about {MACHINE_M:g} m to work in: a lower clamp, a bag or"
            " bales."
        )
    if suits != "clamp":
        sentences.append(f"{name}: so little use is better kept as {suits}.")
    return tuple(sentences)


def _bale_days(store: Store, stock: StoreStock, feed: Feed, kg_dm_per_day: float) -> float | None:
    """Days that one opened bale of moist forage lasts; None for dry forage and other stores."""
    if store.kind != "bales" or feed.dm_g_per_kg >= MOIST_BELOW_G_PER_KG or kg_dm_per_day <= 0.0:
        return None
    return stock.t_dm.typical * 1000.0 / float(store.size["count"]) / kg_dm_per_day


def _bale_words(days: float | None, name: str) -> tuple[str, ...]:
    if days is None or days <= DAYS_OPEN:
        return ()
    return (
        (
            f"{name}: an opened bale lasts {days:.1f} days; after {DAYS_OPEN:g} it heats. Smaller"
            " or drier ones keep."
        ),
    )
