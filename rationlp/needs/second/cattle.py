"""Which figures of other standards hold for which class of cattle, each beside ours."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil
from types import MappingProxyType

from rationlp.farm.traits import traits
from rationlp.needs import cattle as ours
from rationlp.needs.cattle_classes import SUCKLER_MILK_FAT_G_PER_KG
from rationlp.needs.energy import KC, km
from rationlp.needs.objects import GROWTH_NE, MILK_NE, MILK_VALUE, YOUNG_WEIGHT
from rationlp.needs.second import cattle_equations as theirs
from rationlp.needs.second import opinion as about
from rationlp.needs.second import tables
from rationlp.needs.second.opinion import Case, Method, Opinion, method

MAFF = method("cattle_maff")
IPCC = method("cattle_ipcc")
NRC_DAIRY = method("cattle_nrc_dairy")
NRC_BEEF = method("cattle_nrc_beef")
FINLAND = method("cattle_finland")
PRODUCTION_DATA = method("cattle_production_data")
MEASURED_COW = method("cattle_measured_cow")
MEASURED_BULL = method("cattle_measured_bull")
VICTORIA = Method(
    "Victoria table",
    tables.VICTORIA_COW_CALVING.source,
    "a",
    f"{tables.VICTORIA_COW_CALVING.valid}, grown cows",
)
HEIFER_TABLE = Method(
    "New Zealand heifer table",
    tables.HEIFER_MAINTENANCE.source,
    "a",
    f"{tables.HEIFER_MAINTENANCE.valid}, up to 1 kg a day",
)

MATURE_WEIGHT_KG = MappingProxyType({"early": 550.0, "medium": 650.0, "late": 700.0})
"""Mature weight of a female [kg] by maturity, where the group does not give one; (c)."""

USUAL_LACTOSE_G_PER_KG = 48.5
"""Lactose of milk [g/kg] where the group gives none: common practice, no source (c)."""

_MAFF_RANGE = (100.0, 700.0)
_BULL_RANGE = (200.0, 400.0)
_DAYS_A_MONTH, _DAYS_A_YEAR = 30.4, 365.0
_SIX_MONTHS_TO_CALVING = (85.0, 110.0)
_AT_CALVING = 7.0


def _within(weight: float, span: tuple[float, float]) -> bool:
    return span[0] <= weight <= span[1]


def _kind(case: Case) -> str:
    if traits(case.needs.animal_class).milking:
        return "milking"
    return "bull" if _sex(case) == "bull" else "other"


def _sex(case: Case) -> str:
    usual = "heifer"
    if traits(case.needs.animal_class).bull:
        usual = "bull"
    return case.word("sex", usual)


def _maff_maintenance(case: Case) -> float | None:
    if _within(case.weight, _MAFF_RANGE):
        return theirs.maff_maintenance_me(case.weight)
    return None


def maff_maintenance(case: Case) -> tuple[Opinion, ...]:
    """Maintenance by MAFF (1975) beside ours with margin."""
    mine = case.margins.me * case.maintenance_me
    equation = f"8.3 + 0.091 × {case.weight:g}; ours Em/km × {case.margins.me:g}"
    return (MAFF.says(about.ME_MAINTENANCE, _maff_maintenance(case), mine, equation),)


def maff_milk(case: Case) -> tuple[Opinion, ...]:
    """Milk and the whole need of a cow in milk by MAFF (1975), without growth and pregnancy."""
    milk, change = case.step(MILK_NE), case.fact("live_weight_change_kg_per_day")
    per_kg = case.step(MILK_VALUE)
    allowed = theirs.maff_milk_me(case.fact("milk_kg_per_day"), per_kg)
    keep, sum_of, whole = _maff_maintenance(case), "maintenance + milk", None
    if keep is not None:
        whole = keep + allowed + theirs.maff_change_me(change)
    if change:
        sum_of += f" + change {theirs.maff_change_me(change):.1f}"
    bare = case.milking_me_bare(milk + ours.cow_change_over_kl(change))
    said = (
        f"1.694 × {per_kg:.3f} × {case.fact('milk_kg_per_day'):g}; ours El/kl × {case.margins.me:g}"
    )
    apart = f"{sum_of}; growth and calf apart"
    return (
        MAFF.says(about.ME_MILK, allowed, case.margins.me * case.milk_me, said, "b"),
        MAFF.says(about.ME_WHOLE, whole, case.margins.me * bare, apart, "b"),
    )


def ipcc_maintenance(case: Case) -> tuple[Opinion, ...]:
    """Net energy of maintenance by IPCC, housed."""
    kind = _kind(case)
    equation = f"{theirs.IPCC_MAINTENANCE[kind]:g} × {case.weight:g}^0.75, housed"
    value = theirs.ipcc_maintenance(case.weight, kind)
    return (IPCC.says(about.NET_MAINTENANCE, value, case.energy.em, equation),)


def ipcc_pregnancy(case: Case) -> tuple[Opinion, ...]:
    """ME of a pregnancy spread over a year, by IPCC; nothing before ours counts the calf."""
    calf = case.step(YOUNG_WEIGHT)
    if calf <= 0.0:
        return ()
    keep = theirs.ipcc_pregnancy(case.weight, _kind(case))
    grown = ours.conceptus_energy(ours.GESTATION_DAYS) - ours.conceptus_energy(0.0)
    laid_down = 0.025 * calf * grown
    equation = (
        f"0.10 × its maintenance = {keep:.2f} net, met with km; ours {laid_down:.0f} MJ laid"
        " down/(0.133 × 365)"
    )
    mine = laid_down / KC / _DAYS_A_YEAR
    return (IPCC.says(about.ME_PREGNANCY_YEAR, keep / km(case.q), mine, equation),)


def ipcc_milk(case: Case) -> tuple[Opinion, ...]:
    """Net energy of milk by IPCC."""
    milk = case.fact("milk_kg_per_day")
    fat = case.fact("milk_fat_g_per_kg", SUCKLER_MILK_FAT_G_PER_KG)
    equation = f"{milk:g} × (1.47 + 0.40 × {fat / 10.0:g} % fat)"
    return (IPCC.says(about.NET_MILK, theirs.ipcc_milk(milk, fat), case.step(MILK_NE), equation),)


def ipcc_growth(case: Case) -> tuple[Opinion, ...]:
    """Net energy of growth by IPCC; nothing where the group does not grow."""
    gain = case.fact("gain_kg_per_day")
    if gain <= 0.0:
        return ()
    sex = _sex(case)
    mature = case.fact("mature_weight_kg")
    given = mature > 0.0
    if not given:
        mature = MATURE_WEIGHT_KG[case.word("maturity", "late")]
    equation = (
        f"22.02 × ({case.weight:g}/({theirs.IPCC_SEX[sex]:g} × {mature:g}))^0.75 × {gain:g}^1.097"
        f"{'' if given else ', mature weight of a female assumed'}; ours with C4"
    )
    value = theirs.ipcc_growth(case.weight, mature, gain, sex)
    return (
        IPCC.says(about.NET_GROWTH, value, case.step(GROWTH_NE), equation, "a" if given else "c"),
    )


def nrc_dairy_maintenance(case: Case) -> tuple[Opinion, ...]:
    """Net energy of maintenance of a dairy cow by NRC (2001)."""
    equation = f"0.080 Mcal × {case.weight:g}^0.75"
    value = theirs.nrc_dairy_maintenance(case.weight)
    return (NRC_DAIRY.says(about.NET_MAINTENANCE, value, case.energy.em, equation),)


def nrc_dairy_milk(case: Case) -> tuple[Opinion, ...]:
    """Net energy of milk of a dairy cow by NRC (2001)."""
    milk, fat, protein = (
        case.fact(f"milk_{name}") for name in ("kg_per_day", "fat_g_per_kg", "protein_g_per_kg")
    )
    lactose = case.fact("milk_lactose_g_per_kg", USUAL_LACTOSE_G_PER_KG)
    given = "milk_lactose_g_per_kg" in case.group.facts
    equation = (
        f"{milk:g} × (0.0929 × {fat / 10.0:g} + 0.0547 × {protein / 10.0:g} + 0.0395 ×"
        f" {lactose / 10.0:g}) Mcal{'' if given else ', lactose assumed'}"
    )
    value = theirs.nrc_dairy_milk(milk, fat, protein, lactose)
    return (
        NRC_DAIRY.says(about.NET_MILK, value, case.step(MILK_NE), equation, "a" if given else "c"),
    )


def nrc_beef_maintenance(case: Case) -> tuple[Opinion, ...]:
    """Net energy of maintenance of cattle not in milk by NRC (1996) beef."""
    bull = _kind(case) == "bull"
    equation = f"0.077 Mcal × (0.96 × {case.weight:g})^0.75{' × 1.15' if bull else ''}"
    value = theirs.nrc_beef_maintenance(case.weight, bull)
    return (NRC_BEEF.says(about.NET_MAINTENANCE, value, case.energy.em, equation),)


def whole_dairy(case: Case) -> tuple[Opinion, ...]:
    """The whole need of a dairy cow in milk by two modern sources, without gain and pregnancy."""
    milk = case.step(MILK_NE)
    bare = case.milking_me_bare(milk)
    corrected = milk / theirs.ECM_MJ_PER_KG
    finnish = theirs.finnish_cow_me(case.weight, corrected)
    by_data = theirs.production_data_me(case.weight, milk)
    apart = "; change, growth and calf apart"
    equation = (
        f"0.63 × {case.weight:g}^0.75 + 5.0 × {corrected:.1f} kg energy-corrected milk{apart}"
    )
    regression = f"0.605 × {case.weight:g}^0.75 + {milk:.1f}/0.655{apart}"
    return (
        FINLAND.says(about.ME_WHOLE, finnish, case.margins.me * bare, equation),
        PRODUCTION_DATA.says(about.ME_WHOLE_BARE, by_data, bare, regression),
    )


def measured_dry_cow(case: Case) -> tuple[Opinion, ...]:
    """Maintenance of dry beef cows as it was measured."""
    value = theirs.MEASURED_DRY_COW * theirs.metabolic_weight(case.weight)
    equation = f"{theirs.MEASURED_DRY_COW:g} × {case.weight:g}^0.75; ours Em/km"
    return (MEASURED_COW.says(about.ME_MAINTENANCE_BARE, value, case.maintenance_me, equation),)


def measured_bull(case: Case) -> tuple[Opinion, ...]:
    """Net energy of maintenance of a growing bull as it was measured; nothing for other sexes."""
    if _sex(case) != "bull":
        return ()
    each, efficiency = theirs.MEASURED_GROWING_BULL, theirs.MEASURED_GROWING_BULL_KM
    value = each * efficiency * theirs.metabolic_weight(case.weight)
    equation = f"{each:g} ME × km {efficiency:g} × {case.weight:g}^0.75"
    shown = value if _within(case.weight, _BULL_RANGE) else None
    return (MEASURED_BULL.says(about.NET_MAINTENANCE, shown, case.energy.em, equation),)


def victoria_table(case: Case) -> tuple[Opinion, ...]:
    """The whole need of a dry beef cow six months in calf or at calving, the stages printed."""
    days = case.fact("days_to_calving")
    low, high = _SIX_MONTHS_TO_CALVING
    if low <= days <= high:
        row, stage = tables.VICTORIA_COW_SIX_MONTHS, "six months in calf"
    elif days <= _AT_CALVING:
        row, stage = tables.VICTORIA_COW_CALVING, "at calving"
    else:
        return ()
    mine = case.whole_me_if(live_weight_change_kg_per_day=0.0)
    equation = f"printed, {stage}, read at {case.weight:g} kg; ours at constant weight"
    return (VICTORIA.says(about.ME_WHOLE, row.at(case.weight), mine, equation),)


def heifer_table(case: Case) -> tuple[Opinion, ...]:
    """The whole need of a growing heifer, in calf or not, by a printed table; no other sex."""
    if _sex(case) != "heifer":
        return ()
    gain = case.fact("gain_kg_per_day")
    keep = tables.HEIFER_MAINTENANCE.at(case.weight)
    kilo = tables.HEIFER_KILO_OF_GAIN.at(case.weight)
    equation = f"read at {case.weight:g} kg: maintenance + {gain:g} × a kilo of gain"
    calf = 0.0
    if case.needs.animal_class == "in_calf_heifer":
        month = ceil((ours.GESTATION_DAYS - case.fact("days_to_calving")) / _DAYS_A_MONTH)
        calf = tables.HEIFER_PREGNANCY.get(min(month, max(tables.HEIFER_PREGNANCY)), 0.0)
        equation += f" + {calf:g} (month {month} in calf)" if calf else ""
    value = None if keep is None or kilo is None or gain > 1.0 else keep + gain * kilo + calf
    return (HEIFER_TABLE.says(about.ME_WHOLE, value, case.whole_me, equation),)


Teller = Callable[[Case], tuple[Opinion, ...]]
_MILK: tuple[Teller, ...] = (
    maff_maintenance,
    maff_milk,
    ipcc_maintenance,
    ipcc_milk,
    ipcc_pregnancy,
)
_DAIRY: tuple[Teller, ...] = (*_MILK, nrc_dairy_maintenance, nrc_dairy_milk, whole_dairy)
_GROWING: tuple[Teller, ...] = (
    maff_maintenance,
    heifer_table,
    measured_bull,
    ipcc_maintenance,
    ipcc_growth,
    nrc_beef_maintenance,
)

OF_CLASS: MappingProxyType[str, tuple[Teller, ...]] = MappingProxyType(
    {
        "dairy_cow_milking": _DAIRY,
        "first_calver_milking": (*_DAIRY, ipcc_growth),
        "dairy_cow_dry": (
            maff_maintenance,
            ipcc_maintenance,
            ipcc_pregnancy,
            nrc_dairy_maintenance,
        ),
        "suckler_cow_milking": _MILK,
        "suckler_cow_dry": (
            maff_maintenance,
            measured_dry_cow,
            victoria_table,
            ipcc_maintenance,
            ipcc_pregnancy,
            nrc_beef_maintenance,
        ),
        "in_calf_heifer": (*_GROWING, ipcc_pregnancy),
        "calf": _GROWING,
        "growing_cattle": _GROWING,
        "finishing_cattle": _GROWING,
        "cull_cow": (maff_maintenance, ipcc_maintenance, nrc_beef_maintenance),
        "breeding_bull": (maff_maintenance, ipcc_maintenance, ipcc_growth, nrc_beef_maintenance),
    }
)
"""What is set beside ours for each class of cattle."""
