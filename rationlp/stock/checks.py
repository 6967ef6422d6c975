"""What a store cannot be, or is worth a second look: sizes that contradict, walls too low, crops
without a density.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date

from rationlp.errors import Finding
from rationlp.farm.feed import Feed
from rationlp.farm.store import Store
from rationlp.named import nearest
from rationlp.stock.density import STAND_IN, bale_density, crop_of, density, own_keys
from rationlp.stock.dry_matter import store_stock
from rationlp.stock.shapes import Sizes, clamp_solid, number, outline, ramp_run

ABOVE_WALL_M = 0.3
"""Silage that stands this far above its walls with an upright edge is worth a look; common
practice, no source (c).
"""
HIGHEST_SETTLED_M = 3.6
"""Settled silage is advised not to stand higher: farming press in Ireland on the limits of silage
pits (a).
"""
USUAL_BALE_KG = {"small": (10.0, 35.0), "round": (110.0, 1000.0), "square": (150.0, 1000.0)}
"""Usual fresh weight of a bale by shape [kg]; common practice, no source (c)."""
BALE_SIZES = {
    "round": ("bale_diameter_m", "bale_width_m"),
    "square": ("bale_length_m", "bale_width_m", "bale_height_m"),
    "small": ("bale_length_m", "bale_width_m", "bale_height_m"),
}


def contradictions(kind: str, sizes: Sizes, where: str) -> list[Finding]:
    """What cannot be true of the sizes of a store, whatever is in it; the sizes have been checked
    one by one.
    """
    found: list[Finding] = []
    if kind == "clamp":
        found += _clamp_faults(sizes, where)
    elif kind == "bales":
        found += _bale_faults(sizes, where)
    elif kind == "plain":
        found += _plain_faults(sizes, where)
    elif kind == "bag" and number(sizes, "length_m") <= 2.0 * number(sizes, "diameter_m"):
        text = (
            f"a bag of {number(sizes, 'length_m'):g} m whose two ends alone take"
            f" {2 * number(sizes, 'diameter_m'):g} m"
        )
        found.append(
            Finding(
                "IN171",
                where,
                text,
                "length_m is the length of the plastic, diameter_m that of the bag",
            )
        )
    return found + _density_faults(sizes, where)


def _refused(where: str, pairs: Iterable[tuple[bool, str, str]]) -> list[Finding]:
    return [Finding("IN171", where, found, remedy) for wrong, found, remedy in pairs if wrong]


def _clamp_faults(sizes: Sizes, where: str) -> list[Finding]:
    shape = sizes.get("shape", "level")
    missing = [
        key for key in ("top_width_m", "top_length_m") if shape == "heap" and key not in sizes
    ]
    if missing:
        found = f"a heap without {' and '.join(missing)}"
        return [Finding("IN121", where, found, "measure its top too: a heap has no walls to go by")]
    odd = [
        key
        for key in ("ramp_angle_degrees", "back_ramp_angle_degrees")
        if shape != "level" and key in sizes
    ]
    if odd or ("top_length_m" in sizes and shape != "heap"):
        key = odd[0] if odd else "top_length_m"
        found = f"{key} does not go with the shape {shape}"
        return [Finding("IN171", where, found, "leave it out, or check shape")]
    found_here = _size_faults(sizes, where)
    if found_here:
        return found_here
    return _length_faults(sizes, where) + _wall_faults(sizes, where)


def _size_faults(sizes: Sizes, where: str) -> list[Finding]:
    width, height, length = (number(sizes, key) for key in ("width_m", "height_m", "length_m"))
    top = number(sizes, "top_width_m", width)
    heap = sizes.get("shape") == "heap"
    shoulder, base, flat = (
        number(sizes, key) for key in ("shoulder_m", "base_height_m", "crown_flat_m")
    )
    pairs = (
        (
            heap and top > width,
            f"a heap {top:g} m wide at the top and {width:g} m at its foot",
            "change them over",
        ),
        (
            heap and number(sizes, "top_length_m") > length,
            "a heap longer at the top than at its foot",
            "change them over",
        ),
        (
            not heap and top < width,
            f"top_width_m {top:g} below width_m {width:g}",
            "walls lean outwards; a heap has none",
        ),
        (
            base >= height,
            f"base_height_m {base:g} is not below height_m {height:g}",
            "measure both from the floor",
        ),
        (
            "crown_flat_m" in sizes and "crown_m" not in sizes,
            "crown_flat_m without crown_m",
            "give the cap's height",
        ),
        (
            flat > top,
            f"crown_flat_m {flat:g} wider than the clamp's {top:g} m",
            "give the flat part of the cap only",
        ),
        (
            "shoulder_m" in sizes and "crown_m" in sizes,
            "shoulder_m and crown_m together",
            "keep the one that it has",
        ),
        (
            shoulder > height - base,
            f"shoulder_m {shoulder:g} above height_m {height:g}",
            "give the part cut back only",
        ),
        (
            2.0 * shoulder > top,
            f"shoulders of {shoulder:g} m meet on a clamp of {top:g} m",
            "check shoulder_m",
        ),
    )
    return _refused(where, pairs)


def _length_faults(sizes: Sizes, where: str) -> list[Finding]:
    length, fed = number(sizes, "length_m"), number(sizes, "fed_length_m")
    ramps = ramp_run(sizes, "ramp_angle_degrees") + ramp_run(sizes, "back_ramp_angle_degrees")
    pairs = (
        (
            ramps > length,
            f"ramps that reach {ramps:.1f} m along a clamp of {length:g} m",
            "check the angles and length_m",
        ),
        (
            fed >= length,
            f"fed_length_m {fed:g} is not below length_m {length:g}",
            "leave an empty clamp out",
        ),
    )
    found = _refused(where, pairs)
    if (
        not found
        and outline(sizes).length(number(sizes, "height_m")) <= 0.0
        and sizes.get("shape") != "wedge"
        and fed
    ):
        words = f"nothing is left of {length:g} m but the ramp at the back"
        found.append(Finding("IN171", where, words, "measure what is left as a wedge"))
    if (
        not found
        and sizes.get("shape") != "heap"
        and number(sizes, "face_width_m") > clamp_solid(sizes).width_m + 0.5
    ):
        words = f"face_width_m {number(sizes, 'face_width_m'):g} wider than the clamp"
        remedy = "leave it out unless only part of the face is open"
        if number(sizes, "face_width_m") > number(sizes, "top_width_m", number(sizes, "width_m")):
            found.append(Finding("IN171", where, words, remedy))
    return found


def _wall_faults(sizes: Sizes, where: str) -> list[Finding]:
    """Silage that cannot lie on its walls: sloped back at 45 degrees from them its two sides would
    meet below its top.
    """
    if "wall_height_m" not in sizes:
        return []
    wall, top = number(sizes, "wall_height_m"), number(sizes, "height_m") + number(sizes, "crown_m")
    width = number(sizes, "top_width_m", number(sizes, "width_m"))
    if top - wall <= width / 2.0:
        return []
    found = (
        f"{top:g} m of silage on walls of {wall:g} m: sloped back at 45 degrees it could not stand"
        f" on {width:g} m"
    )
    return [Finding("IN171", where, found, "check height_m, wall_height_m and width_m")]


def _bale_faults(sizes: Sizes, where: str) -> list[Finding]:
    if "weight_kg" in sizes:
        return []
    wanted = BALE_SIZES[str(sizes.get("shape", "round"))]
    missing = [key for key in wanted if key not in sizes]
    if not missing:
        return []
    remedy = f"weigh five to ten of them and give weight_kg, or give {', '.join(wanted)}"
    return [Finding("IN121", where, "bales without a weight: a count alone says nothing", remedy)]


def _plain_faults(sizes: Sizes, where: str) -> list[Finding]:
    amount, crop = (
        "amount_t_fresh" in sizes,
        [key for key in ("area_ha", "yield_t_dm_per_ha") if key in sizes],
    )
    if amount and crop:
        return [
            Finding(
                "IN171",
                where,
                f"amount_t_fresh and {crop[0]} together",
                "keep the better known of them",
            )
        ]
    if amount or len(crop) == 2:
        return []
    found = "a store of kind plain without amount_t_fresh (tonnes fresh)"
    return [Finding("IN121", where, found, "give it, or area_ha and yield_t_dm_per_ha")]


def _density_faults(sizes: Sizes, where: str) -> list[Finding]:
    own = own_keys(sizes)
    if "amount_t_fresh" in sizes and own:
        found = f"amount_t_fresh and {own[0]} together"
        return [Finding("IN172", where, found, "keep one: weighed tonnes tell the density")]
    if len(own) > 1:
        return [
            Finding("IN172", where, f"{' and '.join(own)} together", "keep the one you trust most")
        ]
    if ("step_m_per_week" in sizes) != ("fed_t_fresh_per_week" in sizes):
        remedy = "give both: how far the face moved in a week and what was fed in it"
        return [
            Finding("IN171", where, "only one of step_m_per_week and fed_t_fresh_per_week", remedy)
        ]
    return []


def crop_faults(
    store: Store, feed: Feed, where: str, start: date
) -> tuple[list[Finding], list[Finding]]:
    """What cannot be true of a store with this feed in it, and what is worth a look; its sizes do
    not contradict.
    """
    sizes = store.size
    needs_density = (
        store.kind != "plain" and "amount_t_fresh" not in sizes and "weight_kg" not in sizes
    )
    notices = [*_height_notices(store, where), *_bale_notices(store, where)]
    if not _has_density(store, feed):
        found = f"no density is known for {feed.name} in a {store.kind}"
        remedy = 'give density_kg_dm_per_m3, or use kind = "plain" with amount_t_fresh'
        if store.kind == "bales":
            remedy = "weigh five to ten of them and give weight_kg"
        return [Finding("IN173", where, found, remedy)], notices
    if (
        not feed.sort
        and feed.kind in STAND_IN
        and needs_density
        and not own_keys(sizes)
        and store.kind != "bag"
    ):
        found = f"{feed.name} has no sort: counted as dense as {crop_of(feed).replace('_', ' ')}"
        notices.append(
            Finding("LA215", where, found, "give its sort in feeds.csv, or a density of your own")
        )
    if store.kind == "clamp" and needs_density:
        known = density(feed, sizes, clamp_solid(sizes), store.kind)
        if known is not None and known.note:
            remedy = "check the analysis, or give a density of your own"
            notices.append(Finding("LA212", where, known.note, remedy))
    held = store_stock(store, feed, start).t_fresh.high if store.reserve_t_fresh else 0.0
    if store.reserve_t_fresh > held:
        found = (
            f"reserve_t_fresh {store.reserve_t_fresh:g} of a store that holds {held:.0f} t at most"
        )
        return [
            Finding("IN175", f"{where}.reserve_t_fresh", found, "leave less, or check the sizes")
        ], notices
    return [], notices


def _has_density(store: Store, feed: Feed) -> bool:
    if store.kind in ("plain", "bag") or "amount_t_fresh" in store.size or own_keys(store.size):
        return True
    if store.kind == "bales":
        return "weight_kg" in store.size or bale_density(feed) is not None
    solid = clamp_solid(store.size)
    return density(feed, store.size, solid, store.kind) is not None


def _height_notices(store: Store, where: str) -> list[Finding]:
    if store.kind != "clamp":
        return []
    sizes = store.size
    height = number(sizes, "height_m")
    found = []
    if (
        "wall_height_m" in sizes
        and height - number(sizes, "shoulder_m") > number(sizes, "wall_height_m") + ABOVE_WALL_M
    ):
        words = f"{height:g} m of silage upright on walls of {number(sizes, 'wall_height_m'):g} m"
        remedy = (
            "give what is sloped back as shoulder_m, or the cap as crown_m; else tonnes are"
            " overstated"
        )
        found.append(Finding("LA211", where, words, remedy))
    if height + number(sizes, "crown_m") > HIGHEST_SETTLED_M:
        words = (
            f"settled silage {height + number(sizes, 'crown_m'):g} m high; advised at most"
            f" {HIGHEST_SETTLED_M:g} m"
        )
        found.append(
            Finding(
                "LA214",
                where,
                words,
                "check height_m; such a face is hard to reach and may come down",
            )
        )
    return found


def _bale_notices(store: Store, where: str) -> list[Finding]:
    weight, shape = store.size.get("weight_kg"), store.size.get("shape")
    if store.kind != "bales" or not isinstance(weight, float) or shape not in USUAL_BALE_KG:
        return []
    low, high = USUAL_BALE_KG[str(shape)]
    if low <= weight <= high:
        return []
    found = f"a {shape} bale of {weight:g} kg; usual is {low:g} to {high:g} kg"
    remedy = "weigh five to ten of them"
    fitting = [name for name, (least, most) in USUAL_BALE_KG.items() if least <= weight <= most]
    if fitting:
        remedy += f'; for bales of this weight: shape = "{fitting[0]}"'
    return [Finding("LA213", f"{where}.weight_kg", found, remedy)]


def kept_for_faults(stores: Iterable[tuple[Store, str]], groups: Collection[str]) -> list[Finding]:
    """Groups that a store is kept for and that nobody has, or that stand there twice."""
    found = []
    for store, where in stores:
        for group in dict.fromkeys(store.kept_for):
            if group not in groups:
                near = nearest(group, list(groups), 1, 0.4)
                remedy = (
                    f'nearest: "{near[0]}"'
                    if near
                    else f"groups of this farm: {', '.join(groups) or 'none'}"
                )
                found.append(Finding("IN174", f"{where}.kept_for", f'no group "{group}"', remedy))
        if len(set(store.kept_for)) < len(store.kept_for):
            found.append(
                Finding("IN139", f"{where}.kept_for", "a group stands twice", "keep one of them")
            )
    return found
