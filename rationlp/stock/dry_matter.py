"""Stores to dry matter that can be eaten: volume, density, tonnes, losses, every step with its
equation and source.

Low, typical and high follow from what the measurement may hide (density, a guessed weight); losses
are the same for all three. What is handed on stands before waste at the trough, which is charged to
the group that is fed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

from rationlp.csvfile import read_rows
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed
from rationlp.farm.store import Face, Spread, StockStep, Store, StoreStock
from rationlp.folders import feeds_folder
from rationlp.stock.density import Density, around, bale_density, crop_of, density
from rationlp.stock.losses import Loss, effluent_loss, settlement_share, usual_losses
from rationlp.stock.shapes import Solid, bag_solid, bale_m3, box_solid, clamp_solid, number

WEIGHED_SPREAD, GUESSED_SPREAD, YIELD_SPREAD = 0.02, 0.12, 0.15
"""What a weight, a guess and a yield may be out by; own choice (c)."""
COUNTED_SPREAD = 0.05
"""What a count of bales of a known weight may be out by; own choice (c)."""


@dataclass
class _Draft:
    """A stock on its way: dry matter as measured, losses still to come, the steps so far."""

    store: Store
    feed: Feed
    of: str
    steps: list[StockStep] = field(default_factory=list)
    solid: Solid | None = None
    density: Spread | None = None
    dry: Spread = field(default_factory=lambda: Spread(0.0, 0.0, 0.0))
    before: list[Loss] = field(default_factory=list)

    @property
    def dm_share(self) -> float:
        """Dry matter over fresh."""
        return self.feed.dm_g_per_kg / 1000.0

    def say(self, name: str, value: float, unit: str, how: tuple[str, str, str]) -> float:
        """Remember a step: how is its equation, source and status. Gives the value back."""
        self.steps.append(StockStep(name, value, unit, *how))
        return value


def farm_stocks(farm: Farm) -> dict[str, StoreStock]:
    """What every store of a farm holds, by store id, in the farm's order."""
    feeds = {offer.id: offer.feed for offer in farm.offers}
    return {store.id: store_stock(store, feeds[store.id], farm.start) for store in farm.stores}


def store_stock(store: Store, feed: Feed, start: date) -> StoreStock:
    """What a store holds and how much of it can be eaten [t fresh, t DM, m3, kg DM/m3].

    start: first day of the winter, the day of measuring where the farm names none. Raises
    ValueError for a crop without a density whose density the farm does not give; reading a farm
    refuses that beforehand.
    """
    draft = _Draft(store, feed, _place_of(store, feed))
    _READ[store.kind](draft, _measured(store, start))
    losses = [*draft.before, *_store_losses(draft)]
    kept = 1.0
    for loss in losses:
        kept *= 1.0 - loss.share
        draft.say(f"lost: {loss.name}", loss.share, "share of DM", ("", loss.source, loss.status))
    trough = _own_or_usual(draft, "trough")
    edible = _times(draft.dry, kept)
    draft.say("edible", edible.typical, "t DM", ("t DM x (1 - each loss)", "arithmetic", ""))
    share, volume = 0.0, None
    if draft.solid is not None:
        volume = draft.solid.volume_m3
    if trough is not None:
        share = trough.share
        draft.say(
            "lost at the trough",
            share,
            "share of what is put out",
            ("charged to the group", *_end(trough)),
        )
    return StoreStock(
        store=store.id,
        volume_m3=volume,
        density_kg_dm_per_m3=draft.density,
        t_fresh=_times(draft.dry, 1.0 / draft.dm_share),
        t_dm=draft.dry,
        losses={loss.name: loss.share for loss in losses},
        edible_t_dm=edible,
        trough_loss=share,
        reserve_t_dm=store.reserve_t_fresh * draft.dm_share,
        face=_face(draft),
        steps=tuple(draft.steps),
        measured=str(store.size.get("measured", "")),
    )


def _place_of(store: Store, feed: Feed) -> str:
    """What the usual losses call this store."""
    if store.kind == "clamp" and feed.kind == "root":
        return "roots"
    if store.size.get("shape") == "heap":
        return "heap"
    return store.kind


def _measured(store: Store, start: date) -> float | None:
    """Days from filling to measuring, or None where filling is not known or later."""
    filled = store.size.get("filled")
    if filled is None:
        return None
    measured = store.size.get("measured", start)
    days = (date.fromisoformat(str(measured)) - date.fromisoformat(str(filled))).days
    if days < 0:
        return None
    return float(days)


def _clamp(draft: _Draft, days: float | None) -> None:
    solid = clamp_solid(draft.store.size)
    draft.say("volume", solid.volume_m3, "m3", (solid.equation, "geometry", ""))
    if days is not None and draft.of != "roots" and "amount_t_fresh" not in draft.store.size:
        solid = _settled(draft, solid, days)
    _fill(draft, solid)


def _settled(draft: _Draft, solid: Solid, days: float) -> Solid:
    """The body as it will be once settled: lower by the air that is still in it."""
    share = settlement_share(days, draft.feed.dm_g_per_kg / 10.0)
    if share <= 0.0:
        return solid
    how = (
        f"{days:.0f} days after filling",
        "cattle pages of the French farming press; to 42 days own choice",
        "a",
    )
    draft.say("still to settle", share, "share of volume", how)
    volume = draft.say(
        "volume, settled",
        solid.volume_m3 * (1.0 - share),
        "m3",
        ("volume x (1 - share)", "arithmetic", ""),
    )
    lower = {
        "volume_m3": volume,
        "area_m2": solid.area_m2 * (1.0 - share),
        "height_m": solid.height_m * (1.0 - share),
    }
    return Solid(**{**vars(solid), **lower})


def _bag(draft: _Draft, _days: float | None) -> None:
    size = draft.store.size
    solid = bag_solid(
        number(size, "length_m"), number(size, "diameter_m"), size.get("packed") == "slack"
    )
    how = (solid.equation, "University of Wisconsin, tons of silage in silo bags", "a")
    draft.say("volume", solid.volume_m3, "m3", how)
    _fill(draft, solid)


def _stack(draft: _Draft, _days: float | None) -> None:
    size = draft.store.size
    solid = box_solid(*(number(size, key) for key in ("length_m", "width_m", "height_m")))
    draft.say("volume", solid.volume_m3, "m3", (solid.equation, "geometry", ""))
    _fill(draft, solid)


def _fill(draft: _Draft, solid: Solid) -> None:
    """Tonnes in a body, by its density, or as weighed in at filling."""
    draft.solid = solid
    size = draft.store.size
    if "amount_t_fresh" in size:
        _weighed_in(draft, solid)
        return
    spread = _take_density(draft, density(draft.feed, size, solid, draft.store.kind), "density")
    draft.dry = _times(spread, solid.volume_m3 / 1000.0)
    draft.say(
        "dry matter in store",
        draft.dry.typical,
        "t DM",
        ("volume x density / 1000", "arithmetic", ""),
    )


def _take_density(draft: _Draft, found: Density | None, name: str) -> Spread:
    if found is None:
        raise ValueError(f'store "{draft.store.id}": no density known for {crop_of(draft.feed)}')
    draft.density = found.spread
    draft.say(name, found.spread.typical, "kg DM/m3", (found.equation, found.source, found.status))
    return found.spread


def _weighed_in(draft: _Draft, solid: Solid) -> None:
    """A clamp or bag whose trailers were weighed: what is left is by volume, density by weight."""
    left = solid.volume_m3 / solid.whole_m3
    fresh = number(draft.store.size, "amount_t_fresh") * left
    draft.say(
        "weighed in, still there",
        fresh,
        "t fresh",
        ("tonnes x volume left / whole volume", "weighed", ""),
    )
    draft.dry = around(fresh * draft.dm_share, WEIGHED_SPREAD)
    draft.before = _filling_losses(draft)
    kept = 1.0
    for loss in draft.before:
        kept *= 1.0 - loss.share
    draft.density = _times(draft.dry, kept * 1000.0 / solid.volume_m3)
    how = ("t DM after fermentation and effluent / volume", "arithmetic", "")
    draft.say("density", draft.density.typical, "kg DM/m3", how)


def _filling_losses(draft: _Draft) -> list[Loss]:
    """What is lost after the trailers were weighed and before a clamp could be measured."""
    found = [usual_losses()["filling", "fermentation"], effluent_loss(draft.feed.dm_g_per_kg)]
    return [loss for loss in found if loss.share > 0.0]


def _bales(draft: _Draft, _days: float | None) -> None:
    size = draft.store.size
    count = draft.say("bales", number(size, "count"), "bales", ("", "counted", ""))
    if "weight_kg" in size:
        fresh = draft.say(
            "weight of a bale", number(size, "weight_kg"), "kg fresh", ("", "weighed", "")
        )
        draft.dry = around(count * fresh / 1000.0 * draft.dm_share, COUNTED_SPREAD)
    else:
        volume = draft.say(
            "volume of a bale", bale_m3(size), "m3", ("by its sizes", "geometry", "")
        )
        spread = _take_density(draft, bale_density(draft.feed), "density of a bale")
        draft.dry = _times(spread, count * volume / 1000.0)
    draft.say(
        "dry matter in store",
        draft.dry.typical,
        "t DM",
        ("bales x DM of a bale / 1000", "arithmetic", ""),
    )


def _plain(draft: _Draft, _days: float | None) -> None:
    size = draft.store.size
    weighed = size.get("weighed", "guess")
    if "area_ha" in size:
        grown = number(size, "area_ha") * number(size, "yield_t_dm_per_ha")
        draft.say("standing", grown, "t DM", ("ha x t DM a ha", "the farm's own figures", ""))
        draft.dry = around(grown, YIELD_SPREAD)
        draft.before = [usual_losses()["field", "field"], *_filling_losses(draft), *_clamp_losses()]
        return
    fresh = draft.say(
        "tonnes fresh", number(size, "amount_t_fresh"), "t fresh", ("", f"weighed: {weighed}", "")
    )
    spread = WEIGHED_SPREAD
    if weighed == "guess":
        spread = GUESSED_SPREAD
    draft.dry = around(fresh * draft.dm_share, spread)
    if weighed == "trailers":
        draft.before = [*_filling_losses(draft), *_clamp_losses()]
    draft.say("dry matter", draft.dry.typical, "t DM", ("t fresh x DM", "arithmetic", ""))


_READ = {"clamp": _clamp, "bag": _bag, "stack": _stack, "bales": _bales, "plain": _plain}


def _clamp_losses() -> list[Loss]:
    return [usual_losses()["clamp", name] for name in ("surface", "face")]


def _store_losses(draft: _Draft) -> list[Loss]:
    """Losses from the day of measuring to the trough: surface and face, or damaged bales."""
    found = [_own_or_usual(draft, name) for name in ("surface", "face")]
    damaged = number(draft.store.size, "damaged_share")
    if damaged > 0.0:
        usual = usual_losses()["bales", "damaged"]
        found.append(Loss("damaged bales", damaged * usual.share, usual.source, usual.status))
    return [loss for loss in found if loss is not None and loss.share > 0.0]


def _own_or_usual(draft: _Draft, name: str) -> Loss | None:
    """A loss by name: the farm's own, else the usual of such a store; None where it has none."""
    key = f"loss_{name}"
    if key in draft.store.size:
        return Loss(name, number(draft.store.size, key), "the farm's own figure", "")
    return usual_losses().get((draft.of, name))


def _end(loss: Loss) -> tuple[str, str]:
    return loss.source, loss.status


def _face(draft: _Draft) -> Face | None:
    """The open face of a clamp or bag of silage; None for other crops, and for stacks."""
    if draft.store.kind not in ("clamp", "bag") or draft.solid is None or draft.density is None:
        return None
    lowest = face_advance(draft.feed)
    if lowest is None:
        return None
    solid = draft.solid
    per_metre = draft.density.typical * solid.area_m2
    return Face(solid.width_m, solid.height_m, solid.area_m2, per_metre, *lowest, solid.length_m)


def face_advance(feed: Feed) -> tuple[float, float] | None:
    """Least advance of a clamp face in winter [m a week]: below the first a warning, below the
    second it fails.

    None for roots, which keep at an open face. Source: feeds/face-advance.csv, own choice between
    published minima (c).
    """
    if feed.kind == "root":
        return None
    rows = _advances()
    return rows.get(crop_of(feed), rows["grass_silage"])


@lru_cache(maxsize=1)
def _advances() -> Mapping[str, tuple[float, float]]:
    return {
        row.cells["crop"]: (
            float(row.cells["warn_m_per_week"]),
            float(row.cells["fail_m_per_week"]),
        )
        for row in read_rows(feeds_folder() / "face-advance.csv").rows
    }


def _times(spread: Spread, factor: float) -> Spread:
    return Spread(spread.low * factor, spread.typical * factor, spread.high * factor)
