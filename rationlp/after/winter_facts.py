"""What follows from a winter's plan by arithmetic, worked out once for every form of its answer."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from rationlp.after.kept import period_of
from rationlp.after.money import Money, MonthBuy, buying_list, money
from rationlp.after.plan_cautions import plan_cautions
from rationlp.after.plan_changes import PlanChange, news_of, plan_changes
from rationlp.after.stock import Drawdown, StoreLife, each_lasting, plan_uses, stocks_of
from rationlp.farm.feed_table import sort_of
from rationlp.farm.store import Spread, StoreStock
from rationlp.planned import WinterPlan
from rationlp.records import dataclass
from rationlp.result import Caution
from rationlp.wintering.remarks import plan_bales_line


@dataclass(frozen=True)
class CropLasting:
    """Stores that hold the same crop. crop: its sort, such as `grass_silage`; whole: how long they
    last together, None where there is one store only; stores: with the first day on which each is
    used, None where it never is."""

    crop: str
    whole: StoreLife | None
    whole_opened: date | None
    stores: tuple[tuple[StoreLife, date | None], ...]


@dataclass(frozen=True)
class WinterFacts:
    """A plan and what follows from it.

    stores: how long each lasts; crops: the same by crop, with days of opening; changes: of rations;
    cautions: gravest first; money: by group and for all; buying: by month; stocks: what was in
    store on the first day, by store id; bales: those that lie open too long, in a sentence. Without
    a plan only cautions and stocks.
    """

    plan: WinterPlan
    stores: tuple[StoreLife, ...]
    crops: tuple[CropLasting, ...]
    changes: tuple[PlanChange, ...]
    cautions: tuple[Caution, ...]
    money: tuple[Money, ...]
    buying: tuple[MonthBuy, ...]
    stocks: Mapping[str, StoreStock]
    bales: str


def winter_facts(plan: WinterPlan) -> WinterFacts:
    """Everything that is worked out from a plan without solving again."""
    cautions, stocks = plan_cautions(plan), stocks_of(plan)
    if plan.proof is None:
        return WinterFacts(plan, (), (), (), cautions, (), (), stocks, "")
    uses = plan_uses(plan)
    stores = each_lasting(uses)
    return WinterFacts(
        plan,
        stores,
        _crops(plan, uses, stores),
        plan_changes(plan),
        cautions,
        tuple(money(plan)),
        buying_list(plan),
        stocks,
        plan_bales_line(plan),
    )


def cautions_on(facts: WinterFacts, day: date) -> tuple[Caution, ...]:
    """The cautions that hold on a day of a plan, those marked that did not apply in the period
    before; all of them where the day is in no period. What is not of some weeks holds all winter:
    it is new in the first period only."""
    period = period_of(facts.plan, day)
    if period is None:
        return facts.cautions
    news, text = news_of(facts.plan, day), day.isoformat()
    told = []
    for caution in facts.cautions:
        if caution.weeks and not any(first <= text < end for first, end in caution.weeks):
            continue
        of_winter = not caution.weeks and period.number > 0
        told.append(caution if of_winter else news.marked(caution))
    return tuple(told)


def _crops(
    plan: WinterPlan, uses: tuple[Drawdown, ...], stores: tuple[StoreLife, ...]
) -> tuple[CropLasting, ...]:
    feeds = {offer.id: offer.feed for offer in plan.farm.offers}
    by_crop: dict[str, list[tuple[Drawdown, StoreLife]]] = {}
    for use, store in zip(uses, stores, strict=True):
        by_crop.setdefault(sort_of(feeds[use.store]), []).append((use, store))
    crops = []
    for crop, members in by_crop.items():
        whole = opened = None
        if len(members) > 1:
            together = _together(crop, [use for use, _ in members])
            [whole], opened = each_lasting([together]), _opened(together)
        held = tuple((store, _opened(use)) for use, store in members)
        crops.append(CropLasting(crop, whole, opened, held))
    return tuple(crops)


def _together(crop: str, uses: list[Drawdown]) -> Drawdown:
    """Several stores as if they were one."""
    held = [use.held_t_dm for use in uses]
    total = sum(spread.typical for spread in held)
    fresh = sum(use.held_t_dm.typical / use.dm_g_per_kg for use in uses)
    return Drawdown(
        crop,
        crop,
        Spread(sum(spread.low for spread in held), total, sum(spread.high for spread in held)),
        sum(use.reserve_t_dm for use in uses),
        total / fresh if fresh > 0.0 else uses[0].dm_g_per_kg,
        uses[0].periods,
        tuple(map(sum, zip(*(use.used_t_dm for use in uses), strict=True))),
        tuple(map(sum, zip(*(use.head_days for use in uses), strict=True))),
    )


def _opened(use: Drawdown) -> date | None:
    """The first day of the first period in which something leaves the store."""
    for period, used in zip(use.periods, use.used_t_dm, strict=True):
        if used > 0.0:
            return period.first
    return None
