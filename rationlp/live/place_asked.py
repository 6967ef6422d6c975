"""Which places the page has, and what one is made of: without the stories, which take a tenth of a
second to load and which the first answer does not need.
"""

from __future__ import annotations

from datetime import date

from rationlp.live.solving import proved_plan
from rationlp.planned import WinterPlan
from rationlp.read.changed import Begun, Change, ChangedFarm
from rationlp.records import dataclass

PLACES = {
    "stores": "Stores",
    "animals": "Animals",
    "buying": "Buying",
    "switch": "Switch",
    "worth": "Worth of feeds",
    "money": "Money",
    "why": "Why",
    "sure": "How sure",
    "grow": "Next year",
    "sheets": "Yard sheets",
    "sources": "Where figures come from",
}
LONG = frozenset({"switch", "worth", "why", "sure", "grow"})
"""Places that may take seconds to work out."""


@dataclass(frozen=True)
class Asked:
    """What a place is made of: the farm as it stands with its edits, the plan where it is proved
    already, and a day. spread: with the plan for the spread, which takes some seconds.
    """

    begun: Begun
    changes: tuple[Change, ...]
    farm: ChangedFarm
    day: date | None
    plan: WinterPlan | None
    spread: bool = False

    def planned(self) -> WinterPlan:
        """The proved plan, made now where it is not at hand."""
        if self.plan is not None:
            return self.plan
        plan: WinterPlan = proved_plan(self.farm, self.changes)
        return plan
