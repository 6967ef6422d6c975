"""Stage 2: what a head of each group needs, and the limits its ration must keep.

`group_needs` puts together what the rooms of this stage work out: cattle_classes (energy and
protein), intake (cap, appetite, fibre), limits (shares of the diet). `expected_gain` asks the
growth equations the other way round.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import inf
from types import MappingProxyType

from rationlp.errors import Finding, InputError, nearest_or
from rationlp.farm.farm import Margins
from rationlp.farm.group import AFRC, CSIRO, NRC, Group
from rationlp.farm.traits import traits
from rationlp.halving import halve
from rationlp.needs.cattle_classes import REQUIREMENTS as CATTLE_REQUIREMENTS
from rationlp.needs.cattle_classes import growing_cattle_as_published
from rationlp.needs.cohort_needs import mean_intake, mean_milker_intake, mean_requirement
from rationlp.needs.csiro_classes import CSIRO_REQUIREMENTS
from rationlp.needs.dairy_margins import margins_for, milking_margin_remark
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.ewe_appetite import late_ewe
from rationlp.needs.forage import forage_stage
from rationlp.needs.growing_appetite import settings as growing_settings
from rationlp.needs.intake import appetite_floor, intake_cap
from rationlp.needs.limits import (
    ClassRow,
    class_figure,
    class_row,
    diet_limits,
    typical_density,
    with_protein_by_weight,
    with_urea_by_weight,
    without_urea,
)
from rationlp.needs.minerals import mineral_needs
from rationlp.needs.near_calving import lime_kept_out
from rationlp.needs.nrc import EATING_G_PER_KG_DM
from rationlp.needs.nrc_classes import NRC_REQUIREMENTS
from rationlp.needs.nrc_classes import offered as offered_by_nrc
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.needs.objects import DietLimit, GroupNeeds, IntakeCap, MineralNeed, Requirement, Step
from rationlp.needs.sheep_classes import SHEEP_REQUIREMENTS
from rationlp.needs.sheep_minerals import sheep_mineral_needs
from rationlp.needs.standards import STANDARDS

REQUIREMENTS = MappingProxyType({**CATTLE_REQUIREMENTS, **SHEEP_REQUIREMENTS})
_BY_STANDARD = MappingProxyType(
    {AFRC: REQUIREMENTS, CSIRO: CSIRO_REQUIREMENTS, NRC: NRC_REQUIREMENTS}
)
STATED = "stated"
KNOWN_CLASSES: tuple[str, ...] = (*REQUIREMENTS, STATED)
ENERGY_CEILING = 1.10
"""Most ME of a dry cow, dry ewe, ram or bull at rest as a multiple of the need [-], so that cheap
energy does not fatten them; common practice, no source; (c).
"""

MAINT_FACTOR_WITH_MARGIN = 1.10
_GAIN_MOST = 3.0
_GAIN_STEPS = 32


def group_needs(group: Group, margins: Margins) -> GroupNeeds:
    """Requirements and limits of one head of a group on one day.

    Raises InputError: class not known (IN404), intake equation not known for the class (IN403), a
    gain that the growth curve cannot make (IN401) or that is a loss (IN402).
    """
    if group.animal_class == STATED:
        return _stated(group)
    overall, margins = margins, group_margins(group, margins)
    need = _requirement(group, margins)
    cap = mean_intake(group)
    row = class_row(group.animal_class, group.facts)
    weight = group.number("live_weight_kg")
    limits, fill = _limits(group, row.diet_column, cap), _fill_steps(group, weight)
    floor_kg, floor_share = appetite_floor(group, cap)
    stage = forage_stage(group.animal_class, group.facts)
    ceiling = _ceiling(group, need)
    totals = _total_steps(need, margins, limits, standard_of(group))
    return GroupNeeds(
        group=group.id,
        animal_class=group.animal_class,
        steps=(*need.steps, *totals, _intake_step(cap), *fill),
        energy=need.energy,
        mp_g=need.mp_g,
        mp_margin=margins.mp,
        intake=cap,
        appetite_floor_kg_dm=floor_kg,
        appetite_floor_share=floor_share,
        ndf_fill_kg=fill[0].value if fill else None,
        energy_ceiling=ceiling,
        ceiling_priced=ceiling is not None and group.fed == "to_appetite",
        limits=limits,
        own_limits=group.quantity_limits,
        live_weight_kg=weight,
        remarks=(*need.remarks, *_remarks(group, row, margins, overall)),
        limits_key=row.limits_key or None,
        believability=row.believability or None,
        colostrum_mp_g=need.colostrum_mp_g,
        wool_mp_g=need.wool_mp_g,
        priced_mp_g=need.priced_mp_g,
        forage_stage=stage,
        late_ewe=late_ewe(group, stage),
        minerals=_minerals(group, row, cap),
        growing_forage=growing_settings(group.animal_class, group.facts).silage_rows,
        species="sheep" if traits(group.animal_class).sheep else "cattle",
        lime_kept_out=lime_kept_out(group),
        milker=mean_milker_intake(group),
        standard=standard_of(group),
        reserve_mj=group.reserve_mj,
    )


NO_MARGINS = Margins(1.0, 1.0, 1.0)


def _minerals(group: Group, row: ClassRow, cap: IntakeCap) -> tuple[MineralNeed, ...]:
    needs = sheep_mineral_needs if traits(group.animal_class).sheep else mineral_needs
    return needs(group, row.diet_column, cap.cap_kg_dm)


def _remarks(group: Group, row: ClassRow, margins: Margins, overall: Margins) -> tuple[str, ...]:
    """Sentences on weight, feeding, margins and the standard."""
    of_margins: tuple[str, ...] = ()
    if STANDARDS[standard_of(group)].margins:
        of_margins = tuple(milking_margin_remark(group, margins, overall))
    return (
        *_weight_remarks(row, group.number("live_weight_kg")),
        *_feeding_remarks(group, margins),
        *of_margins,
        *_standard_remarks(group),
    )


def group_margins(group: Group, margins: Margins) -> Margins:
    """The margins that hold for a group: none by a standard that has none."""
    if STANDARDS[standard_of(group)].margins:
        return margins_for(group, margins)
    return NO_MARGINS


def standard_of(group: Group) -> str:
    """A group's standard of needs: the one asked for if its class has it, else AFRC (1993)."""
    if group.standard == CSIRO and group.animal_class in CSIRO_REQUIREMENTS:
        return CSIRO
    if group.standard == NRC and offered_by_nrc(group):
        return NRC
    return AFRC


def second_standard_of(group: Group) -> str:
    """The standard that is set beside AFRC (1993) for a group: CSIRO (2007) for beef cattle and
    sheep, NRC (2001) for dairy cattle; AFRC (1993) where neither holds.
    """
    for name in (CSIRO, NRC):
        if standard_of(replace(group, standard=name)) == name:
            return name
    return AFRC


def requirement_of(group: Group) -> Callable[[Group, Margins], Requirement]:
    """The function of the group's class, by its standard."""
    return _BY_STANDARD[standard_of(group)][group.animal_class]


def _standard_remarks(group: Group) -> tuple[str, ...]:
    if group.standard == AFRC:
        return ()
    title, whom = STANDARDS[group.standard].title, STANDARDS[group.standard].offered_for
    ours = STANDARDS[AFRC].title
    if standard_of(group) == AFRC:
        return (f"{title} is offered for {whom}: the needs of this group are those of {ours}.",)
    return (
        f"Energy and protein by {title}, without margins, since it has none; minerals, what can be"
        f" eaten and the limits of safety and practice are the same as under {ours}.",
    )


def _requirement(group: Group, margins: Margins) -> Requirement:
    """What a head of a group requires, by the equations of its class."""
    if group.animal_class not in REQUIREMENTS:
        raise InputError([_unknown_class(group)])
    return mean_requirement(requirement_of(group), group, margins)


def _limits(group: Group, column: str, cap: IntakeCap) -> tuple[DietLimit, ...]:
    """The limits on the whole diet of a group, by its column, facts, weight and intake."""
    weight = group.number("live_weight_kg")
    limits = without_urea(diet_limits(column), group.facts)
    limits = with_protein_by_weight(limits, column, weight)
    return with_urea_by_weight(limits, weight, cap.cap_kg_dm)


def _ceiling(group: Group, need: Requirement) -> float | None:
    """Energy above the need that is allowed [-], for classes that get too fat and bulls at rest."""
    its = traits(group.animal_class)
    if its.ceiling or (its.bull and need.energy.eg == 0.0):
        return ENERGY_CEILING
    return None


def _fill_steps(group: Group, weight: float) -> tuple[Step, ...]:
    """The NDF that the rumen holds [kg/d], for classes that have a figure of it."""
    fill = class_figure(group.animal_class, "ndf_fill", group.facts)
    if fill is None:
        return ()
    held, equation = fill.value * weight, f"{fill.value:g} × {weight:g}"
    return (Step("NDF that the rumen holds", held, "kg/d", equation, fill.source, fill.status),)


def _stated(group: Group) -> GroupNeeds:
    """A group that states its own needs: no requirement; an intake cap only if the farm has one."""
    cap = intake_cap(group)
    floor_kg, floor_share = appetite_floor(group, cap)
    return GroupNeeds(
        group=group.id,
        animal_class=STATED,
        steps=() if cap is None else (_intake_step(cap),),
        energy=None,
        mp_g=None,
        mp_margin=1.0,
        intake=cap,
        appetite_floor_kg_dm=floor_kg,
        appetite_floor_share=floor_share,
        ndf_fill_kg=None,
        energy_ceiling=None,
        ceiling_priced=False,
        limits=(),
        own_limits=group.quantity_limits,
        live_weight_kg=None,
    )


def _unknown_class(group: Group) -> Finding:
    name, other = group.animal_class, f"choose one of: {', '.join(KNOWN_CLASSES)}"
    remedy = nearest_or(name, KNOWN_CLASSES, other)
    return Finding("IN404", f'group "{group.id}", class', f'class "{name}" is not known', remedy)


def _intake_step(cap: IntakeCap) -> Step:
    equation = cap.equation
    if cap.per_kg_concentrate > 0.0:
        equation += f", and {cap.per_kg_concentrate:g} kg more for each kg DM of concentrate"
    return Step("intake cap", cap.cap_kg_dm, "kg DM/d", equation, cap.source, cap.status)


def _total_steps(
    need: Requirement, margins: Margins, limits: tuple[DietLimit, ...], standard: str
) -> tuple[Step, ...]:
    """ME at a usual energy density and MP, each with its margin: what a person checks by."""
    density = typical_density(limits)
    me = need.energy.required_mj(density / GE_MJ_PER_KG_DM)
    if isinstance(need.energy, NrcEnergy):
        return _net_steps(need, me)
    source = (
        f"{STANDARDS[standard].title}; size of the margin from memory of the publication"
        " unless the farm gives its own"
    )
    mp_g = need.mp_g + need.priced_mp_g
    equation = f"{mp_g:.0f} × {margins.mp:g}"
    name = "MP needed, margin included"
    mp = Step(name, mp_g * margins.mp, "g/d", equation, source, "b")
    if me == inf:
        return (mp,)
    equation = f"{me / margins.me:.1f} × {margins.me:g}; falls as the ration gets richer"
    name = f"ME needed on a ration of {density:g} MJ/kg DM, margin included"
    return Step(name, me, "MJ/d", equation, source, "b"), mp


def _net_steps(need: Requirement, net_mj: float) -> tuple[Step, ...]:
    """The same by NRC (2001), whose need is the same on every ration."""
    title, mp_g = STANDARDS[NRC].title, need.mp_g + need.priced_mp_g
    beside = f"beside {EATING_G_PER_KG_DM:g} g + 4.72/0.67 g for each kg DM eaten"
    return (
        Step("net energy needed", net_mj, "MJ/d", "sum of the above", title, "b"),
        Step("MP needed beside eating", mp_g, "g/d", f"sum of the above; {beside}", title, "b"),
    )


def _weight_remarks(row: ClassRow, weight: float) -> tuple[str, ...]:
    low, high = row.live_weight_low_kg, row.live_weight_high_kg
    if (low is not None and weight < low) or (high is not None and weight > high):
        span = f"{low:g} kg and over" if high is None else f"{low or 0.0:g}–{high:g} kg"
        meant = f"Class {row.animal_class} is meant for {span} (common practice)"
        return (f"{meant}; this group weighs {weight:g} kg.",)
    return ()


def _feeding_remarks(group: Group, margins: Margins) -> tuple[str, ...]:
    remarks = []
    if group.fed == "rationed":
        remarks.append("Fed a set amount below appetite: all animals must be able to eat at once.")
    if group.maint_factor != 1.0:
        remarks.append(
            f"Maintenance is multiplied by {group.maint_factor:g}, the farm's own figure."
        )
    if group.maint_factor > MAINT_FACTOR_WITH_MARGIN and margins.me > 1.0:
        remarks.append(
            f"A maintenance factor of {group.maint_factor:g} and an energy margin of {margins.me:g}"
            " are both applied: together they may ask for more than is needed."
        )
    return tuple(remarks)


def expected_gain(
    group: Group,
    me_mj: float,
    dm_kg: float,
    mp_g: float | None = None,
    maint_factor: float = 1.0,
    *,
    as_published: bool = False,
) -> float:
    """Gain [kg/d] that a ration allows a growing animal: the largest whose needs, without margins,
    are covered.

    as_published: by the printed equations of AFRC (1993), where ours are put right for growing
    cattle (honest_gain.py).

    me_mj, dm_kg, mp_g: supply a head a day [MJ, kg DM, g MP]; mp_g None looks at energy alone.
    maint_factor multiplies maintenance. Energy is taken at the ration's own q. 0 where the supply
    does not cover maintenance. AFRC (1993), growth equations; range W 75–650 kg, gains to 1.5 kg.
    The group's class must be one that grows.
    """
    if dm_kg <= 0.0:
        return 0.0
    q = me_mj / dm_kg / GE_MJ_PER_KG_DM
    requirement = requirement_of(group)
    if as_published and standard_of(group) == AFRC and traits(group.animal_class).gain_corrected:
        requirement = growing_cattle_as_published

    def covered(gain: float) -> bool:
        animal = replace(
            group, facts={**group.facts, "gain_kg_per_day": gain}, maint_factor=maint_factor
        )
        try:
            need = requirement(animal, NO_MARGINS)
        except InputError:
            return False
        return need.energy.required_mj(q) <= me_mj and (mp_g is None or need.mp_g <= mp_g)

    if not covered(0.0):
        return 0.0
    return halve(covered, 0.0, _GAIN_MOST, times=_GAIN_STEPS)[0]
