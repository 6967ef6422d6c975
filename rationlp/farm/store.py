"""A store as it was measured, what it comes to, and what leaves it besides feed."""

from __future__ import annotations

from rationlp.records import dataclass


@dataclass(frozen=True)
class Store:
    """A store as the farm describes it: sizes are read and checked here and used by the stock
    calculation.

    kind: clamp, bag, bales, stack or plain. size: figures by key of the farm file (`length_m`,
    `count`, …). seen: what somebody saw in it or knows of it (`mould`, `ragwort`, `litter_field`,
    `soil`, `heated`). core_temperature_c: highest temperature measured inside [°C].
    machine_reach_m: how high the machine at the face reaches [m]. kept_for: ids of the only groups
    that may get it; empty for all. reserve_t_fresh: what must be left at turnout.
    """

    id: str
    name: str
    kind: str
    feed_key: str
    size: dict[str, float | str]
    cost_per_t_fresh: float | None
    would_fetch_per_t_fresh: float | None
    seen: tuple[str, ...] = ()
    core_temperature_c: float | None = None
    machine_reach_m: float | None = None
    kept_for: tuple[str, ...] = ()
    reserve_t_fresh: float = 0.0


@dataclass(frozen=True)
class Spread:
    """A figure as low, typical and high, for what a measurement may hide."""

    low: float
    typical: float
    high: float


@dataclass(frozen=True)
class StockStep:
    """One step from what was measured to dry matter that can be eaten, with its source."""

    name: str
    value: float
    unit: str
    equation: str
    source: str
    status: str


@dataclass(frozen=True)
class Face:
    """The open face of a clamp or bag [m, m2]. kg_dm_per_m: dry matter behind a metre of advance.

    warn_m_per_week, fail_m_per_week: least advance in winter by crop; length_m: length still to be
    eaten.
    """

    width_m: float
    height_m: float
    area_m2: float
    kg_dm_per_m: float
    warn_m_per_week: float
    fail_m_per_week: float
    length_m: float


@dataclass(frozen=True)
class StoreStock:
    """What a store holds and how much of it can be eaten.

    t_fresh, t_dm: in the store on the day it was measured. losses: share of DM by name (surface,
    face, damaged bales), none counted twice. edible_t_dm: after these, before waste at the trough.
    trough_loss: share of what is put out that is not eaten, charged to the group. reserve_t_dm:
    kept at turnout. measured: the day as ISO text, or "".
    """

    store: str
    volume_m3: float | None
    density_kg_dm_per_m3: Spread | None
    t_fresh: Spread
    t_dm: Spread
    losses: dict[str, float]
    edible_t_dm: Spread
    trough_loss: float
    reserve_t_dm: float
    face: Face | None
    steps: tuple[StockStep, ...]
    measured: str = ""


@dataclass(frozen=True)
class Outlet:
    """Somewhere that buys forage: price a tonne fresh or DM [currency]; most, least t fresh."""

    id: str
    name: str
    stores: tuple[str, ...]
    price_per_t_fresh: float | None = None
    price_per_t_dm: float | None = None
    least_t_fresh: float | None = None
    most_t_fresh: float | None = None
