"""Least-cost winter rations for cattle and sheep from home-grown forage and bought feed.

The public names, in the order in which they are used:

    farm = read_farm(Path("myfarm"))  a checked farm, or InputError with everything that is wrong
    farm_needs(farm)                  what a head of each group requires a day, step by step
    ration(farm)                      the proven least-cost ration of each group
    winter(farm)                      the least-cost plan of the whole winter, store by store
    keep_plan(plan)                   the plan into the farm folder: it is in force from then on
    planned_ration(farm, day)         what the plan in force feeds on a day
    supply(farm, Path("fed.csv"))     what a ration already fed gives against what is needed
    what_if(Path("myfarm"), [change]) the winter with something changed, beside the winter as it is
    tables(result)                    any of these as pandas DataFrames by name, units in `attrs`
    write_workbook(result, path)      the same tables as the sheets of a workbook

A farm is a folder with farm.toml, or a workbook that ends in .xlsx. In a notebook every result
shows itself as tables. Each name is loaded when it is first used, so that importing the package
costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date
    from pathlib import Path

    import pandas as pd

    from rationlp.ask.result_facts import Result
    from rationlp.ask.whatif import what_if_farm as what_if
    from rationlp.errors import InputError, NoRation, RationError, SolverTrouble
    from rationlp.farm.farm import Farm
    from rationlp.model.ration import solve_rations as ration
    from rationlp.needs.objects import GroupNeeds
    from rationlp.planned import WinterPlan
    from rationlp.read.farm import read_farm
    from rationlp.report.keeping import keep_plan
    from rationlp.result import FedSupply, Rations

__version__ = "0.1.0"

__all__ = [
    "Farm",
    "FedSupply",
    "GroupNeeds",
    "InputError",
    "NoRation",
    "RationError",
    "Rations",
    "SolverTrouble",
    "WinterPlan",
    "__version__",
    "as_html",
    "farm_needs",
    "keep_plan",
    "plan_in_force",
    "planned_ration",
    "ration",
    "read_farm",
    "supply",
    "tables",
    "what_if",
    "winter",
    "write_workbook",
]

_ELSEWHERE = {
    "Farm": ("rationlp.farm.farm", "Farm"),
    "FedSupply": ("rationlp.result", "FedSupply"),
    "GroupNeeds": ("rationlp.needs.objects", "GroupNeeds"),
    "InputError": ("rationlp.errors", "InputError"),
    "NoRation": ("rationlp.errors", "NoRation"),
    "RationError": ("rationlp.errors", "RationError"),
    "Rations": ("rationlp.result", "Rations"),
    "SolverTrouble": ("rationlp.errors", "SolverTrouble"),
    "WinterPlan": ("rationlp.planned", "WinterPlan"),
    "keep_plan": ("rationlp.report.keeping", "keep_plan"),
    "ration": ("rationlp.wintering.open_stores", "rations_of_day"),
    "read_farm": ("rationlp.read.farm", "read_farm"),
    "what_if": ("rationlp.ask.whatif", "what_if_farm"),
}


def __getattr__(name: str) -> object:
    """Load a public name from where it is defined."""
    if name not in _ELSEWHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, attribute = _ELSEWHERE[name]
    value: object = getattr(import_module(module), attribute)
    return value


def __dir__() -> list[str]:
    """The public names."""
    return sorted(__all__)


def farm_needs(farm: Farm, only: Collection[str] | None = None) -> tuple[GroupNeeds, ...]:
    """What a head of every group (or of those in `only`) requires a day, in the farm's order.

    Raises InputError for an unknown group and, all at once, for every group whose needs cannot be
    worked out.
    """
    from rationlp.errors import Finding, InputError
    from rationlp.model.ration import chosen_groups
    from rationlp.needs import group_needs

    needs: list[GroupNeeds] = []
    findings: list[Finding] = []
    for group in chosen_groups(farm, only):
        try:
            needs.append(group_needs(group, farm.margins))
        except InputError as trouble:
            findings.extend(trouble.findings)
    if findings:
        raise InputError(findings)
    return tuple(needs)


def supply(farm: Farm, fed: Path) -> tuple[FedSupply, ...]:
    """What a ration already fed gives against what each of its groups needs.

    fed: a CSV file with the columns group, feed and kg_fresh or kg_dm, a head a day. Raises
    InputError for everything that is wrong with it.
    """
    from rationlp.model.fed import fed_supply
    from rationlp.read.fed import read_fed

    return fed_supply(farm, read_fed(fed, farm))


def winter(farm: Farm, start: date | None = None) -> WinterPlan:
    """The least-cost plan for all groups of a farm until turnout: who eats what and when, what to
    buy, how long stores last.

    start: first day planned, the winter's own if left out; stores not measured again are taken less
    what the plan of the whole winter feeds until then, and `carried` says so. Where the winter
    cannot be fed `exit_code` of the plan is 3, `shortfalls` says who is short of what, and the plan
    is that of the least shortage found.
    """
    from rationlp.ask.carried import plan_from
    from rationlp.wintering.yard import WinterOptions

    return plan_from(farm, WinterOptions(start=start, ceilings=True))


def plan_in_force(farm: Farm, day: date | None = None) -> WinterPlan | None:
    """The plan kept for a farm that is in force on a day, the newest if left out; None where none
    was kept that plans the day.

    Raises InputError for a file that holds no plan, or one that was changed by hand.
    """
    from rationlp.ask.in_force import kept_for

    in_force = kept_for(farm, day)
    return None if in_force is None else in_force.plan


def planned_ration(farm: Farm, day: date | None = None) -> Rations | None:
    """What the plan in force feeds on a day, else the winter's plan made now; the first day planned
    if left out.

    The proof belongs to the plan: `proof` of each ration is None. None where nobody is fed on the
    day, or the winter has no plan. Raises InputError and SolverTrouble as `winter` does.
    """
    from rationlp.ask.in_force import followed

    feeding = followed(farm, day).rations()
    return None if feeding is None else feeding.rations


def tables(result: Result) -> dict[str, pd.DataFrame]:
    """The tables of a result as DataFrames, by name.

    result: a farm, rations, a plan, needs or supplies (one of them, or a tuple as it was returned).
    Values are unrounded; `attrs["units"]` holds the unit of every column that has one,
    `attrs["title"]` and `attrs["notes"]` what stands above and below. Raises TypeError for anything
    else.

        frames = tables(ration(farm)) frames["overview"], frames["rations"], frames["supply"]
    """
    from rationlp.ask.result_facts import result_facts
    from rationlp.report.results import result_frames

    return result_frames(result_facts(result))


def as_html(result: Result) -> str:
    """The tables of a result as HTML, as a notebook shows them: names escaped, figures rounded for
    a reader.

    result: as for `tables`. Raises TypeError for anything else.
    """
    from rationlp.ask.result_facts import result_facts
    from rationlp.report.results import result_html

    return result_html(result_facts(result))


def write_workbook(result: Result, path: Path) -> None:
    """Write the tables of a result as the sheets of a workbook (.xlsx), whole or not at all; an
    older file is replaced.

    result: as for `tables`. Raises InputError where the file cannot be written, is open or
    read-only, or openpyxl is missing, TypeError for what is no result.
    """
    from rationlp.ask.result_facts import result_facts
    from rationlp.report.results import result_tables
    from rationlp.report.workbook import write_tables

    write_tables(path, result_tables(result_facts(result)))
