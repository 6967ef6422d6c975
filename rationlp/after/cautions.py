"""Cautions on a farm and on a ration: the rows of feeds/cautions.csv that apply, in words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

from rationlp.after.plate import Plate, eats, figure, make_plate
from rationlp.farm.farm import Farm
from rationlp.quantities import quantities
from rationlp.records import copied
from rationlp.result import Caution, FedSupply, GroupRation
from rationlp.rules.cautions import (
    HARMS,
    CautionRow,
    FeedCaution,
    caution_rows,
    compared,
    feed_cautions,
    group_words,
    kept_away,
    rows_that_look_at,
    share_caps,
)

DEFER_LINE = (
    "General guidance only: check with your vet or a qualified nutritionist; local rules come"
    " first."
)
"""Appears once under every list of cautions."""

_NAMES = {
    "share_of_dm": "these feeds",
    "starch_step_g_per_kg_dm": "starch above what was fed before by",
    "mixer_wagon": "fed from a mixer wagon",
    "bale_kg": "a bale",
    "kg_dm_per_kg_live_weight": "these feeds",
    "concentrate_kg_fresh": "concentrates",
    "ration_dm_g_per_kg": "the whole ration",
    "urea_share_of_cp": "urea",
    "copper_unknown_share": "feeds without a copper figure",
    "k_to_ca_mg_meq": "K/(Ca + Mg)",
    "dcad_meq_per_kg_dm": "cation-anion balance",
    "me_cover": "ME",
    "days_to_lambing": "to lambing",
    "nitrate_n_mg_per_kg_dm": "nitrate",
    "core_temperature_c": "core",
    "days_from_filling_to_start": "filled before the winter begins by",
    "height_over_reach_m": "above reach by",
    "face_height_m": "face",
}
_ANY = frozenset({"mixer_wagon", "head"})
_SIGNS = {"above": "above", "at_least": "from", "below": "below", "at_most": "up to"}


def farm_cautions(farm: Farm) -> tuple[Caution, ...]:
    """What the farm's stores, feeds and analyses call for, said only where it concerns one of its
    groups.

    about: the id of the store or bought feed.
    """
    words = [group_words(group) for group in farm.groups]
    names = {offer.id: offer.name for offer in farm.offers}
    called_for = (
        _caution(caution.row, (caution.offer, names[caution.offer]), caution.value)
        for caution in feed_cautions(farm)
        if any(caution.row.concerns(word) for word in words)
    )
    return gravest_first(called_for)


def store_cautions(farm: Farm, stores: Iterable[str] | None = None) -> tuple[Caution, ...]:
    """Those of the farm's cautions that are about a store: all, or those of these ids."""
    if stores is None:
        stores = (store.id for store in farm.stores)
    ids = set(stores)
    return tuple(caution for caution in farm_cautions(farm) if caution.about in ids)


def gravest_first(cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """What can kill or maim people, then stock, then all else; those of every day at the end.

    Within these, what holds for some weeks only stands before what holds all winter; then the order
    of feeds/cautions.csv.
    """
    order = {row.id: number for number, row in enumerate(caution_rows())}

    def place(caution: Caution) -> tuple[bool, int, bool, int]:
        return caution.daily, HARMS.index(caution.harm), not caution.weeks, order[caution.id]

    return tuple(sorted(cautions, key=place))


def ration_cautions(
    farm: Farm, ration: GroupRation | FedSupply, before: Mapping[str, float] | None = None
) -> tuple[Caution, ...]:
    """What a ration, solved or fed, calls for; for a group that could not be fed, what it calls for
    by itself.

    about: the group's id. before: kg DM of what was fed before by offer id, where that is known. A
    fed ration that holds a feed kept away from the group, or more than its share of one, gets the
    feed's own caution.
    """
    plate = make_plate(farm, ration, before)
    if plate is None:
        return ()
    return plate_cautions(plate)


def plate_cautions(plate: Plate) -> tuple[Caution, ...]:
    """What a plate calls for, gravest first."""
    words = group_words(plate.group)
    subject = (plate.group.id, plate.group.name)
    called_for = [
        _caution(row, subject, value)
        for row in rows_that_look_at(ration=True)
        if row.concerns(words)
        and all(condition.holds(figure(plate, row, condition.name)) for condition in row.when)
        if (value := figure(plate, row)) is not None and row.met(value)
    ]
    return gravest_first([*called_for, *_eaten_all_the_same(plate)])


def _eaten_all_the_same(plate: Plate) -> Iterable[Caution]:
    away = kept_away(plate.farm, plate.group)
    for offer in eats(plate, away):
        yield _of_feed(
            away[offer.id],
            plate,
            f"{offer.name}: {_found(away[offer.id].row, away[offer.id].value)}",
        )
    caps = share_caps(plate.farm, plate.group)
    kg = {offer.id: eaten for offer, eaten in plate.parts}
    eaten = eats(plate, caps)
    filled = sum(kg[offer.id] / (caps[offer.id].row.most_share or 1.0) for offer in eaten)
    if compared(filled, ">", plate.dm_kg):
        for offer in eaten:
            share = f"{100.0 * kg[offer.id] / plate.dm_kg:.0f} % of the dry matter"
            yield _of_feed(
                caps[offer.id],
                plate,
                f"{offer.name}: {share}, too much with what else holds nitrate",
            )


def _of_feed(feed_caution: FeedCaution, plate: Plate, sentence: str) -> Caution:
    subject = (plate.group.id, plate.group.name)
    return replace(_caution(feed_caution.row, subject, feed_caution.value), found=sentence)


def _caution(row: CautionRow, subject: tuple[str, str], value: float) -> Caution:
    return copied(
        Caution,
        row,
        about=subject[0],
        about_name=subject[1],
        found=_found(row, value) + _missing(row, value),
        threshold=threshold_words(row),
        value=value,
        bound=row.threshold,
    )


def number_words(value: float, unit: str) -> str:
    """A figure with its unit, to as many places as its size needs; shares as per cent."""
    if unit.startswith("share of "):
        return (
            f"{_rounded(100.0 * value)} % of the"
            f" {unit.removeprefix('share of ').replace('DM', 'dry matter')}"
        )
    return f"{_rounded(value)} {unit}".strip()


MAGNESITE_MG_G_PER_KG = 505.0
"""Magnesium of calcined magnesite [g/kg fresh], as in feeds/tables/minerals.csv; status (b)."""

_PLACES = ((100.0, 0), (10.0, 1), (0.1, 2), (0.0, 4))
"""From a size on, so many decimals."""


def _rounded(value: float) -> str:
    size = abs(value)
    if size >= 1e5:
        return f"{value:.0f}"
    places = next(places for least, places in _PLACES if size >= least)
    return f"{round(value, places):g}"


def _found(row: CautionRow, value: float) -> str:
    if row.quantity.startswith("seen_"):
        return f"{row.quantity.removeprefix('seen_').replace('_', ' ')} seen or known"
    if row.quantity == "mixer_wagon":
        return _NAMES[row.quantity]
    name = row.quantity.replace("_", " ")
    if row.quantity in quantities():
        name = quantities()[row.quantity].title
    name = _NAMES.get(row.quantity, name)
    if row.unit == name:
        return f"{name} {number_words(value, '')}"
    return f"{name} {number_words(value, row.unit)}"


def _missing(row: CautionRow, value: float) -> str:
    """What a ration lacks of magnesium, and how much of a mineral would bring it; or empty."""
    if row.quantity != "mg_g" or row.comparison != "below":
        return ""
    short = row.threshold - value
    grams = 1000.0 * short / MAGNESITE_MG_G_PER_KG
    return (
        f", {_rounded(short)} g short: {math.ceil(grams):.0f} g of calcined magnesite a head would"
        " bring it, mixed into feed that every cow eats, or a mineral that holds as much more"
    )


def threshold_words(row: CautionRow) -> str:
    """The range in which a row is said, in words with its unit."""
    if row.quantity.startswith("seen_") or row.quantity in _ANY:
        return "any"
    if row.up_to is None:
        return f"{_SIGNS[row.comparison]} {number_words(row.threshold, row.unit)}"
    low = row.threshold
    if row.unit.startswith("share of "):
        low *= 100.0
    return f"{_SIGNS[row.comparison]} {_rounded(low)} to {number_words(row.up_to, row.unit)}"
