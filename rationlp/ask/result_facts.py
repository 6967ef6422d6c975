"""A result of the public names with what follows from it by arithmetic, worked out once for its
tables, in a workbook, in Python and in a notebook.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rationlp.after.farm_facts import FarmFacts, farm_facts
from rationlp.after.winter_facts import WinterFacts, winter_facts
from rationlp.farm.farm import Farm
from rationlp.needs.objects import GroupNeeds
from rationlp.planned import WinterPlan
from rationlp.result import FedSupply, Rations
from rationlp.yard.day_facts import FedFacts, RationFacts, fed_facts, ration_facts

Result = (
    Farm
    | Rations
    | WinterPlan
    | GroupNeeds
    | FedSupply
    | Iterable[GroupNeeds]
    | Iterable[FedSupply]
)
"""What can be shown as tables."""


ResultFacts = FarmFacts | RationFacts | WinterFacts | FedFacts | tuple[GroupNeeds, ...]
"""What tables are made from."""


def result_facts(result: Result) -> ResultFacts:
    """What follows from a result. Raises TypeError for what is no result."""
    if isinstance(result, Farm):
        return farm_facts(result)
    if isinstance(result, Rations):
        return ration_facts(result)
    if isinstance(result, WinterPlan):
        return winter_facts(result)
    items = (result,) if isinstance(result, (GroupNeeds, FedSupply)) else _items(result)
    needs = tuple(item for item in items if isinstance(item, GroupNeeds))
    fed = tuple(item for item in items if isinstance(item, FedSupply))
    if len(needs) + len(fed) < len(items) or bool(needs) == bool(fed):
        raise TypeError(
            "tables are made of a farm, of needs, rations, a plan, or what a ration already fed"
            " gives"
        )
    if needs:
        return needs
    return fed_facts(None, fed)


def _items(result: object) -> tuple[object, ...]:
    if not isinstance(result, Iterable) or isinstance(result, (str, bytes, Mapping)):
        raise TypeError(f"no tables can be made of a {type(result).__name__}")
    return tuple(result)
