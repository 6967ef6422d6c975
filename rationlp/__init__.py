"""Least-cost winter rations for cattle and sheep from home-grown forage and bought feed.

The public names, in the order in which they are used:

    farm = read_farm(Path("myfarm"))      a checked farm, or InputError with everything that is wrong
    farm_needs(farm)                      what a head of each group requires a day, step by step
    ration(farm)                          the proven least-cost ration of each group
    supply(farm, Path("fed.csv"))         what a ration already fed gives against what is needed
    winter(farm)                          one least-cost plan of all groups until turnout
    what_if(Path("myfarm"), [change])     the winter with something changed, beside the winter as it stands

Each is loaded when it is first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path

    from rationlp.ask.whatif import what_if_farm as what_if
    from rationlp.errors import InputError, NoRation, RationError, SolverTrouble
    from rationlp.model.ration import solve_rations as ration
    from rationlp.model.winter.plan import solve_winter as winter
    from rationlp.needs.objects import GroupNeeds
    from rationlp.read.farm import read_farm
    from rationlp.read.objects import Farm
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
    "__version__",
    "farm_needs",
    "ration",
    "read_farm",
    "supply",
    "what_if",
    "winter",
]

_ELSEWHERE = {
    "Farm": ("rationlp.read.objects", "Farm"),
    "FedSupply": ("rationlp.result", "FedSupply"),
    "GroupNeeds": ("rationlp.needs.objects", "GroupNeeds"),
    "InputError": ("rationlp.errors", "InputError"),
    "NoRation": ("rationlp.errors", "NoRation"),
    "RationError": ("rationlp.errors", "RationError"),
    "Rations": ("rationlp.result", "Rations"),
    "SolverTrouble": ("rationlp.errors", "SolverTrouble"),
    "ration": ("rationlp.model.ration", "solve_rations"),
    "read_farm": ("rationlp.read.farm", "read_farm"),
    "what_if": ("rationlp.ask.whatif", "what_if_farm"),
    "winter": ("rationlp.model.winter.plan", "solve_winter"),
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

    Raises InputError for an unknown group and, all at once, for every group whose needs cannot be worked out.
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

    fed: a CSV file with the columns group, feed and kg_fresh or kg_dm, a head a day. Raises InputError for everything
    that is wrong with it.
    """
    from rationlp.model.fed import fed_supply
    from rationlp.read.fed import read_fed

    return fed_supply(farm, read_fed(fed, farm))
