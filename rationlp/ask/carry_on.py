"""The rest of a winter planned from its log: January's question. Nothing is typed again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import partial

from rationlp.after.drift import SoFarThisWinter, deliveries, stores_now, with_what_is_done
from rationlp.after.kept import KeptPlan, plans_by_day
from rationlp.after.ways import OnItsWay, on_its_way, plans_fed
from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.planned import WinterPlan
from rationlp.read.logbook import read_log
from rationlp.read.logged import LoggedFarm, logged_farm
from rationlp.records import dataclass
from rationlp.stock.dry_matter import farm_stocks


@dataclass(frozen=True)
class WinterSoFar:
    """What a winter is planned from on a day: the farm as the log has it, its stores on that day
    (None: as its sizes say), and where the winter stands (None: neither log nor plan in force
    before the day)."""

    farm: Farm
    stocks: Mapping[str, StoreStock] | None
    so_far: SoFarThisWinter | None


def winter_so_far(farm: Farm, day: date, until: date | None = None) -> WinterSoFar:
    """The farm on a day by its log and the plan in force until then.

    until: with heads moved and dry matter tested up to that later day, though nothing measured
    since. Raises InputError for a log or a kept plan that cannot be read, and for stores of
    which nobody can say what was fed (IN800).
    """
    lines = [
        line for line in read_log(farm) if line.day <= day or line.what in ("head", "dry_matter")
    ]
    plans = tuple(plans_fed(plans_by_day(farm), partial(_logged, farm), day))
    logged = logged_farm(farm, lines, until or day)
    if not logged.lines and not plans:
        return WinterSoFar(farm, None, None)
    stores, stocks = stores_now(logged, plans, day)
    delivered = tuple(deliveries(logged, plans, day))
    carried = with_what_is_done(logged.farm, plans, delivered, day)
    due = [store.name for store in stores if store.due and until is None]
    if due:
        trouble = "not measured for four weeks or longer, and fed from"
        remedy = "`rationlp log FARM face ID METRES`, or `left ID TONNES`"
        carried = replace(
            carried, notices=(*carried.notices, Finding("WA245", ", ".join(due), trouble, remedy))
        )
    return WinterSoFar(carried, stocks, SoFarThisWinter(day, stores, delivered, len(logged.lines)))


def way_of(kept: KeptPlan, farm: Farm, day: date) -> OnItsWay:
    """A kept plan as it goes on by what the log has shown until a day."""
    if not kept.ways:
        return OnItsWay(kept, None)
    return on_its_way(kept, _logged(farm, day), day)


def _logged(farm: Farm, day: date) -> LoggedFarm:
    return logged_farm(farm, read_log(farm), day)


def plan_on(begun: WinterSoFar, plan: WinterPlan) -> WinterPlan:
    """A plan made from where the winter stands, with the stores that it was made from."""
    if begun.stocks is None:
        return plan
    return replace(plan, stocks=dict(begun.stocks))


def stocks_on(farm: Farm, day: date) -> Mapping[str, StoreStock]:
    """What is in store on a day, by store id: by the log and the plan in force where one was
    kept, else as the farm file has it."""
    if not any(plan.first < day for plan in plans_by_day(farm)):
        return farm_stocks(farm)
    return winter_so_far(farm, day).stocks or farm_stocks(farm)
