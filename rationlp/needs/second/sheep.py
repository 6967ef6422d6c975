"""Which figures of other standards hold for which class of sheep, each beside ours."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from rationlp.farm.traits import traits
from rationlp.needs import sheep as ours
from rationlp.needs.energy import km
from rationlp.needs.objects import MILK_NE, MILK_VALUE, YOUNG_WEIGHT
from rationlp.needs.second import opinion as about
from rationlp.needs.second import sheep_equations as theirs
from rationlp.needs.second import tables
from rationlp.needs.second.opinion import Case, Method, Opinion, method

_NRC = "NRC (1985) sheep"
NRC_MAINTENANCE = Method(
    _NRC, tables.NRC_EWE_MAINTENANCE.source, "a", tables.NRC_EWE_MAINTENANCE.valid
)
NRC_EARLY = Method(
    _NRC, tables.NRC_EWE_EARLY_PREGNANCY.source, "a", tables.NRC_EWE_EARLY_PREGNANCY.valid
)
NRC_FLUSHING = Method(_NRC, tables.NRC_EWE_FLUSHING.source, "a", tables.NRC_EWE_FLUSHING.valid)
NRC_SEVENTY = method("sheep_nrc_seventy")
MEASURED = method("sheep_measured")
IPCC = method("sheep_ipcc")
VICTORIA = Method(
    "Victoria table", tables.VICTORIA_EWE_MILKING.source, "a", tables.VICTORIA_EWE_MILKING.valid
)
GRAZING_LAMB = method("sheep_grazing_lamb")

_MEASURED_RANGE = (29.0, 70.0)
_LAMB_RANGE = (30.0, 40.0)
_FIRST_FIFTEEN_WEEKS_TO_LAMBING = 42.0
_LAST_FOUR_WEEKS = 28.0
_EARLY_LACTATION_WEEKS = 8.0
_FLUSHED_FROM, _FLUSHED_TO = 0.075, 0.125
"""A dry ewe that gains so much a day [kg] is set beside the flushing row; (c)."""


def _sex(case: Case) -> str:
    if case.needs.animal_class == "ram":
        return "male"
    return case.word("sex", "female")


def measured(case: Case) -> tuple[Opinion, ...]:
    """Maintenance by calorimetry, the mean of all sheep, and that of the sex of this group."""
    weight, sex = case.weight, _sex(case)
    inside = _MEASURED_RANGE[0] <= weight <= _MEASURED_RANGE[1]
    older = ", measured on younger sheep"
    if traits(case.needs.animal_class).growing:
        older = ""
    opinions = []
    for words, each in (
        ("mean of all", theirs.MEASURED_MAINTENANCE),
        (f"{sex}s", theirs.MEASURED_BY_SEX[sex]),
    ):
        value = theirs.measured_maintenance_me(weight, each) if inside else None
        equation = f"{each:g} × {weight:g}^0.75 ({words}); ours Em/km{older}"
        bare = about.ME_MAINTENANCE_BARE
        opinions.append(MEASURED.says(bare, value, case.maintenance_me, equation))
    return tuple(opinions)


def ipcc_maintenance(case: Case) -> tuple[Opinion, ...]:
    """Net energy of maintenance and activity by IPCC, from the same British figures."""
    name, weight = case.needs.animal_class, case.weight
    young = traits(name).growing
    kept = case.word("kept", "housed")
    place = "housed_lamb" if name == "lamb" and kept == "housed" else kept
    rest = theirs.ipcc_maintenance(weight, young, entire=_sex(case) == "male")
    equation = (
        f"{rest:.2f} + {theirs.IPCC_ACTIVITY[place]:g} × {weight:g}; same British origin as ours"
    )
    value = rest + theirs.ipcc_activity(weight, place)
    return (IPCC.says(about.NET_MAINTENANCE, value, case.energy.em, equation),)


def ipcc_pregnancy(case: Case) -> tuple[Opinion, ...]:
    """ME of pregnancy, the mean of all its days, by IPCC beside ours; nothing where ours counts
    none, or above three lambs.
    """
    lambs, litter = int(case.fact("lambs_carried")), case.step(YOUNG_WEIGHT)
    if litter <= 0.0 or lambs not in theirs.IPCC_PREGNANCY_SHARE:
        return ()
    keep = theirs.ipcc_pregnancy(case.weight, lambs, case.needs.animal_class == "ewe_lamb")
    term = int(ours.GESTATION_DAYS)
    mean = sum(ours.pregnancy_me(litter, float(day)) for day in range(1, term + 1)) / term
    share = theirs.IPCC_PREGNANCY_SHARE[lambs]
    equation = (
        f"{share:g} × its maintenance = {keep:.2f} net, met with km; ours the mean of all days"
    )
    return (IPCC.says(about.ME_PREGNANCY_TERM, keep / km(case.q), mean, equation),)


def ipcc_milk(case: Case) -> tuple[Opinion, ...]:
    """Net energy of a ewe's milk by IPCC."""
    each, mine = case.step(MILK_VALUE), case.step(MILK_NE)
    milk = mine / each if each else 0.0
    return (IPCC.says(about.NET_MILK, theirs.ipcc_milk(milk), mine, f"4.6 × {milk:.2f}", "b"),)


def nrc_dry(case: Case) -> tuple[Opinion, ...]:
    """A dry ewe's whole need by NRC (1985): with 10 g of gain, or flushed where she gains 100 g."""
    if _FLUSHED_FROM <= case.fact("live_weight_change_kg_per_day") <= _FLUSHED_TO:
        method, row = NRC_FLUSHING, tables.NRC_EWE_FLUSHING
        gain, words = tables.NRC_FLUSHING_GAIN, "flushing"
    else:
        method, row = NRC_MAINTENANCE, tables.NRC_EWE_MAINTENANCE
        gain, words = tables.NRC_MAINTENANCE_GAIN, "maintenance"
    mine = case.whole_me_if(live_weight_change_kg_per_day=gain)
    equation = (
        f"printed, {words}, read at {case.weight:g} kg; ours at {1000.0 * gain:g} g of gain a"
        " day too"
    )
    return (method.says(about.ME_WHOLE, row.at(case.weight), mine, equation),)


def _seventy(case: Case, value: float) -> float | None:
    low, high = tables.NRC_SINGLE_WEIGHT
    return value if low <= case.weight <= high else None


def nrc_pregnant(case: Case) -> tuple[Opinion, ...]:
    """A pregnant ewe's need by NRC (1985): first fifteen weeks or last four; nothing between."""
    days, lambs = case.fact("days_to_lambing"), int(case.fact("lambs_carried"))
    if days >= _FIRST_FIFTEEN_WEEKS_TO_LAMBING:
        row = tables.NRC_EWE_EARLY_PREGNANCY
        mine = case.whole_me_if(live_weight_change_kg_per_day=tables.NRC_EARLY_GAIN)
        equation = (
            f"printed, first 15 weeks, read at {case.weight:g} kg; ours at 30 g of gain a day too"
        )
        return (NRC_EARLY.says(about.ME_WHOLE, row.at(case.weight), mine, equation),)
    if days > _LAST_FOUR_WEEKS:
        return ()
    value = tables.NRC_EWE_LATE_PREGNANCY[min(lambs, 2)]
    words = "130–150 % lambing" if lambs == 1 else "180–225 % lambing"
    equation = f"printed, last four weeks, {words}; ours {days:g} days before lambing"
    return (NRC_SEVENTY.says(about.ME_WHOLE, _seventy(case, value), case.whole_me, equation),)


def nrc_milking(case: Case) -> tuple[Opinion, ...]:
    """The whole need of a ewe in milk by NRC (1985), first eight weeks, one or two lambs."""
    lambs = int(case.fact("lambs_suckled"))
    if (
        case.fact("week_of_lactation") > _EARLY_LACTATION_WEEKS
        or lambs not in tables.NRC_EWE_MILKING
    ):
        return ()
    value = _seventy(case, tables.NRC_EWE_MILKING[lambs])
    equation = f"printed, early lactation, {'one lamb' if lambs == 1 else 'two lambs'}"
    return (NRC_SEVENTY.says(about.ME_WHOLE, value, case.whole_me, equation),)


def victoria_ewe(case: Case) -> tuple[Opinion, ...]:
    """The whole need of a ewe at grass with one lamb: last four weeks of pregnancy, or in milk."""
    milking = case.needs.animal_class == "ewe_milking"
    lambs = case.fact("lambs_suckled" if milking else "lambs_carried")
    if lambs != 1.0 or (not milking and case.fact("days_to_lambing") > _LAST_FOUR_WEEKS):
        return ()
    row = tables.VICTORIA_EWE_MILKING if milking else tables.VICTORIA_EWE_LATE_PREGNANCY
    stage = "in milk" if milking else "last four weeks"
    equation = f"printed, one lamb, {stage}, read at {case.weight:g} kg; at grass"
    return (VICTORIA.says(about.ME_WHOLE, row.at(case.weight), case.whole_me, equation),)


def grazing_lamb(case: Case) -> tuple[Opinion, ...]:
    """The whole need of a lamb by a rule for grazing lambs."""
    gain = case.fact("gain_kg_per_day")
    equation = f"9 + 4 × {10.0 * gain:g} (100 g of gain); at grass"
    value = None
    if _LAMB_RANGE[0] <= case.weight <= _LAMB_RANGE[1]:
        value = theirs.grazing_lamb_me(gain)
    return (GRAZING_LAMB.says(about.ME_WHOLE, value, case.whole_me, equation),)


Teller = Callable[[Case], tuple[Opinion, ...]]
OF_CLASS: MappingProxyType[str, tuple[Teller, ...]] = MappingProxyType(
    {
        "ewe_dry": (nrc_dry, measured, ipcc_maintenance),
        "ewe_pregnant": (nrc_pregnant, victoria_ewe, measured, ipcc_maintenance, ipcc_pregnancy),
        "ewe_milking": (nrc_milking, victoria_ewe, measured, ipcc_maintenance, ipcc_milk),
        "ewe_lamb": (measured, ipcc_maintenance, ipcc_pregnancy),
        "lamb": (grazing_lamb, measured, ipcc_maintenance),
        "ram": (measured, ipcc_maintenance),
    }
)
"""What is set beside ours for each class of sheep."""
