"""Stated rules that fill what a feed table leaves blank, each saying so.

A blank is never 0. Origin `computed`: FME by a published rule; `default`: class defaults of
degradability, a blank ADIN taken as 0.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from rationlp.farm.feed import Feed, Figure
from rationlp.farm.feed_table import is_silage, packaged_tables

FRACTIONS = ("prot_a_fraction", "prot_b_fraction", "prot_c_per_h")


FRACTION_DEFAULTS = {
    "straw": (0.30, 0.40, 0.04),
    "molasses": (0.95, 0.05, 0.30),
    "pot_ale_syrup": (0.85, 0.12, 0.15),
}
"""Degradability where a table is blank, by kind or key's start; common practice (c)."""


_RULE_SOURCE = "AFRC (1993) rule for fermentable energy, from memory of the publication"


@lru_cache(maxsize=1)
def _fme_rules() -> dict[str, str]:
    return {cells["key"]: cells["fme_rule"] for _, rows in packaged_tables() for cells in rows}


def complete(feed: Feed) -> Feed:
    """A feed with what stated rules can fill: FME (computed), degradability and ADIN (defaults),
    each saying so.

    FME is computed again when a figure it rests on (ME, DM, oil) came from the farm or the
    laboratory and FME did not.
    """
    figures = dict(feed.figures)
    fme = figures.get("fme_mj_per_kg_dm")
    rest = [figures.get(name) for name in ("me_mj_per_kg_dm", "dm_g_per_kg", "oil_g_per_kg_dm")]
    changed = any(figure is not None and figure.origin != "table" for figure in rest)
    if fme is None or (fme.origin == "table" and changed):
        computed = _fme(feed)
        if computed is not None:
            figures["fme_mj_per_kg_dm"] = computed
    if feed.value("cp_g_per_kg_dm"):
        _fill_fractions(feed, figures)
    if "adin_g_n_per_kg_dm" not in figures and feed.value("cp_g_per_kg_dm"):
        figures["adin_g_n_per_kg_dm"] = Figure(
            0.0, "default", "a blank ADIN counts as 0; common practice, no source", "c"
        )
    return replace(feed, figures=figures)


def _fill_fractions(feed: Feed, figures: dict[str, Figure]) -> None:
    for start, values in FRACTION_DEFAULTS.items():
        if feed.kind == start or feed.key.startswith(start):
            for name, value in zip(FRACTIONS, values, strict=True):
                if name not in figures:
                    said = (
                        f"default for {start.replace('_', ' ')} where the table is blank; common"
                        " practice, no source"
                    )
                    figures[name] = Figure(value, "default", said, "c")


def fme_rule(feed: Feed) -> str:
    """Which FME rule a feed follows: its own or its table's, else that of its sort, else that of
    its kind.

    A forage of the farm's own of which only the kind is known counts as fermented where it is wet
    enough to be a silage: the cautious side, for microbes get nothing from fermentation acids.
    """
    known = feed.fme_rule or _fme_rules().get(feed.key)
    if known:
        return known
    if feed.sort == "grass_silage":
        return "grass_silage"
    if is_silage(feed) and feed.sort != "wholecrop_alkaline":
        return "fermented"
    if feed.kind in ("fat", "npn", "mineral"):
        return "none"
    return "dry"


def _fme(feed: Feed) -> Figure | None:
    """Fermentable ME [MJ/kg DM]. AFRC (1993), status (b).

    Grass silages: ME·(0.467 + 0.00136 ODM − 0.00000115 ODM²), ODM oven dry matter g/kg (taken as
    the feed's DM). Others: ME − 0.035·oil − k·ME, k 0.10 for silages, 0.05 for brewery and
    distillery by-products, 0 for dry feeds, for urea- or ammonia-treated wholecrop and straw. Fat,
    urea and minerals 0. None where a figure it needs is blank.
    """
    rule = fme_rule(feed)
    if rule == "none":
        return Figure(0.0, "computed", f"{_RULE_SOURCE}: no fermentable energy", "b")
    me = feed.value("me_mj_per_kg_dm")
    if me is None:
        return None
    if rule == "grass_silage":
        dm = feed.dm_g_per_kg
        share = 0.467 + 0.00136 * dm - 0.00000115 * dm * dm
        return Figure(
            me * share, "computed", f"{_RULE_SOURCE}: grass silage by its dry matter", "b"
        )
    oil = feed.value("oil_g_per_kg_dm")
    if oil is None:
        return None
    lost = {"fermented": 0.10, "brewery_distillery": 0.05}.get(rule, 0.0)
    value = max(me - 0.035 * oil - lost * me, 0.0)
    return Figure(
        value,
        "computed",
        f"{_RULE_SOURCE}: ME less oil and {100 * lost:.0f} % fermentation acids",
        "b",
    )
