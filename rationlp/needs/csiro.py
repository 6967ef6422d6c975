"""CSIRO (2007) for beef cattle and sheep: one published equation a function, all net energy unless
said.

Symbols: W live weight without conceptus and fleece [kg]; D dry matter eaten [kg/d]; q energy
density of the ration [MJ ME/kg DM]; L level of feeding, ME over that of maintenance [-]; Z size
relative to the mature animal [-]. CSIRO (2007) Nutrient Requirements of Domesticated Ruminants, not
itself at hand: status (b) unless said. (c) common practice or our own choice.
"""

from __future__ import annotations

from math import exp, inf, log, pow, sqrt
from types import MappingProxyType

from rationlp.farm.feed import Feed
from rationlp.needs.energy import GE_MJ_PER_KG_DM, EnergyNeed
from rationlp.records import dataclass

SOURCE = "CSIRO (2007) Nutrient Requirements of Domesticated Ruminants, from memory"
_PER_Q = GE_MJ_PER_KG_DM
USES = ((0.02 * _PER_Q, 0.5), (0.02 * _PER_Q, 0.4), (0.043 * _PER_Q, 0.0))
"""(slope, base) of the efficiencies for maintenance, milk and gain over metabolisability: km 0.5 +
0.02 q, kl 0.4 + 0.02 q, kg 0.043 q with q in MJ/kg DM.
"""

KP, EATING = 0.133, 0.09
GAIN_IN_MILK, LOSS_TO_MILK, LOSS_TO_MAINTENANCE = 0.95, 0.84, 0.80
EMPTY_BODY = 1.09
"""Live-weight gain over gain of the empty body [-]."""

KM_WALKED_MJ = 0.0026
"""Net energy of a kilometre walked [MJ/kg W]."""

DPLS_EFFICIENCY, WOOL_EFFICIENCY = 0.7, 0.6
FAECAL_G_PER_KG_DM = 15.2
FAECAL_DPLS_G_PER_KG_DM = FAECAL_G_PER_KG_DM / DPLS_EFFICIENCY
DPLS_PER_MICROBIAL_CP = 0.6
WOOL_CLEAN, WOOL_MJ_PER_KG = 0.7, 24.0
OUTFLOW_PER_H = 0.02
"""Outflow by which our a, b and c become the share degraded at maintenance [/h]: own bridge (c)."""


@dataclass(frozen=True)
class Species:
    """Constants of cattle or sheep. keep: of fasting heat [MJ/kg W^0.75]; milk_mj, milk_protein_g:
    a kg of milk. k, energy, protein: of pregnancy (term [d]; b and c; MJ and g a kg at birth).
    """

    keep: float
    term_days: float
    k: float
    energy: tuple[float, float, float]
    protein: tuple[float, float, float]


CATTLE = Species(0.36, 285.0, 1.8, (4.11, 343.5, 0.0164), (134.0, 6.22, 0.747))
SHEEP = Species(0.26, 150.0, 1.43, (4.33, 4.37, 0.965), (145.0, 4.56, 0.90))
SHEEP_DAYS_LATER = 3.0
"""Our term of a ewe is 147 days, that of these equations 150: so many days are added [d] (c)."""

MATURE_KG = MappingProxyType({"early": 450.0, "medium": 550.0, "late": 650.0})
"""Mature weight of a female by maturity [kg] (c)."""
OF_FEMALE = MappingProxyType(
    {"heifer": 1.0, "female": 1.0, "steer": 1.2, "castrate": 1.2, "bull": 1.4, "male": 1.4}
)
"""Mature weight by sex over that of a female [-]."""


def fasting(
    species: Species, live_weight_kg: float, age_days: float, entire: bool = False
) -> float:
    """E0 [MJ/d] = c2 W^0.75 max(e^(−0.00008 age), 0.84), × 1.15 for entire males past a year."""
    aged = max(exp(-0.00008 * age_days), 0.84)
    return species.keep * pow(live_weight_kg, 0.75) * aged * (1.15 if entire else 1.0)


def size(live_weight_kg: float, mature_kg: float) -> float:
    """Z [-], at a condition of 3."""
    return min(1.0, live_weight_kg / mature_kg)


def _fall_with_size(z: float) -> float:
    return 1.0 / (1.0 + exp(6.0 * (z - 0.4)))


def gain_energy(z: float, level: float) -> float:
    """MJ in a kg of empty-body gain = 27 − f1 (20.3 − 2 (L − 2)), at a condition of 3."""
    return 27.0 - _fall_with_size(z) * (20.3 - 2.0 * (level - 2.0))


def gain_energy_a_level(z: float) -> float:
    """What a level of feeding more adds to a kg of empty-body gain [MJ/kg]: 2 f1."""
    return 2.0 * _fall_with_size(z)


def gain_protein(z: float, level: float) -> float:
    """g protein in a kg of empty-body gain = 72 + f1 (140 − 8 (L − 2))."""
    return 72.0 + _fall_with_size(z) * (140.0 - 8.0 * (level - 2.0))


def _laid_down(
    birth_kg: float, k: float, figures: tuple[float, float, float], share: float
) -> float:
    each, b, c = figures
    u = exp(c * (1.0 - share))
    return each * k * birth_kg * b * c * u * exp(b * (1.0 - u))


def pregnancy_energy(species: Species, birth_kg: float, day: float) -> float:
    """Ep [MJ/d] laid down on a day from conception, birth_kg of all the young [kg]."""
    share = day / species.term_days
    return _laid_down(birth_kg, species.k, species.energy, share) / species.term_days


def pregnancy_protein(species: Species, birth_kg: float, day: float) -> float:
    """Protein laid down for the young [g/d]."""
    share = day / species.term_days
    return _laid_down(birth_kg, species.k, species.protein, share) / species.term_days


def wool_energy(clean_kg: float, z: float) -> float:
    """Ew [MJ/d] = 24 max(0, w − 0.004 Z)/0.7, w clean wool [kg/d]."""
    return WOOL_MJ_PER_KG * max(0.0, clean_kg - 0.004 * z) / WOOL_CLEAN


def endogenous_protein(species: Species, live_weight_kg: float) -> float:
    """Lost in urine and skin [g/d]: cattle 16.1 ln W − 42.2 + 0.11 W^0.75, sheep 0.147 W + 3.375.
    What is lost in dung goes with eating (`FAECAL_G_PER_KG_DM`).
    """
    if species is CATTLE:
        return 16.1 * log(live_weight_kg) - 42.2 + 0.11 * pow(live_weight_kg, 0.75)
    return 0.147 * live_weight_kg + 3.375


@dataclass(frozen=True)
class CsiroEnergy(EnergyNeed):
    """ME = [E0/km + milk/kl + (gain + wool)/kg + pregnancy/0.133]/0.91, at the level of feeding
    that it makes itself.

    The fields are those of `EnergyNeed`; `eg` is what a level of feeding more adds to the energy of
    gain [MJ/d]. With every efficiency linear in q this need is concave in the dry matter eaten.
    """

    def _uses(self, q: float) -> tuple[tuple[float, float, float], ...]:
        """1/efficiency of the three uses and its two derivatives in q."""
        found = []
        for slope, base in USES:
            efficiency = slope * q + base
            ratio = slope / efficiency
            found.append((1 / efficiency, -ratio / efficiency, 2 * ratio * ratio / efficiency))
        return tuple(found)

    def terms(self, q: float) -> tuple[float, float, float]:
        """ME before the margin [MJ/d], with its two derivatives in q; (inf, 0, 0) at q 0.

        M − A = G L and L = M/(K + 0.09 M): a quadratic in M, derived by its own equation.
        """
        if q <= 0.0:
            return inf, 0.0, 0.0
        keep, milk, gain = self._uses(q)
        a, g, k = [], [], []
        for order in range(3):
            uses = (self.em + self.over_km) * keep[order] + self.over_kl * milk[order]
            uses += self.over_kf * gain[order] + (self.fixed_me if order == 0 else 0.0)
            a.append(uses / (1.0 - EATING))
            g.append(self.eg * gain[order] / (1.0 - EATING))
            k.append(self.em * keep[order])
        b = [k[n] - EATING * a[n] - g[n] for n in range(3)]
        ak1, ak2 = a[1] * k[0] + a[0] * k[1], a[2] * k[0] + 2 * a[1] * k[1] + a[0] * k[2]
        me = (sqrt(b[0] * b[0] + 4 * EATING * a[0] * k[0]) - b[0]) / (2 * EATING)
        steep = 2 * EATING * me + b[0]
        first = (ak1 - b[1] * me) / steep
        second = (ak2 - 2 * EATING * first * first - 2 * b[1] * first - b[2] * me) / steep
        return me, first, second

    def required(self, q: float) -> tuple[float, float, float]:
        """ME requirement [MJ/d] at q, margin included, with its first and second derivative."""
        value, first, second = self.terms(q)
        return self.margin * value, self.margin * first, self.margin * second

    def feeding_level(self, q: float) -> float:
        """L [-]: M/(E0/km + 0.09 M), without margin."""
        me = self.terms(q)[0]
        if me == inf:
            return inf
        return me / (self.em * self._uses(q)[0][0] + EATING * me)

    def level_slope(self, q: float) -> float:
        """A positive multiple of the slope of L in q: L grows with M km alone."""
        value, first, _ = self.terms(q)
        slope, base = USES[0]
        return first * (slope * q + base) + value * slope


def microbial_yield(level: float) -> float:
    """g microbial CP/MJ FME = 7 + 5 (1 − e^(−0.35 L))."""
    return 7.0 + 5.0 * (1.0 - exp(-0.35 * level))


def supply_of(
    feed: Feed, crude_g: float, fractions: tuple[float, float, float], level: float
) -> tuple[float, float, float]:
    """(FME [MJ], RDP [g], digested UDP [g]) of a kg DM at a level of feeding.

    Degraded: [a + b c/(c + 0.02)] (1 − 0.1 (L − 1)); urea wholly at every level (c).
    """
    a, b, c = fractions
    degraded = a + (b * c / (c + OUTFLOW_PER_H) if b > 0.0 else 0.0)
    if feed.kind != "npn":
        degraded = min(1.0, max(0.0, degraded * (1.0 - 0.1 * (level - 1.0))))
    passing = crude_g * (1.0 - degraded)
    if feed.is_forage:
        digested = min(max(5.5 * crude_g / 1000.0 - 0.178, 0.05), 0.85) * passing
    else:
        bound = 6.25 * (feed.value("adin_g_n_per_kg_dm") or 0.0)
        digested = 0.9 * max(0.0, passing - bound)
    oil = (feed.value("oil_g_per_kg_dm") or 0.0) / 1000.0
    me = feed.value("me_mj_per_kg_dm") or 0.0
    fme = max(0.0, me - 14.0 * passing / 1000.0 - 36.0 * oil)
    return fme, crude_g * degraded, digested
