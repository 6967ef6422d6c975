"""Why a store gave less (or more) than was thought: each single reason that could explain all of
it, and what to carry on.

The store as the farm measures it stands for last year's. A reason is a figure of its stock; what
that figure would have had to be is found by halving on the stock itself, so that depth, shape and
order of losses count as they do everywhere else.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from functools import partial
from math import inf, isfinite

from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed
from rationlp.farm.store import Spread, Store, StoreStock
from rationlp.halving import turn
from rationlp.quantities import quantities
from rationlp.read.stores import KINDS
from rationlp.records import dataclass
from rationlp.rules.spreads import DM, default_spreads, spread_of
from rationlp.stock.density import own_keys
from rationlp.stock.dry_matter import store_stock
from rationlp.stock.losses import settlement_share

TAPE = {"length_m": 0.03, "width_m": 0.03, "diameter_m": 0.05, "height_m": 0.08, "count": 0.02}
"""What a measured length, width or height, or a count, may be out by [share]; own choice (c)."""
LEAST_RATIO, MOST_RATIO = 0.2, 3.0
"""Had over thought beyond which one of the two is taken for a slip; own choice (c)."""
_WITH = {"width_m": ("top_width_m",), "length_m": ("top_length_m",)}
"""Sizes that go with another: a clamp measured too wide is so at its top too."""
_NAMES = {
    "length_m": "length",
    "width_m": "width",
    "height_m": "settled height",
    "diameter_m": "diameter of the bag",
    "count": "number of bales",
    "weight_kg": "weight of a bale",
    "amount_t_fresh": "tonnes as weighed or guessed",
    "yield_t_dm_per_ha": "yield standing in the field",
}
_LOSSES = {
    "surface": "lost at the surface",
    "face": "lost at the face",
    "trough": "wasted at the trough",
    "damaged bales": "damaged bales",
}
_UNITS = {
    "count": "bales",
    "weight_kg": "kg",
    "amount_t_fresh": "t fresh",
    "yield_t_dm_per_ha": "t DM/ha",
}
"""Units of sizes that are not lengths in metres."""
_CARRIED = ("density_kg_dm_per_m3", "weight_kg", "amount_t_fresh", "yield_t_dm_per_ha")


@dataclass(frozen=True)
class Reason:
    """One figure that alone could explain it. key: of farm.toml, empty where there is none. now: as
    the store has it.

    needed: what it would have had to be, None where no figure that can be does it. usual: as it
    stands, and what such a figure is out by as a rule either way, with its source and status.
    explains_t: tonnes fresh that the end of that range explains at most.
    """

    name: str
    key: str
    unit: str
    now: float
    needed: float | None
    usual: Spread
    explains_t: float
    believable: bool
    source: str
    status: str


@dataclass(frozen=True)
class Carry:
    """A key for this year's farm.toml, in place of others, and what then reaches animals."""

    key: str
    value: float
    in_place_of: tuple[str, ...]
    believable: bool
    t_fresh: float
    t_dm: Spread


@dataclass(frozen=True)
class LastYear:
    """Last year's store: tonnes fresh thought and had, reasons (believable first), what to carry
    on, this year's as it stands.

    now_t_fresh, now_t_dm: what reaches the animals as the farm file stands. words: what a person
    would remark.
    """

    store: str
    name: str
    thought_t: float
    had_t: float
    reasons: tuple[Reason, ...]
    carries: tuple[Carry, ...]
    now_t_fresh: float
    now_t_dm: Spread
    words: tuple[str, ...]

    @property
    def ratio(self) -> float:
        """Had over thought."""
        return self.had_t / self.thought_t


@dataclass(frozen=True)
class _Figure:
    """A figure of the stock, its possible and usual range, what comes out with another."""

    name: str
    key: str
    unit: str
    now: float
    can: tuple[float, float]
    usual: tuple[float, float]
    source: tuple[str, str]
    share: Callable[[float], float]


def tonnes_faults(thought: float | None, had: float | None) -> list[Finding]:
    """What is wrong with last year's weights [t fresh] (IN522): one missing, none, no pair."""
    stated = {"--thought": thought, "--had": had}
    missing = [option for option, value in stated.items() if value is None]
    if missing:
        partner = next(option for option in stated if option not in missing)
        return [Finding("IN522", missing[0], f"{partner} without it", "give both, in tonnes fresh")]
    odd = [
        Finding("IN522", option, f"{value:g} is no weight", "give tonnes fresh, above 0")
        for option, value in stated.items()
        if value is not None and (not isfinite(value) or value <= 0.0)
    ]
    if odd or thought is None or had is None:
        return odd
    if not LEAST_RATIO <= had / thought <= MOST_RATIO:
        remedy = "check both: tonnes fresh of the same store"
        return [Finding("IN522", "--had", f"{had:g} t where {thought:g} t were thought", remedy)]
    return []


def last_year(farm: Farm, store: Store, tonnes: tuple[float, float]) -> LastYear:
    """Why a store gave other tonnes than thought, and what to carry into this year. tonnes:
    thought, had [t fresh].

    Both are taken to be the same thing: what there was to feed, losses in store taken off.
    """
    thought, had = tonnes
    feed = next(offer.feed for offer in farm.offers if offer.id == store.id)
    whole = replace(
        store, size={key: value for key, value in store.size.items() if key != "fed_length_m"}
    )
    possible = [
        _reason(figure, thought, had / thought) for figure in _figures(whole, feed, farm.start)
    ]
    likeliest_first = sorted(possible, key=lambda reason: (not reason.believable, _far(reason)))
    reasons: tuple[Reason, ...] = ()
    if had != thought:
        reasons = tuple(likeliest_first)
    stock = store_stock(store, feed, farm.start)
    fresh, dry = _reaching(stock, feed)
    carries = tuple(
        carry
        for reason in reasons
        if (carry := _carry(reason, store, feed, farm.start)) is not None
    )
    sentences = tuple(_words(reasons, stock, tonnes, own_keys(store.size)))
    return LastYear(store.id, store.name, thought, had, reasons, carries, fresh, dry, sentences)


def _far(reason: Reason) -> float:
    """How far a figure would have had to be out, in half-widths of its usual range."""
    if reason.needed is None:
        return inf
    end = reason.usual.high
    if reason.needed < reason.now:
        end = reason.usual.low
    return abs(reason.needed - reason.now) / max(abs(end - reason.now), 1e-12)


def _reason(figure: _Figure, thought: float, ratio: float) -> Reason:
    needed = _root(figure, ratio)
    low, high = (min(max(end, figure.can[0]), figure.can[1]) for end in figure.usual)
    shares = (figure.share(low), figure.share(high))
    explains = max(shares) - 1.0
    if ratio <= 1.0:
        explains = 1.0 - min(shares)
    believable = needed is not None and low - 1e-9 <= needed <= high + 1e-9
    usual = Spread(low, figure.now, high)
    explains_t = thought * max(explains, 0.0)
    named = (figure.name, figure.key, figure.unit, figure.now)
    return Reason(*named, needed, usual, explains_t, believable, *figure.source)


def _root(figure: _Figure, ratio: float) -> float | None:
    """Where the figure would have to lie for that share, by halving; None if it cannot."""
    low, high = figure.can
    ends = figure.share(low), figure.share(high)
    if not min(ends) <= ratio <= max(ends):
        return None
    rising = ends[1] > ends[0]
    return turn(lambda value: (figure.share(value) < ratio) == rising, low, high, 0.0)


def _figures(store: Store, feed: Feed, start: date) -> Iterator[_Figure]:
    """Every figure of a store that could have been another."""
    stock = store_stock(store, feed, start)
    weighed = "amount_t_fresh" in store.size
    if stock.density_kg_dm_per_m3 is not None and not weighed and store.kind != "bales":
        yield _density(store, stock)
    yield from _sizes(store, feed, start, stock)
    if store.kind == "clamp" and feed.kind != "root" and not weighed:
        yield from _settling(stock, feed)
    yield from _losses(store, stock)
    spread = spread_of(default_spreads(), feed, DM)
    if spread > 0.0:
        yield _dry_matter(feed, spread)


def _density(store: Store, stock: StoreStock) -> _Figure:
    usual = stock.density_kg_dm_per_m3
    assert usual is not None
    key = "density_kg_dm_per_m3"
    step = next(step for step in stock.steps if step.name == "density")
    present = usual.typical
    return _Figure(
        "density", key, "kg DM/m3", present, _range(store, key), (usual.low, usual.high),
        (f"{step.source}; range: own choice", "c"),
        lambda x: x / present,
    )  # fmt: skip


def _range(store: Store, key: str) -> tuple[float, float]:
    return next((size.low, size.high) for size in KINDS[store.kind] if size.key == key)


def _sizes(store: Store, feed: Feed, start: date, stock: StoreStock) -> Iterator[_Figure]:
    """Sizes, counts and weights: what comes out is asked of the stock with that size changed."""
    for key, name in _NAMES.items():
        value = store.size.get(key)
        if not isinstance(value, float):
            continue
        if key in TAPE and key != "count" and "amount_t_fresh" in store.size:
            continue
        share = TAPE.get(key, 1.0 - stock.t_dm.low / stock.t_dm.typical)
        low, high = _range(store, key)
        can = (max(low, 0.6 * value), min(high, 1.6 * value))
        usual = (value * (1.0 - share), value * (1.0 + share))
        comes_out = partial(_sized, store, feed, start, key)
        unit = _UNITS.get(key, "m")
        yield _Figure(name, key, unit, value, can, usual, ("own choice", "c"), comes_out)


def _sized(store: Store, feed: Feed, start: date, key: str, value: float) -> float:
    """What is to eat with another size, over what is to eat as it stands [-]."""
    sizes = dict(store.size)
    for name in (key, *_WITH.get(key, ())):
        if name in sizes:
            sizes[name] = float(sizes[name]) * value / float(store.size[key])
    other = store_stock(replace(store, size=sizes), feed, start)
    return other.edible_t_dm.typical / store_stock(store, feed, start).edible_t_dm.typical


def _settling(stock: StoreStock, feed: Feed) -> Iterator[_Figure]:
    """Air that was still in a clamp measured too soon; none where that is taken off already."""
    if any(step.name == "still to settle" for step in stock.steps):
        return
    most = settlement_share(0.0, feed.dm_g_per_kg / 10.0)
    source = ("cattle pages of the French farming press", "a")
    name = "air in it still, measured too soon after filling"
    yield _Figure(name, "", "share", 0.0, (0.0, 0.5), (0.0, most), source, lambda x: 1.0 - x)


def _losses(store: Store, stock: StoreStock) -> Iterator[_Figure]:
    """Losses in store, while filling, and at the trough: what is kept goes with one less each."""
    out = default_spreads()["loss"]
    keys = {size.key for size in KINDS[store.kind]}
    for name, share in (*stock.losses.items(), ("trough", stock.trough_loss)):
        if share <= 0.0:
            continue
        key = f"loss_{name}"
        if key not in keys:
            key = ""
        title = _LOSSES.get(name, f"lost before it was in store ({name})")
        usual = (share * (1.0 - out.spread), share * (1.0 + out.spread))
        source = (out.source, out.status)
        yield _Figure(title, key, "share", share, (0.0, 0.95), usual, source, _kept(share))


def _kept(lost: float) -> Callable[[float], float]:
    return lambda x: (1.0 - x) / (1.0 - lost)


def _dry_matter(feed: Feed, spread: float) -> _Figure:
    """Dry matter, where tonnes were reckoned back from it: wetter silage goes faster."""
    present, quantity = feed.dm_g_per_kg, quantities()[DM]
    can = (quantity.hard_low or 1.0, quantity.hard_high or 1000.0)
    row = default_spreads()["dm_silage_table"]
    name = "dry matter, if tonnes were reckoned from rations by dry matter"
    usual, source = (present - spread, present + spread), (row.source, row.status)
    return _Figure(name, "", "g/kg", present, can, usual, source, lambda x: x / present)


def _reaching(stock: StoreStock, feed: Feed) -> tuple[float, Spread]:
    """What reaches the animals: to eat, less waste at the trough [t fresh, t DM]."""
    eaten = 1.0 - stock.trough_loss
    edible = stock.edible_t_dm
    dry = Spread(edible.low * eaten, edible.typical * eaten, edible.high * eaten)
    return dry.typical * 1000.0 / feed.dm_g_per_kg, dry


def _carry(reason: Reason, store: Store, feed: Feed, start: date) -> Carry | None:
    """The key of a reason that may act again this year; None where there is none for it."""
    if reason.needed is None or not (reason.key in _CARRIED or reason.key.startswith("loss_")):
        return None
    low, high = _range(store, reason.key)
    value = round(reason.needed, _decimals(reason.unit, reason.needed))
    if not low <= value <= high:
        return None
    gone: set[str] = set()
    if reason.key == "density_kg_dm_per_m3":
        gone |= set(own_keys(store.size))
    if "step_m_per_week" in gone:
        gone.add("fed_t_fresh_per_week")
    sizes = {key: size for key, size in store.size.items() if key not in gone}
    stock = store_stock(replace(store, size={**sizes, reason.key: value}), feed, start)
    gone.discard(reason.key)
    return Carry(reason.key, value, tuple(sorted(gone)), reason.believable, *_reaching(stock, feed))


def _decimals(unit: str, value: float) -> int:
    if unit == "share":
        return 3
    return int(value < 100.0)


def _words(
    reasons: tuple[Reason, ...], stock: StoreStock, tonnes: tuple[float, float], own_keys: list[str]
) -> Iterator[str]:
    thought, had = tonnes
    share_kept = stock.edible_t_dm.typical / stock.t_dm.typical
    if had < thought and share_kept < 1.0:
        expected = thought * share_kept
        advice = "and that is all of it"
        if expected > had:
            advice = f"ask again with --thought {expected:.0f}"
        yield (
            "Thought and had are taken to be the same thing: what there was to feed. If"
            f" {thought:g} t was what lay there, losses not yet taken off, the usual ones"
            f" ({100.0 * (1.0 - share_kept):.1f} %) leave {expected:.0f} t: {advice}."
        )
    if reasons and not any(reason.believable for reason in reasons):
        yield _together(reasons, thought, had)
    if own_keys and reasons:
        yield (
            f"This store's density is the farm's own ({own_keys[0]}). If that was found in this"
            " year's silage it knows more than last year's difference: keep it."
        )
    if any(reason.key == "density_kg_dm_per_m3" for reason in reasons):
        yield (
            "Which reason it was, a mark on the wall tells: how far the face goes back in a week"
            " and what was fed in it (step_m_per_week, fed_t_fresh_per_week) give the density of"
            " this year's own silage."
        )


def _together(reasons: tuple[Reason, ...], thought: float, had: float) -> str:
    """Which usual errors together would be enough, the largest first."""
    missing, named = abs(thought - had), []
    for reason in sorted(reasons, key=lambda reason: -reason.explains_t):
        if missing <= 0.0 or reason.explains_t <= 0.0:
            break
        missing -= reason.explains_t
        named.append(f"{reason.name} ({reason.explains_t:.0f} t)")
    sentence = (
        f"No single reason is within its usual range. At the ends of theirs, {', '.join(named)}"
    )
    if missing <= 0.0:
        return f"{sentence} come to it together."
    return f"{sentence} leave {missing:.0f} t: check the weights themselves."
