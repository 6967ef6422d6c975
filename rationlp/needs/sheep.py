"""Energy and protein equations of sheep, AFRC (1993): one published equation a function, all net
energy unless said.

Symbols: W live weight [kg] (of a ewe without her lambs); dW live-weight change [kg/d]; t days from
conception [d], term 147; Y milk [kg/d]. "New Zealand inventory method" is the documentation of that
country's agricultural greenhouse-gas inventory (AFRC origin). Status: (a) checked in a text that
quotes the publication, (b) from memory of it, (c) common practice without a source.
"""

from __future__ import annotations

from math import exp, pow
from types import MappingProxyType

from rationlp.farm.group import Group
from rationlp.needs.energy import KC, KT
from rationlp.needs.terms import Activity, Linear, Power
from rationlp.records import dataclass

NZ_INVENTORY = (
    "AFRC (1993), as given in the New Zealand agricultural greenhouse-gas inventory method"
)
IPCC_AND_AFRC = "IPCC guidelines and AFRC (1993), from memory of the publications"
REMEMBERED = "AFRC (1993), from memory of the publication"
STATISTICS = "FAO statistics method for sheep"

GESTATION_DAYS = 147.0
"""Length of pregnancy of a ewe [d]; AFRC (1993), New Zealand inventory method; status (a)."""

LAST_STEP_DAYS = 7.0
"""The last step of pregnancy is at day 140: in the last week nobody feeds more; (c)."""

PREGNANCY_COUNTS_FROM_DAY = 63.0
"""Start of the range of the pregnancy equations [d]; before it the lambs need less than 0.4 MJ ME a
day; own calculation.
"""

CHANGE_MJ_PER_KG = 23.85
"""Net energy of a kg of change [MJ/kg]; AFRC (1993); (b). A loss was measured at 37–60."""

LATE_PREGNANCY_DAYS = 42.0
"""Days to lambing in which a loss is credited no energy, for fear of pregnancy toxaemia; (c)."""

COLOSTRUM_DAYS, COLOSTRUM_MP_G_PER_LAMB = 35.0, 20.0
"""Udder and colostrum [g MP a lamb a day]: from nothing five weeks before lambing up to 20 g at
lambing, in a straight line, so that protein steps up over weeks; common practice (c). A farming
paper's 100 g soya bean meal a scanned lamb a day over the last 2–3 weeks says the same; AFRC (1993)
has no such term.
"""

MP_GAIN_G_PER_KG = 140.0
"""MP of a ewe's gain [g/kg]; AFRC (1993), from memory; status (b). No credit is given for a loss:
tissue covers energy, not protein (Veterinary Record 106, 1980, abstract; status a).
"""

WOOL_MP_ADULT_G = 20.4
"""MP of wool of ewes and rams [g/d]; AFRC (1993), from memory; status (b)."""

FASTING_ADULT, FASTING_YOUNG = Power(0.23, 0.75, 1.08), Power(0.25, 0.75, 1.08)
LITTER_OF = MappingProxyType({1: Power(0.226, 0.73), 2: Power(0.361, 0.73)})
MILK_BY_FAT_AND_DAY = Linear((0.0328, 0.0025), 2.203)
MAINTENANCE = Power(2.1875, 0.75)
MP_G_PER_KG_MILK, MP_PER_NET_GAIN = 71.9, 1.695
WOOL_BASE_G, WOOL_PER_NET_GAIN = 11.54, 0.3846
"""Figures of the equations below, which name their sources; the printed steps show the same."""

WEIGHT_RANGE_KG = (15.0, 45.0)
GAIN_MOST_KG_PER_DAY = 0.35

ENTIRE_FACTOR = 1.15
"""Fasting metabolism of entire males [-]; AFRC (1993), from memory; status (b)."""


_CANADA = "Canadian government method for farm greenhouse gases"
ACTIVITY = MappingProxyType(
    {
        "housed": Activity(0.0096, "housed ewe", "a", _CANADA),
        "lowland": Activity(
            0.0107, "out of doors on flat ground", "a", "IPCC (2006/2019) tier 2 coefficients"
        ),
        "hill": Activity(0.0240, "out of doors on a hill", "a", _CANADA),
        "housed_lamb": Activity(0.0067, "housed lamb for finishing", "a", _CANADA),
    }
)
"""Activity allowances by where sheep are kept; IPCC (2006): 0.0090 for housed ewes (b)."""


@dataclass(frozen=True)
class LambGrowth:
    """EVg = a + b·W [MJ/kg gain] of a sex; protein True if the females' content of it holds."""

    a: float
    b: float
    female: bool = False


GROWTH = MappingProxyType(
    {
        "male": LambGrowth(2.5, 0.35),
        "castrate": LambGrowth(4.4, 0.32),
        "female": LambGrowth(2.1, 0.45, True),
    }
)
"""Energy of a kg of gain by sex; AFRC (1993) and IPCC guidelines; constants (b)."""

MILK_YIELD_KG = MappingProxyType(
    {
        ("lowland", 1): (2.10, 1.70, 1.05),
        ("lowland", 2): (3.00, 2.25, 1.50),
        ("hill", 1): (1.25, 1.05, 0.70),
        ("hill", 2): (1.90, 1.60, 1.10),
    }
)
"""Milk of a ewe by flock and lambs suckled in months 1, 2 and 3 [kg/d]: MAFF and ARC planning
figures, from memory; status (b). Their means, 1.62 and 2.25 kg lowland, agree with Finn × Blackface
ewes housed for 84 days (J. agric. Sci.; 1.60 and 2.44).
"""

TRIPLET_FACTOR = 1.05
"""Milk of a ewe suckling three against two [-]; MAFF and ARC planning figures; status (b)."""

MILK_FAT_G_PER_KG = 70.0
"""Fat of ewe's milk [g/kg], usual 50–100; a US university's sheep course; status (a)."""

WEEKS_A_MONTH = 4.0


def fasting_metabolism(live_weight_kg: float, adult: bool = True, entire: bool = False) -> float:
    """F [MJ/d] = 0.23 (W/1.08)^0.75 above one year, 0.25 (W/1.08)^0.75 below, × 1.15 for entire
    males.

    AFRC (1993). Coefficients 0.217 and 0.236 on W^0.75: IPCC tier 2, status (a); the form with
    1.08: from memory, (b). Range: dry fleece, no wind. Calorimetry of 131 sheep (a levy-board
    project, 2013–17) lies 40–53 % above it.
    """
    factor = ENTIRE_FACTOR if entire else 1.0
    return (FASTING_ADULT if adult else FASTING_YOUNG).of(live_weight_kg, times=factor)


def litter_weight(live_weight_kg: float, lambs: int) -> float:
    """Wo [kg], birth weight of the whole litter: singles 0.226 W^0.73, twins 0.361 W^0.73, W mating
    weight.

    Animal Production (1970), 15 breeds, ewes of 25–100 kg; status (a). Three and more: the
    reciprocal of the weight of a lamb is linear in the litter size (a study of 70 populations;
    status a), so b_n = 1/((n−1)/b_2 − (n−2)/b_1); four is an extrapolation.
    """
    single, twins = LITTER_OF[1].of(live_weight_kg), LITTER_OF[2].of(live_weight_kg)
    if lambs <= 0:
        return 0.0
    if lambs <= 2:
        return single if lambs == 1 else twins
    each = 1.0 / ((lambs - 1) * 2.0 / twins - (lambs - 2) / single)
    return lambs * each


def pregnancy_energy(litter_kg: float, days_pregnant: float) -> float:
    """Ec [MJ/d] = 0.25 Wo · Et · 0.07372 e^(−0.00643 t), log10 Et = 3.322 − 4.979 e^(−0.00643 t)
    [MJ, 4 kg lamb].

    AFRC (1993), New Zealand inventory method; status (a). 0.07372 = ln 10 · 4.979 · 0.00643. Range
    t 63–147 d.
    """
    decay = exp(-0.00643 * days_pregnant)
    return 0.25 * litter_kg * pow(10.0, 3.322 - 4.979 * decay) * 0.07372 * decay


def pregnancy_me(litter_kg: float, days_pregnant: float) -> float:
    """Mc [MJ ME/d] = Ec/0.133, fixed in q. AFRC (1993), New Zealand inventory method; (a)."""
    return pregnancy_energy(litter_kg, days_pregnant) / KC


def pregnancy_mp(litter_kg: float, days_pregnant: float) -> float:
    """MPc [g/d] = NPc/0.85, NPc = 0.25 Wo · TPt · 0.06744 e^(−0.00601 t), log10 TPt = 4.928 − 4.873
    e^(−0.00601 t) [g].

    AFRC (1993), from memory; status (b). 0.06744 = ln 10 · 4.873 · 0.00601. Range t 63–147 d.
    """
    decay = exp(-0.00601 * days_pregnant)
    return 0.25 * litter_kg * pow(10.0, 4.928 - 4.873 * decay) * 0.06744 * decay / 0.85


def colostrum_mp(lambs: int, days_to_lambing: float) -> float:
    """MP of udder and colostrum [g/d] = 20 · lambs · (1 − d/35), d days to lambing up to 35, the
    last week as its first day; (c).
    """
    days = min(max(days_to_lambing, LAST_STEP_DAYS), COLOSTRUM_DAYS)
    return COLOSTRUM_MP_G_PER_LAMB * lambs * (1.0 - days / COLOSTRUM_DAYS)


def milk_energy(fat_g_per_kg: float, day: float) -> float:
    """EVl [MJ/kg] = 0.0328 BF + 0.0025 d + 2.203, BF fat [g/kg], d day of lactation.

    AFRC (1993), from memory, status (b); the New Zealand inventory method has 0.0028 d and 2.2033
    (a). Range BF 50–100.
    """
    return MILK_BY_FAT_AND_DAY.of(fat_g_per_kg, day)


def milk_mp(milk_kg: float) -> float:
    """MPl [g/d] = 71.9 Y (48.9 g true protein a kg, efficiency 0.68). AFRC (1993); status (b)."""
    return MP_G_PER_KG_MILK * milk_kg


def milk_yield(flock: str, lambs: int, week: float) -> float:
    """Y [kg/d] by `MILK_YIELD_KG`, in months of four weeks; later than month 3 as month 3."""
    month = min(2, max(0, int((week - 1e-9) // WEEKS_A_MONTH)))
    yield_kg = MILK_YIELD_KG[(flock, min(lambs, 2))][month]
    if lambs >= 3:
        return yield_kg * TRIPLET_FACTOR
    return yield_kg


def usual_milk(group: Group) -> float:
    """Y [kg/d] of a group of ewes in milk by those planning figures."""
    lambs, week = int(group.number("lambs_suckled")), group.number("week_of_lactation")
    return milk_yield(group.text("flock"), lambs, week)


def loss_over_kl(loss_kg_per_day: float) -> float:
    """Net energy of milk [MJ/d] that a loss spares: 23.85 · 0.84 a kg. AFRC (1993); status (b)."""
    return CHANGE_MJ_PER_KG * KT * loss_kg_per_day


def gain_energy_value(live_weight_kg: float, sex: str) -> float:
    """EVg [MJ/kg gain] = a + b W by sex. AFRC (1993); status (b). Range W 15–45 kg."""
    row = GROWTH[sex]
    return row.a + row.b * live_weight_kg


def gain_protein(live_weight_kg: float, gain_kg_per_day: float, sex: str) -> float:
    """NPf [g/d]: males and castrates dW (160.4 − 1.22 W + 0.0105 W²), females dW (156.1 − 1.94 W +
    0.0173 W²).

    AFRC (1993). Males and castrates status (a), FAO statistics method for sheep; females from
    memory, (b). Range W 15–45 kg.
    """
    w = live_weight_kg
    if GROWTH[sex].female:
        return gain_kg_per_day * (156.1 - 1.94 * w + 0.0173 * w * w)
    return gain_kg_per_day * (160.4 - 1.22 * w + 0.0105 * w * w)


def gain_mp(net_protein_g: float) -> float:
    """MPf [g/d] = 1.695 NPf (efficiency 0.59). AFRC (1993), from memory; status (b)."""
    return MP_PER_NET_GAIN * net_protein_g


def lamb_wool_mp(net_protein_g: float) -> float:
    """MP of a lamb's wool [g/d] = 11.54 + 0.3846 NPf. AFRC (1993), from memory; status (b)."""
    return WOOL_BASE_G + WOOL_PER_NET_GAIN * net_protein_g


def maintenance_mp(live_weight_kg: float) -> float:
    """MPm [g/d] = 2.1875 W^0.75 (0.35 g N × 6.25). AFRC (1993), from memory; status (b)."""
    return MAINTENANCE.of(live_weight_kg)
