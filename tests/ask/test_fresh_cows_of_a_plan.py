"""Fresh cows that milk off their backs: the plan's ration is not short of energy on the sheet or in
`supply`.
"""

from __future__ import annotations

from datetime import date

from rationlp.after.followed import DayOfPlan, day_of_plan
from rationlp.folders import examples_folder
from rationlp.model.fed import fed_supply
from rationlp.read.farm import read_farm
from rationlp.result import SupplyLine
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions
from rationlp.yard.sheets import yard_sheets

DAY = date(2026, 11, 10)


def fresh_day() -> DayOfPlan:
    """What the plan of the calving herd feeds on a day with fresh cows."""
    farm = read_farm(examples_folder() / "calving")
    found = day_of_plan(solve_winter(farm, WinterOptions(prove=False)), farm, DAY)
    assert found is not None
    return found


def energy(lines: tuple[SupplyLine, ...]) -> tuple[float, float]:
    """ME supplied and ME needed with its margin [MJ]."""
    line = next(line for line in lines if (line.quantity, line.unit) == ("me_mj", "MJ"))
    return line.supply, line.target or 0.0


def test_sheet_and_supply_hold_fresh_cows_against_the_need_of_the_plan() -> None:
    """Energy from the back is in the plan's need."""
    found = fresh_day()
    ration = next(one for one in found.rations.groups if "fresh" in one.name)
    sheet = next(one for one in yard_sheets(found.rations).sheets if one.group == ration.group)
    kg = {ration.group: {amount.offer: amount.kg_dm for amount in ration.amounts}}
    planned = fed_supply(found.rations.farm, kg, {ration.group: ration.needs})[0]
    for lines in (sheet.fed.supply, planned.supply):
        supplied, needed = energy(lines)
        assert supplied > 0.99 * needed
