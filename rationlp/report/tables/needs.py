"""Tables of needs: each step with its source, along q, limits, over the winter, by others."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING

from rationlp.farm.group import NRC
from rationlp.needs.energy import metabolisability
from rationlp.needs.objects import GroupNeeds, Step
from rationlp.quantities import Quantity
from rationlp.report.tables.table import (
    Column,
    Table,
    decimals_of,
    known,
    quantity_column,
    reached,
    table_of,
    title_and_unit,
)
from rationlp.report.wording import from_to

if TYPE_CHECKING:
    from rationlp.needs.compare import Opinion
    from rationlp.needs.winter import WinterStep


ENERGY_DENSITIES = (9.0, 9.5, 10.0, 10.5, 11.0, 11.5, 12.0, 12.5)
"""Energy densities at which the requirement is shown [MJ ME/kg DM]: those of winter rations."""

_STEPS = (
    Column("step", "Step", of="name"),
    Column("value", "Value", "", 3),
    Column("unit", "Unit"),
    Column("equation", "How"),
    Column("source", "Source"),
    Column("status", "Status"),
)
NEEDS_OF = (
    Column("group", "Group", of=lambda pair: pair[0].group),
    Column("class", "Class", of=lambda pair: pair[0].animal_class),
)
"""Whose it is, where a row is made of the needs of a group and a part of them."""
_KEPT = {"row": "enforced", "priced": "enforced where it can be", "reported": "warning only"}
_STATUS_NOTE = (
    "Status: a = checked in a cited text, b = from memory of a named publication, c = common"
    " practice, no source."
)


def needs_table(needs: GroupNeeds | Iterable[GroupNeeds]) -> Table:
    """What a group requires, step by step, with equation and source; several in one table."""
    if isinstance(needs, GroupNeeds):
        title = f"{needs.group}: what a head requires a day"
        return table_of("needs", title, _steps(needs), _STEPS, (_STATUS_NOTE,))
    columns = (*NEEDS_OF, *reached(_STEPS, lambda pair: pair[1]))
    pairs = ((group, step) for group in needs for step in _steps(group))
    title = "What each group requires, a head a day"
    return table_of("needs", title, pairs, columns, (_STATUS_NOTE,))


def _steps(needs: GroupNeeds) -> tuple[Step, ...]:
    return (*needs.steps, *(step for need in needs.minerals for step in need.steps))


USUAL_DENSITIES = {"rich": 12.0, "usual": 11.0, "poor": 10.0}
"""Energy densities at which needs are shown in short [MJ ME/kg DM]."""


def main_needs_table(needs: Iterable[GroupNeeds]) -> Table:
    """What a head needs a day in short: ME at three densities [MJ], MP [g], most DM [kg]."""
    every = tuple(needs)
    columns = (
        Column("group", "Group"),
        *(
            _required_column(word, at, bool(net_note(every)))
            for word, at in USUAL_DENSITIES.items()
        ),
        quantity_column("mp_g", "MP", of="mp_required_g"),
        quantity_column("dm_kg", "Most dry matter", of=most_dm),
    )
    title = "What a head needs a day, margins included"
    return table_of("main_needs", title, every, columns, net_note(every))


NET = (
    "By NRC (2001) energy is net energy, the same on every ration, and MP is needed beside some"
    " 37 g that each kg of dry matter eaten asks for."
)


def net_note(needs: Iterable[GroupNeeds]) -> tuple[str, ...]:
    """What the figures of groups by NRC (2001) are; none where there is no such group."""
    if any(group.standard == NRC for group in needs):
        return (NET,)
    return ()


def _required_column(word: str, density: float, net: bool) -> Column:
    """Energy needed on a ration of this energy density [MJ ME/kg DM]. net: of some it is net."""
    energy = "Energy" if net else "ME"

    def required(needs: GroupNeeds) -> float | None:
        if needs.energy is None:
            return None
        return needs.energy.required_mj(metabolisability(density))

    return Column(f"me_mj_{word}", f"{energy} at {density:g} MJ/kg DM", "MJ", 0, of=required)


def most_dm(needs: GroupNeeds) -> float | None:
    """The most dry matter that a head eats a day [kg], where it is known."""
    if needs.intake is None:
        return None
    return needs.intake.cap_kg_dm


def energy_table(needs: GroupNeeds) -> Table:
    """ME requirement [MJ/d], margin included, and level of feeding at several energy densities of
    the whole ration.

    Empty for a group without an energy requirement; an energy density at which the gain cannot be
    made is left out.
    """
    columns = (
        quantity_column("me_mj_per_kg_dm", "Ration holds"),
        quantity_column("me_mj", "ME needed"),
        Column("level_of_feeding", "Level of feeding", "", 2),
        quantity_column("dm_kg", "Dry matter it takes"),
    )
    rows: list[tuple[object, ...]] = []
    for density in ENERGY_DENSITIES:
        if needs.energy is None or needs.standard == NRC:
            break
        q = metabolisability(density)
        required = needs.energy.required_mj(q)
        if required < float("inf"):
            rows.append((density, required, needs.energy.feeding_level(q), required / density))
    note = (
        "The requirement falls as the ration gets richer; the ration is solved with the requirement"
        " at its own density."
    )
    return Table(
        "energy", f"{needs.group}: ME needed, margin included", columns, tuple(rows), (note,)
    )


def minerals_table(needs: GroupNeeds) -> Table:
    """What must be absorbed of each mineral, what a feed lets absorb, what a diet usually holds."""
    columns = (
        Column("mineral", "Mineral", of=lambda need: title_and_unit(need.quantity, None)[0]),
        Column("absorbed_g", "To absorb", "g", 1),
        Column("absorbed_g_per_kg_dm", "and for a kg DM eaten", "g", 1),
        Column("from_forage", "From forage", "%", 0, of="absorption.forage", share=True),
        Column(
            "from_concentrate", "From concentrates", "%", 0, of="absorption.concentrate", share=True
        ),
        Column("from_mineral", "From minerals", "%", 0, of="absorption.mineral", share=True),
        Column("least", "Usual least", "g/kg DM", 1, of="target_low"),
        Column("most", "Usual most", "g/kg DM", 1, of="target_high"),
    )
    note = (
        "Percentages are what is absorbed. The usual contents of a diet are common practice, no"
        " source."
    )
    return table_of(
        "minerals",
        f"{needs.group}: minerals to be absorbed, a head a day",
        needs.minerals,
        columns,
        (note,),
    )


def limits_table(needs: GroupNeeds, own: Mapping[str, Quantity] | None = None) -> Table:
    """Limits on the whole diet: least, most, whose rule, whether the model keeps it."""
    columns = (
        Column("quantity", "Quantity"),
        Column("unit", "Unit"),
        Column("least", "Least", varies=True),
        Column("most", "Most", varies=True),
        Column("kept", "Enforced or advisory"),
        Column("status", "Status"),
        Column("whose", "Source of rule"),
    )
    rows: list[tuple[object, ...]] = []
    places: list[int] = []
    for limit in needs.limits:
        keeping = _KEPT[limit.kind]
        name = title_and_unit(limit.quantity, own)[0]
        rows.append(
            (name, limit.unit, limit.at_least, limit.at_most, keeping, limit.status, limit.whose)
        )
        places.append(decimals_of(limit.quantity, own))
    for own_limit in needs.own_limits:
        quantity, unit = known(own_limit.quantity, own), ""
        if quantity is not None:
            unit = quantity.unit
            if own_limit.per != "kg_dm":
                unit = f"{quantity.amount_unit} a head a day"
        name = title_and_unit(own_limit.quantity, own)[0]
        bounds = own_limit.at_least, own_limit.at_most
        rows.append((name, unit, *bounds, "enforced", "", "the farm's own figure"))
        places.append(decimals_of(own_limit.quantity, own))
    return Table(
        "limits", f"{needs.group}: limits on the diet", columns, tuple(rows), (), tuple(places)
    )


_STAGE = (
    ("days_to_calving", "d to calving"),
    ("days_to_lambing", "d to lambing"),
    ("week_of_lactation", "wk in milk"),
)


def stage_words(facts: dict[str, float | str]) -> str:
    """Where an animal stands: days to its young, or weeks in milk; empty for others."""
    return ", ".join(f"{float(facts[key]):.0f} {words}" for key, words in _STAGE if key in facts)


def _fact(key: str) -> Callable[[WinterStep], object]:
    return lambda step: step.group.facts.get(key)


def winter_needs_table(steps: Iterable[WinterStep]) -> Table:
    """Needs a head a day, one row a group, part and step. Dates are the first day of each step."""
    columns = (
        Column("group", "Group", of="group.id"),
        Column("from", "From", of=lambda step: step.first.isoformat()),
        Column("class", "Class", full=True, of="needs.animal_class"),
        Column("head", "Head", "", 0, of="group.head"),
        Column("live_weight_kg", "Weight", "kg", 0, True, _fact("live_weight_kg")),
        Column("stage", "Stage", of=lambda step: stage_words(step.group.facts)),
        Column("milk_kg_per_day", "Milk", "kg", 1, of=_fact("milk_kg_per_day")),
        quantity_column("me_mj", "ME needed"),
        quantity_column("me_mj_per_kg_dm", "at", full=True, of="density"),
        quantity_column("mp_g", "MP needed", of="needs.mp_required_g"),
        quantity_column("dm_kg", "Most DM", of=lambda step: most_dm(step.needs)),
    )
    every = tuple(steps)
    notes = (
        (
            "Margins included. ME is what is needed on a ration of the energy density beside it; it"
            " falls as the ration gets richer. Animals still to give birth are taken at the end of"
            " each step."
        ),
        *net_note(step.needs for step in every),
    )
    return table_of(
        "needs_over_winter", "Needs over the winter, a head a day", every, columns, notes
    )


_COLUMNS = (
    Column("quantity", "What is compared"),
    Column("method", "Standard"),
    Column("value_mj_per_day", "Theirs", "MJ/d", 1, of="value"),
    Column("ours_mj_per_day", "Ours", "MJ/d", 1, of="ours"),
    Column("difference_percent", "Theirs less ours", "%", 1, of="difference_share", share=True),
    Column("equation", "How"),
    Column("valid", "Holds for"),
    Column("source", "Source"),
    Column("status", "Status"),
)
_NOTES = (
    (
        "Ours: AFRC (1993) with the group's own maintenance factor, ME on a ration of the energy"
        " density usual for the class. Feeding tables and allowances stand beside our need with"
        " margin, measurements beside our need without. Parts of ME stand without the correction"
        " for the level of feeding, the whole with it."
    ),
    (
        "Standards draw the line between maintenance, growth and waste differently: parts that"
        " differ may still add up to the same whole. None of them is measured on these animals."
    ),
    (
        "Status: a = checked in a cited text, b = from memory of a named publication, c = common"
        " practice, no source."
    ),
)


def compare_table(
    opinions: Mapping[str, tuple[Opinion, ...]], needs: tuple[GroupNeeds, ...]
) -> Table:
    """Other standards beside ours, for one group, or for several in one long table with their ids
    and classes.

    opinions: by group id. needs: the groups, in the order wanted.
    """
    columns = (*NEEDS_OF, *reached(_COLUMNS, lambda pair: pair[1]))
    title = "Other standards beside ours, a head a day"
    if len(needs) == 1:
        columns, title = columns[2:], f"{needs[0].group}: other standards beside ours"
    pairs = ((group, opinion) for group in needs for opinion in opinions[group.group])
    return table_of("second_opinions", title, pairs, columns, _NOTES)


def spread(opinions: tuple[Opinion, ...]) -> str:
    """How far other standards lie from ours, and what another maintenance factor would ask for."""
    from rationlp.needs.compare import MAINTENANCE, OURS_AGAIN, WHOLE

    parts = []
    for part, quantities in (("the whole need", WHOLE), ("maintenance", MAINTENANCE)):
        shares = [
            100.0 * opinion.difference_share
            for opinion in opinions
            if opinion.quantity in quantities
            and opinion.method != OURS_AGAIN
            and opinion.difference_share is not None
        ]
        if shares:
            low, high = _signed(min(shares)), _signed(max(shares))
            parts.append(f"{part} by {from_to(low, high)}")
    sentence = ""
    if parts:
        sentence = f"Other standards differ from ours: {', '.join(parts)}."
    again = [
        f" On ours, {opinion.equation.split(';')[0]} gives {opinion.value:.1f} instead of"
        f" {opinion.ours:.1f} MJ ME a day."
        for opinion in opinions
        if opinion.method == OURS_AGAIN and opinion.value is not None and opinion.ours is not None
    ]
    return f"{sentence}{''.join(again)}".strip()


def _signed(figure: float) -> str:
    text = f"{figure:+.1f} %".replace("-", "−")
    if text in ("+0.0 %", "−0.0 %"):
        return "0.0 %"
    return text
