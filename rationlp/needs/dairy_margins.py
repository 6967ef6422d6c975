"""Which energy margin holds for a group: cows in milk have one; near calving there is none."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.farm.traits import traits

NEAR_CALVING_DAYS, FRESH_WEEKS = 21.0, 4.0


def near_calving(group: Group) -> bool:
    """A dairy cow or heifer in the last three weeks to calving, when she eats less and less."""
    return (
        traits(group.animal_class).dairy_margin
        and group.number("days_to_calving") <= NEAR_CALVING_DAYS
    )


def margins_for(group: Group, margins: Margins) -> Margins:
    """The margins of a group, its energy margin in `me`.

    Dairy cows in milk: the farm's `me_milking`, 1.00 unless it says otherwise. With it the amounts
    of concentrate agree with twelve printed ones (bias −0.1 kg; 1.05 gives +0.9 kg). 1.00 while
    energy from the back is counted on, and in the last three weeks before calving; none on protein
    in the first four weeks after it, when a margin only buys soya that she cannot eat: common
    practice, no source (c).
    """
    if traits(group.animal_class).parlour:
        fresh = group.number("week_of_lactation") <= FRESH_WEEKS
        return replace(
            margins,
            me=1.0 if group.reserve_mj > 0.0 else margins.me_milking,
            mp=min(margins.mp, 1.0) if fresh else margins.mp,
        )
    if near_calving(group):
        return replace(margins, me=min(margins.me, 1.0))
    return margins


def milking_margin_remark(group: Group, margins: Margins, overall: Margins) -> Iterator[str]:
    """Says the energy margin of cows in milk where it is not that of the farm's other groups."""
    if traits(group.animal_class).parlour and margins.me < overall.me:
        more = 100.0 * (overall.me - margins.me)
        yield (
            f"Cows in milk are fed with an energy margin of {margins.me:.2f}, other groups"
            f" {overall.me:.2f}: so the concentrate agrees with published feeding levels, and"
            f" {more:.0f} % more would ask for about {more / 5.0:.1f} kg more of it. `me_milking`"
            " in [margins] sets another."
        )
