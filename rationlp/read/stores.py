"""Stores as farm.toml describes them: the sizes that each kind needs, checked."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from math import isfinite

from rationlp.errors import Faults, nearest
from rationlp.farm.animals import Fact
from rationlp.farm.store import Store
from rationlp.farm.values import as_number, shown
from rationlp.read.facts import chosen
from rationlp.read.fields import FIRST_DAY, LAST_DAY
from rationlp.read.schema import StoreTable
from rationlp.records import copied
from rationlp.stock.checks import check_sizes

_DENSITY = (
    Fact("density_kg_dm_per_m3", "density in kg DM/m3", False, 40.0, 500.0),
    Fact("core_kg_dm_per_m3", "density of a weighed core in kg DM/m3", False, 40.0, 500.0),
)
_MARKS = (
    Fact("step_m_per_week", "step of the face in a week in m", False, 0.02, 20.0),
    Fact("fed_t_fresh_per_week", "tonnes fresh fed in that week", False, 0.05, 2000.0),
)
_FILLED = (Fact("filled", "date of filling"), Fact("measured", "date of measuring"))
_SURFACE = Fact("loss_surface", "share lost at the surface", False, 0.0, 0.6)
_FACE = Fact("loss_face", "share lost at the face", False, 0.0, 0.6)
_TROUGH = Fact("loss_trough", "share of what is put out that is not eaten", False, 0.0, 0.6)
_TONNES = Fact("amount_t_fresh", "tonnes fresh", False, 0.01, 100_000.0)
KINDS: dict[str, tuple[Fact, ...]] = {
    "clamp": (
        Fact("length_m", "length in m", True, 1.0, 300.0),
        Fact("width_m", "width in m", True, 1.0, 100.0),
        Fact("height_m", "settled height in m", True, 0.3, 12.0),
        Fact("shape", "shape of a clamp", choices=("level", "wedge", "heap")),
        Fact("wall_height_m", "height of the wall in m", False, 0.0, 8.0),
        Fact("top_width_m", "width at the top in m", False, 0.0, 120.0),
        Fact("top_length_m", "length at the top in m", False, 0.0, 300.0),
        Fact("ramp_angle_degrees", "angle of the ramp in degrees", False, 10.0, 90.0),
        Fact(
            "back_ramp_angle_degrees", "angle of the ramp at the back in degrees", False, 10.0, 90.0
        ),
        Fact("crown_m", "height of the cap above height_m in m", False, 0.05, 4.0),
        Fact("crown_flat_m", "flat width on top of the cap in m", False, 0.0, 100.0),
        Fact("shoulder_m", "height of the shoulders cut back in m", False, 0.05, 6.0),
        Fact("base_height_m", "height at which this cut begins in m", False, 0.0, 10.0),
        Fact("fed_length_m", "length already fed in m", False, 0.0, 300.0),
        Fact("face_width_m", "width of the open face in m", False, 1.0, 100.0),
        Fact("rolled", "way of rolling", choices=("well", "poorly")),
        _TONNES,
        *_DENSITY,
        *_MARKS,
        *_FILLED,
        _SURFACE,
        _FACE,
        _TROUGH,
    ),
    "bag": (
        Fact("length_m", "length of the bag in m", True, 2.0, 150.0),
        Fact("diameter_m", "diameter in m", True, 0.8, 4.5),
        Fact("packed", "way of packing a bag", choices=("tight", "slack")),
        _TONNES,
        *_DENSITY,
        *_MARKS,
        *_FILLED,
        _SURFACE,
        _FACE,
        _TROUGH,
    ),
    "bales": (
        Fact("count", "number of bales", True, 1.0, 100_000.0),
        Fact("weight_kg", "fresh weight of a bale in kg", False, 8.0, 1200.0),
        Fact("shape", "shape of the bales", choices=("round", "square", "small")),
        Fact("bale_diameter_m", "diameter of a round bale in m", False, 0.5, 2.2),
        Fact("bale_length_m", "length of a bale in m", False, 0.5, 3.0),
        Fact("bale_width_m", "width of a bale in m", False, 0.2, 2.0),
        Fact("bale_height_m", "height of a bale in m", False, 0.2, 1.6),
        Fact("damaged_share", "share of the bales with damaged wrap", False, 0.0, 1.0),
        *_FILLED,
        _TROUGH,
    ),
    "stack": (
        Fact("length_m", "length in m", True, 0.5, 100.0),
        Fact("width_m", "width in m", True, 0.5, 50.0),
        Fact("height_m", "height in m", True, 0.5, 15.0),
        Fact("packed", "way of packing a stack", choices=("compact", "medium", "loose")),
        *_DENSITY,
        *_FILLED,
        _SURFACE,
        _TROUGH,
    ),
    "plain": (
        _TONNES,
        Fact("weighed", "way of weighing", choices=("trailers", "store", "guess")),
        Fact("area_ha", "area cut in ha", False, 0.05, 10_000.0),
        Fact("yield_t_dm_per_ha", "standing crop in t DM a ha", False, 0.3, 30.0),
        *_FILLED,
        _TROUGH,
    ),
}


def read_sizes(table: StoreTable, faults: Faults) -> dict[str, float | str]:
    """The sizes of a store by key (dates as ISO text); what is wrong goes into the faults."""
    of_sizes = faults.at()
    known = {size.key: size for size in KINDS[table.kind]}
    stated: Mapping[str, object] = table.model_extra or {}
    sizes: dict[str, float | str] = {}
    keys = [*known, *StoreTable.model_fields]
    # A misspelt key is one fault, not also a missing one.
    present = {*stated, *(nearest(key, keys) for key in stated if key not in known)}
    needed = [size for size in known.values() if size.required and size.key not in present]
    if needed:
        missing = ", ".join(f"{size.key} ({size.words})" for size in needed)
        remedy = 'give its sizes, or use kind = "plain" with amount_t_fresh'
        faults.add("IN121", f"a store of kind {table.kind} without {missing}", remedy)
    for key, value in stated.items():
        if key not in known:
            problem = f"unknown key for a store of kind {table.kind}"
            faults.at(key).unknown(
                "IN110", problem, key, keys, f"keys of this kind: {', '.join(keys)}"
            )
            continue
        size = _size(known[key], value, faults.at(key))
        if size is not None:
            sizes[key] = size
    if of_sizes.clean:
        check_sizes(table.kind, sizes, faults)
    _check_signs(table, faults)
    filled, measured = sizes.get("filled"), sizes.get("measured")
    if filled is not None and measured is not None and str(measured) < str(filled):
        problem = f"measured {measured} before it was filled {filled}"
        faults.add("IN130", problem, "check both dates and their years")
    return sizes


def _size(size: Fact, value: object, faults: Faults) -> float | str | None:
    """A size's value, a date as ISO text; None where it has a fault."""
    if size.choices:
        return chosen(size, value, faults)
    if size.high == 0:
        if isinstance(value, date) and not isinstance(value, datetime):
            if FIRST_DAY <= value <= LAST_DAY:
                return value.isoformat()
            remedy = f"give a date of the years {FIRST_DAY:%Y} to {LAST_DAY:%Y}"
            faults.add("IN113", f"{shown(value)} is no {size.words}", remedy)
            return None
        remedy = "write a date like 2026-06-05 without quotation marks"
        faults.add("IN112", f"{shown(value)} is not a date", remedy)
        return None
    figure = as_number(value)
    if figure is None:
        remedy = f"give the {size.words} as a plain number"
        faults.add("IN112", f"{shown(value)} is not a number", remedy)
    elif not isfinite(figure) or not size.low <= figure <= size.high:
        valid = f"valid from {size.low:g} to {size.high:g}"
        faults.add("IN113", f"{figure:g} is no {size.words}", valid)
    else:
        return figure
    return None


def _check_signs(table: StoreTable, faults: Faults) -> None:
    """What was seen and measured at the store: a sign twice, a face on a store that has none."""
    for sign in sorted({sign for sign in table.seen if table.seen.count(sign) > 1}):
        faults.at("seen").add("IN139", f"{shown(sign)} appears twice", "keep one of them")
    for key, kinds, words in (
        ("machine_reach_m", ("clamp",), "a face that a machine takes from the top"),
        ("core_temperature_c", ("bales", "stack", "plain"), "a stack to heat through"),
    ):
        if getattr(table, key) is not None and table.kind not in kinds:
            problem = f"a store of kind {table.kind} has no such figure: it has not {words}"
            remedy = f"leave it out, or check kind: it goes with {', '.join(kinds)}"
            faults.at(key).add("IN138", problem, remedy)


def make_store(table: StoreTable, sizes: dict[str, float | str], name: str) -> Store:
    """The store that is handed on."""
    return copied(
        Store,
        table,
        name=name,
        feed_key=table.feed,
        size=sizes,
        seen=tuple(table.seen),
        kept_for=tuple(table.kept_for),
    )
