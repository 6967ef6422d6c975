"""Published equations of density and loss that the program does not use, as a check of those that
it does.
"""

from __future__ import annotations

from math import sqrt

from rationlp.records import dataclass

LB_PER_KG, LB_FT3_TO_KG_M3, FT_PER_M, INCH_PER_M = 2.20462, 16.0185, 3.28084, 39.3701


@dataclass(frozen=True)
class Packing:
    """How a clamp was rolled. roller_kg: mean mass of the machines. machines: how many, by share of
    time at work.

    layer_m: thickness of a layer. t_fresh_per_hour: delivered. dm_share: dry matter over fresh.
    """

    roller_kg: float
    machines: float
    layer_m: float
    t_fresh_per_hour: float
    dm_share: float


def packed_density(packing: Packing, depth_m: float) -> float:
    """Density from packing [kg DM/m3]: (8.5 + 0.0155 PF) x (0.818 + 0.0136 depth ft) lb/ft3, PF =
    W/L x sqrt(N x DM / C).

    W [lb], L layer [inch], C [short t fresh/h], DM as a share. Source: University of Wisconsin
    extension, survey of more than 160 bunker silos (1999); equation from memory (b). For machines
    of 5-30 t, layers of 0.1-0.4 m, depths of 1.5-6 m.
    """
    rate = packing.t_fresh_per_hour * 1000.0 * LB_PER_KG / 2000.0
    heavy = packing.roller_kg * LB_PER_KG / (packing.layer_m * INCH_PER_M)
    factor = heavy * sqrt(packing.machines * packing.dm_share / rate)
    return (8.5 + 0.0155 * factor) * (0.818 + 0.0136 * depth_m * FT_PER_M) * LB_FT3_TO_KG_M3


def loss_by_density(kg_dm_per_m3: float) -> float:
    """Dry matter lost in 180 days in a bunker, as a share: 0.287 - 0.00053 x density.

    Source: study of lucerne bunkers (1992) reprinted by the farming trade, six points from 160 to
    352 kg DM/m3 (a); the line through them is our own. It holds whole-store losses, fermentation
    included: no share of a clamp measured after settling.
    """
    return 0.287 - 0.00053 * kg_dm_per_m3
