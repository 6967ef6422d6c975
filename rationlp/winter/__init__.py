"""The winter's plan: every group in every period as one programme, made practical, certified."""

from __future__ import annotations

import sys
from datetime import date
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rationlp.farm.farm import Farm
    from rationlp.planned import WinterPlan


class _Room(ModuleType):
    """This room under the name of a public function: an import of it sets `rationlp.winter` to the
    room, and `rationlp.winter(farm)` must go on planning.
    """

    def __call__(self, farm: Farm, start: date | None = None) -> WinterPlan:
        from rationlp import plan_winter

        return plan_winter(farm, start)


sys.modules[__name__].__class__ = _Room
