"""What a store cannot be, or is worth a second look: sizes that contradict, walls too low."""

from __future__ import annotations

from datetime import date

from rationlp.errors import Faults
from rationlp.farm.feed import Feed
from rationlp.farm.store import Store
from rationlp.stock.density import STAND_IN, bale_density, crop_of, density, own_keys
from rationlp.stock.dry_matter import store_stock
from rationlp.stock.shapes import Sizes, clamp_solid, number, outline, ramp_run

ABOVE_WALL_M = 0.3
"""Silage so far above its walls with an upright edge is worth a look; common practice (c)."""
HIGHEST_SETTLED_M = 3.6
"""Settled silage is advised not to stand higher: farming press, Ireland (a)."""
USUAL_BALE_KG = {"small": (10.0, 35.0), "round": (110.0, 1000.0), "square": (150.0, 1000.0)}
"""Usual fresh weight of a bale by shape [kg]; common practice, no source (c)."""
BALE_SIZES = {
    "round": ("bale_diameter_m", "bale_width_m"),
    "square": ("bale_length_m", "bale_width_m", "bale_height_m"),
    "small": ("bale_length_m", "bale_width_m", "bale_height_m"),
}


def check_sizes(kind: str, sizes: Sizes, faults: Faults) -> None:
    """What cannot be true of the sizes of a store; they have been checked one by one."""
    if kind == "clamp":
        _check_clamp(sizes, faults)
    elif kind == "bales":
        _check_bales(sizes, faults)
    elif kind == "plain":
        _check_plain(sizes, faults)
    elif kind == "bag":
        _check_bag(sizes, faults)
    _check_density(sizes, faults)


def _refuse(place: Faults, *faults: tuple[bool, str, str]) -> None:
    """Adds those that are wrong: whether it is, what was found, what to do."""
    for wrong, problem, remedy in faults:
        if wrong:
            place.add("IN171", problem, remedy)


def _check_bag(sizes: Sizes, faults: Faults) -> None:
    length, ends = number(sizes, "length_m"), 2.0 * number(sizes, "diameter_m")
    problem = f"a bag of {length:g} m whose two ends alone take {ends:g} m"
    remedy = "length_m is the length of the plastic, diameter_m that of the bag"
    _refuse(faults, (length <= ends, problem, remedy))


def _check_clamp(sizes: Sizes, faults: Faults) -> None:
    place = faults.at()
    shape = sizes.get("shape", "level")
    top = [key for key in ("top_width_m", "top_length_m") if shape == "heap" and key not in sizes]
    if top:
        remedy = "measure its top too: a heap has no walls to go by"
        place.add("IN121", f"a heap without {' and '.join(top)}", remedy)
        return
    ramps = []
    if shape != "level":
        ramps = ["ramp_angle_degrees", "back_ramp_angle_degrees"]
    of_a_heap = []
    if shape != "heap":
        of_a_heap = ["top_length_m"]
    odd = [key for key in (*ramps, *of_a_heap) if key in sizes]
    if odd:
        problem = f"{odd[0]} does not go with the shape {shape}"
        place.add("IN171", problem, "leave it out, or check shape")
        return
    _check_section(sizes, place)
    if place.clean:
        _check_length(sizes, place.at())
        _check_walls(sizes, place)


def _check_section(sizes: Sizes, faults: Faults) -> None:
    width, height, length = (number(sizes, key) for key in ("width_m", "height_m", "length_m"))
    top, flat = number(sizes, "top_width_m", width), number(sizes, "crown_flat_m")
    shoulder, base = number(sizes, "shoulder_m"), number(sizes, "base_height_m")
    if sizes.get("shape") == "heap":
        wide = f"a heap {top:g} m wide at the top and {width:g} m at its foot"
        long = "a heap longer at the top than at its foot"
        _refuse(
            faults,
            (top > width, wide, "change them over"),
            (number(sizes, "top_length_m") > length, long, "change them over"),
        )
    else:
        problem = f"top_width_m {top:g} below width_m {width:g}"
        _refuse(faults, (top < width, problem, "walls lean outwards; a heap has none"))
    base_too_high = f"base_height_m {base:g} is not below height_m {height:g}"
    has_crown = "crown_m" in sizes
    no_crown = "crown_flat_m" in sizes and not has_crown
    too_flat = f"crown_flat_m {flat:g} wider than the clamp's {top:g} m"
    two_tops = "shoulder_m" in sizes and has_crown
    too_deep = f"shoulder_m {shoulder:g} above height_m {height:g}"
    meeting = f"shoulders of {shoulder:g} m meet on a clamp of {top:g} m"
    _refuse(
        faults,
        (base >= height, base_too_high, "measure both from the floor"),
        (no_crown, "crown_flat_m without crown_m", "give the cap's height"),
        (flat > top, too_flat, "give the flat part of the cap only"),
        (two_tops, "shoulder_m and crown_m together", "keep the one that it has"),
        (shoulder > height - base, too_deep, "give the part cut back only"),
        (2.0 * shoulder > top, meeting, "check shoulder_m"),
    )


def _check_length(sizes: Sizes, faults: Faults) -> None:
    length, fed = number(sizes, "length_m"), number(sizes, "fed_length_m")
    ramps = ramp_run(sizes, "ramp_angle_degrees") + ramp_run(sizes, "back_ramp_angle_degrees")
    too_steep = f"ramps that reach {ramps:.1f} m along a clamp of {length:g} m"
    all_fed = f"fed_length_m {fed:g} is not below length_m {length:g}"
    _refuse(
        faults,
        (ramps > length, too_steep, "check the angles and length_m"),
        (fed >= length, all_fed, "leave an empty clamp out"),
    )
    shape = sizes.get("shape")
    if faults.clean and fed and shape != "wedge":
        left = outline(sizes).length(number(sizes, "height_m"))
        problem = f"nothing is left of {length:g} m but the ramp at the back"
        _refuse(faults, (left <= 0.0, problem, "measure what is left as a wedge"))
    if faults.clean and shape != "heap":
        face, top = number(sizes, "face_width_m"), number(sizes, "width_m")
        top = number(sizes, "top_width_m", top)
        too_wide = face > clamp_solid(sizes).width_m + 0.5 and face > top
        remedy = "leave it out unless only part of the face is open"
        _refuse(faults, (too_wide, f"face_width_m {face:g} wider than the clamp", remedy))


def _check_walls(sizes: Sizes, faults: Faults) -> None:
    """Silage that cannot lie on its walls: at 45 degrees its two sides would meet below its top."""
    if "wall_height_m" not in sizes:
        return
    wall, top = number(sizes, "wall_height_m"), number(sizes, "height_m") + number(sizes, "crown_m")
    width = number(sizes, "top_width_m", number(sizes, "width_m"))
    problem = (
        f"{top:g} m of silage on walls of {wall:g} m: sloped back at 45 degrees it could not stand"
        f" on {width:g} m"
    )
    remedy = "check height_m, wall_height_m and width_m"
    _refuse(faults, (top - wall > width / 2.0, problem, remedy))


def _check_bales(sizes: Sizes, faults: Faults) -> None:
    of_shape = BALE_SIZES[str(sizes.get("shape", "round"))]
    if "weight_kg" not in sizes and any(key not in sizes for key in of_shape):
        remedy = f"weigh five to ten of them and give weight_kg, or give {', '.join(of_shape)}"
        faults.add("IN121", "bales without a weight: a count alone says nothing", remedy)


def _check_plain(sizes: Sizes, faults: Faults) -> None:
    crop = [key for key in ("area_ha", "yield_t_dm_per_ha") if key in sizes]
    if "amount_t_fresh" in sizes:
        if crop:
            problem = f"amount_t_fresh and {crop[0]} together"
            faults.add("IN171", problem, "keep the better known of them")
    elif len(crop) < 2:
        problem = "a store of kind plain without amount_t_fresh (tonnes fresh)"
        faults.add("IN121", problem, "give it, or area_ha and yield_t_dm_per_ha")


def _check_density(sizes: Sizes, faults: Faults) -> None:
    own = own_keys(sizes)
    if "amount_t_fresh" in sizes and own:
        problem = f"amount_t_fresh and {own[0]} together"
        faults.add("IN172", problem, "keep one: weighed tonnes tell the density")
    elif len(own) > 1:
        faults.add("IN172", f"{' and '.join(own)} together", "keep the one you trust most")
    elif ("step_m_per_week" in sizes) != ("fed_t_fresh_per_week" in sizes):
        remedy = "give both: how far the face moved in a week and what was fed in it"
        faults.add("IN171", "only one of step_m_per_week and fed_t_fresh_per_week", remedy)


def check_crop(store: Store, feed: Feed, faults: Faults, start: date) -> None:
    """What cannot be true of a store with this feed, and what is worth a look."""
    if store.kind == "clamp":
        _look_at_height(store.size, faults)
    elif store.kind == "bales":
        _look_at_bales(store.size, faults.at("weight_kg"))
    if not _has_density(store, feed):
        remedy = 'give density_kg_dm_per_m3, or use kind = "plain" with amount_t_fresh'
        if store.kind == "bales":
            remedy = "weigh five to ten of them and give weight_kg"
        faults.add("IN173", f"no density is known for {feed.name} in a {store.kind}", remedy)
        return
    _look_at_density(store, feed, faults)
    holds = 0.0
    if store.reserve_t_fresh:
        holds = store_stock(store, feed, start).t_fresh.high
    if store.reserve_t_fresh > holds:
        reserve = f"reserve_t_fresh {store.reserve_t_fresh:g}"
        problem = f"{reserve} of a store that holds {holds:.0f} t at most"
        faults.at("reserve_t_fresh").add("IN175", problem, "leave less, or check the sizes")


def _has_density(store: Store, feed: Feed) -> bool:
    if store.kind in ("plain", "bag") or "amount_t_fresh" in store.size or own_keys(store.size):
        return True
    if store.kind == "bales":
        return "weight_kg" in store.size or bale_density(feed) is not None
    solid = clamp_solid(store.size)
    return density(feed, store.size, solid, store.kind) is not None


def _look_at_density(store: Store, feed: Feed, faults: Faults) -> None:
    """A density of another crop, or outside what is known of its own."""
    sizes = store.size
    if store.kind == "plain" or "amount_t_fresh" in sizes or "weight_kg" in sizes:
        return
    by_kind = not feed.sort and feed.kind in STAND_IN
    if by_kind and not own_keys(sizes) and store.kind != "bag":
        crop = crop_of(feed).replace("_", " ")
        remedy = "give its sort in feeds.csv, or a density of your own"
        faults.tell("WA215", f"{feed.name} has no sort: counted as dense as {crop}", remedy)
    if store.kind == "clamp":
        known = density(feed, sizes, clamp_solid(sizes), store.kind)
        if known is not None and known.note:
            faults.tell("WA212", known.note, "check the analysis, or give a density of your own")


def _look_at_height(sizes: Sizes, faults: Faults) -> None:
    height, wall = number(sizes, "height_m"), number(sizes, "wall_height_m")
    upright = height - number(sizes, "shoulder_m")
    if "wall_height_m" in sizes and upright > wall + ABOVE_WALL_M:
        remedy = (
            "give what is sloped back as shoulder_m, or the cap as crown_m; else tonnes are"
            " overstated"
        )
        faults.tell("WA211", f"{height:g} m of silage upright on walls of {wall:g} m", remedy)
    top = height + number(sizes, "crown_m")
    if top > HIGHEST_SETTLED_M:
        problem = f"settled silage {top:g} m high; advised at most {HIGHEST_SETTLED_M:g} m"
        remedy = "check height_m; such a face is hard to reach and may come down"
        faults.tell("WA214", problem, remedy)


def _look_at_bales(sizes: Sizes, faults: Faults) -> None:
    weight, shape = sizes.get("weight_kg"), str(sizes.get("shape"))
    if not isinstance(weight, float) or shape not in USUAL_BALE_KG:
        return
    low, high = USUAL_BALE_KG[shape]
    if low <= weight <= high:
        return
    remedy = "weigh five to ten of them"
    fitting = [
        name for name, (lowest, highest) in USUAL_BALE_KG.items() if lowest <= weight <= highest
    ]
    if fitting:
        remedy += f'; for bales of this weight: shape = "{fitting[0]}"'
    problem = f"a {shape} bale of {weight:g} kg; usual is {low:g} to {high:g} kg"
    faults.tell("WA213", problem, remedy)
