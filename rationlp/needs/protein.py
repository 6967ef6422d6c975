"""Metabolisable protein: what a head needs, and what a feed and a ration bring. AFRC (1993), one
equation a function.

Symbols: W live weight [kg]; dW gain [kg/d]; L level of feeding, a multiple of maintenance ME [-]; r
rumen outflow [/h]; a, b quickly and slowly degradable fractions of crude protein [-]; c rate of
degradation of b [/h]. "Inventory method" is the UK agricultural greenhouse-gas inventory's
documentation of its cattle equations, which states AFRC (1993) as origin.
"""

from __future__ import annotations

from math import exp, pow

from rationlp.needs.terms import Power

MP_PER_MICROBIAL_CP = 0.6375
"""MP from microbial crude protein [g/g]: 0.75 true protein × 0.85 digested. AFRC (1993); (b)."""

FRACTIONS = ("prot_a_fraction", "prot_b_fraction", "prot_c_per_h")
"""Columns of a, b and c."""
PROTEIN_PER_NITROGEN = 6.25
QUICK_FRACTION_CAUGHT = 0.8
DIGESTED_BYPASS = 0.9

MAINTENANCE = Power(2.30, 0.75)
"""Figures of `maintenance_mp`."""
KN_GROWTH = 0.59
KN_MILK = 0.68
MILK_TRUE_PROTEIN = 0.95
COW_GAIN_NP_G_PER_KG = 138.0


def maintenance_mp(live_weight_kg: float) -> float:
    """MPm [g/d] = 2.30 W^0.75, basal loss and hair together. AFRC (1993), from memory; (b)."""
    return MAINTENANCE.of(live_weight_kg)


def milk_mp(milk_protein_g_per_kg: float) -> float:
    """MPl [g/kg milk] = 0.95 p / 0.68 = 1.397 p, p crude protein of the milk [g/kg].

    AFRC (1993). knl 0.68 on true protein: status (a), abstract on the efficiency of MP into milk
    protein, Animal (2008); 0.95 true in crude protein: status (b), from memory of the publication.
    Range p 25–42. Measured knl 0.62–0.64.
    """
    return MILK_TRUE_PROTEIN / KN_MILK * milk_protein_g_per_kg


def growth_mp(live_weight_kg: float, gain_kg_per_day: float, protein_correction: float) -> float:
    """MPf [g/d] = C6 (168.07 − 0.16869 W + 0.0001633 W²)(1.12 − 0.1223 dW) · 1.695 dW.

    AFRC (1993), from memory; status (b). Range W 75–650, dW up to 1.5. C6: `protein_correction`.
    """
    w, dw = live_weight_kg, gain_kg_per_day
    content = 168.07 - 0.16869 * w + 0.0001633 * w * w
    return protein_correction * content * (1.12 - 0.1223 * dw) * 1.695 * dw


def pregnancy_mp(calf_weight_kg: float, days_pregnant: float) -> float:
    """MPc [g/d] = 1.01 Wc · TP · e^(−0.00262 t), with log10 TP = 3.707 − 5.698 e^(−0.00262 t) [kg,
    40 kg calf].

    AFRC (1993), from memory, status (b); knc 0.85 inside the factor, status (b). t from conception
    [d].
    """
    decay = exp(-0.00262 * days_pregnant)
    tissue_protein = pow(10.0, 3.707 - 5.698 * decay)
    return 1.01 * calf_weight_kg * tissue_protein * decay


def cow_change_mp(change_kg_per_day: float) -> float:
    """MP of a cow's live-weight change [g/d]: gain 138/0.59 = +234 g/kg; loss −138 g/kg (efficiency
    1.0).

    AFRC (1993), inventory method; status (a).
    """
    if change_kg_per_day > 0.0:
        return COW_GAIN_NP_G_PER_KG / KN_GROWTH * change_kg_per_day
    return COW_GAIN_NP_G_PER_KG * change_kg_per_day


def effective_rdp(
    crude_protein: float, fractions: tuple[float, float, float], outflow: float
) -> float:
    """ERDP [g/kg DM] = 0.8 a·CP + b·c/(c + r)·CP; fractions are (a, b, c). AFRC (1993), (b)."""
    a, b, c = fractions
    return (QUICK_FRACTION_CAUGHT * a + _slow(b, c, outflow)) * crude_protein


def digestible_udp(
    crude_protein: float, fractions: tuple[float, float, float], outflow: float, adin_g_n: float
) -> float:
    """DUP [g/kg DM] = 0.9 (UDP − 6.25 ADIN), never below 0; UDP = CP − a·CP − b·c/(c + r)·CP, ADIN
    in g N/kg DM.

    AFRC (1993), from memory; status (b). UDP takes off the whole quick fraction: the fifth of it
    that the microbes miss is lost, not passed on.
    """
    a, b, c = fractions
    udp = (1.0 - a - _slow(b, c, outflow)) * crude_protein
    return max(0.0, DIGESTED_BYPASS * (udp - PROTEIN_PER_NITROGEN * adin_g_n))


def _slow(b: float, c: float, outflow: float) -> float:
    """Part of b degraded before it leaves the rumen; a feed with b = 0 may have c = 0 as well."""
    return b * c / (c + outflow) if b > 0.0 else 0.0


def microbial_cp(yield_g_per_mj: float, fme_mj: float, erdp_g: float) -> float:
    """MCP [g/d] = min(y · ΣFME, ΣERDP) of the whole ration, AFRC (1993); as a whole: (b)."""
    return min(yield_g_per_mj * fme_mj, erdp_g)
