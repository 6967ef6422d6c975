"""The independent reference under CSIRO (2007): requirement, level of feeding and protein written
apart from the program, by halving where it solves a quadratic. Status as in needs/csiro.py (b).
"""

from __future__ import annotations

from math import exp, inf

from rationlp.farm.feed import Feed
from rationlp.needs.energy import EnergyNeed

MP_PER_MICROBE = 0.6


def _left(need: EnergyNeed, density: float, me: float) -> float:
    """ME less what it must cover at the level of feeding that it makes [MJ]; 0 at the need."""
    km, kl, kg = 0.5 + 0.02 * density, 0.4 + 0.02 * density, 0.043 * density
    level = me / (need.em / km + 0.09 * me)
    uses = (need.em + need.over_km) / km + need.over_kl / kl + need.fixed_me
    uses += (need.over_kf + need.eg * level) / kg
    return me - uses - 0.09 * me


def required(need: EnergyNeed, density: float) -> float:
    """ME [MJ] at an energy density [MJ/kg DM], by halving; inf where nothing is enough."""
    low, high = 1e-6, 2000.0
    if density <= 0.0 or _left(need, density, high) < 0.0:
        return inf
    for _ in range(80):
        middle = 0.5 * (low + high)
        if _left(need, density, middle) < 0.0:
            low = middle
        else:
            high = middle
    return high


def level_of(need: EnergyNeed, density: float) -> float:
    """L: ME over that of maintenance."""
    me = required(need, density)
    return me / (need.em / (0.5 + 0.02 * density) + 0.09 * me)


def microbes(level: float) -> float:
    """g microbial protein/MJ FME."""
    return 12.0 - 5.0 * exp(-0.35 * level)


def supply(feed: Feed, level: float) -> tuple[float, float, float]:
    """(FME [MJ], RDP [g], digested UDP less what eating costs [g]) of a kg DM."""
    crude = feed.value("cp_g_per_kg_dm") or 0.0
    names = ("prot_a_fraction", "prot_b_fraction", "prot_c_per_h", "adin_g_n_per_kg_dm")
    a, b, c, bound = (feed.value(name) or 0.0 for name in names)
    me, oil = feed.value("me_mj_per_kg_dm") or 0.0, feed.value("oil_g_per_kg_dm") or 0.0
    share = a
    if b:
        share += b * c / (c + 0.02)
    if feed.kind != "npn":
        share = min(share * (1.1 - 0.1 * level), 1.0)
    passing = crude - share * crude
    if feed.is_forage:
        digested = min(0.85, max(0.05, 0.0055 * crude - 0.178)) * passing
    else:
        digested = max(0.0, 0.9 * (passing - 6.25 * bound))
    fme = max(0.0, me - 0.014 * passing - 0.036 * oil)
    return fme, share * crude, digested - 15.2 / 0.7
