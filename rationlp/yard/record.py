"""What to find in the yard week by week: stores, faces, bales, head and what is put out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta

from rationlp.after.cautions import store_cautions
from rationlp.after.sofar import used_until
from rationlp.after.stock import stocks_of
from rationlp.farm.group import Group
from rationlp.farm.store import StoreStock
from rationlp.farm.traits import traits
from rationlp.needs.calendar import fed_days
from rationlp.planned import PlanRation, StorePlan, WinterPlan
from rationlp.read.loading import loading_figure
from rationlp.records import dataclass
from rationlp.result import Caution

PROBE = (
    "Heat and samples: a long probe from beside the face, never from under or in front of it;"
    " samples better from the heap that the loader has brought out. Nobody goes to a face alone"
    " (common practice)."
)


@dataclass(frozen=True)
class StoreMark:
    """One store at the end of a week: left to eat [t fresh]; of a face, how far it moved in the
    week and what is left of it [m]; of bales, how many were used in the week and are left. None
    where a store has none.
    """

    store: str
    name: str
    left_t_fresh: float
    moved_m: float | None = None
    face_left_m: float | None = None
    bales_used: float | None = None
    bales_left: float | None = None


@dataclass(frozen=True)
class GroupMark:
    """One group in a week: head, and what is put out a day, waste included [kg fresh]."""

    group: str
    name: str
    head: int
    kg_fresh: float


@dataclass(frozen=True)
class Week:
    """A week from 1: first day, last (left out), stores at its end, groups at its beginning."""

    week: int
    first: date
    last: date
    stores: tuple[StoreMark, ...]
    groups: tuple[GroupMark, ...]


@dataclass(frozen=True)
class RecordFacts:
    """A plan, the weeks of it to write down, what a difference means, what the stores call for."""

    plan: WinterPlan
    weeks: tuple[Week, ...]
    rules: tuple[str, ...]
    cautions: tuple[Caution, ...]


def record_facts(plan: WinterPlan, most: int, start: date | None = None) -> RecordFacts:
    """The weeks of a plan from a day (its first if left out), so many at most."""
    weeks = recorded_weeks(plan, most, start)
    return RecordFacts(plan, weeks, record_rules(plan, weeks), store_cautions(plan.farm))


def recorded_weeks(plan: WinterPlan, most: int, start: date | None = None) -> tuple[Week, ...]:
    """The weeks of a plan from a day (its first if left out), so many at most. Stores of which
    nothing goes are left out.

    A period's use of a store counts by its days, as the plan has it even; a group counts as on the
    week's first day.
    """
    stocks = stocks_of(plan)
    used = [store for store in plan.stores if sum(store.used_t_dm) > 1e-6]
    first, last = start or plan.periods[0].first, plan.periods[-1].last
    weeks: list[Week] = []
    while first < last and len(weeks) < most:
        end = min(first + timedelta(days=7), last)
        marks = tuple(_store_mark(plan, store, stocks[store.store], (first, end)) for store in used)
        weeks.append(Week(len(weeks) + 1, first, end, marks, tuple(_groups(plan, first))))
        first = end
    return tuple(weeks)


def _store_mark(
    plan: WinterPlan, store: StorePlan, stock: StoreStock, week: tuple[date, date]
) -> StoreMark:
    before, after = (used_until(plan.periods, store.used_t_dm, day) for day in week)
    dm = (
        next(offer.feed.dm_g_per_kg for offer in plan.farm.offers if offer.id == store.store)
        / 1000.0
    )
    left_t = max(store.held_t_dm.typical - after, 0.0)
    mark = {"store": store.store, "name": store.name, "left_t_fresh": left_t / dm}
    edible = stock.edible_t_dm.typical
    if stock.face is not None:
        t_edible_per_m = stock.face.kg_dm_per_m / 1000.0 * edible / stock.t_dm.typical
        gone = after / t_edible_per_m
        face_left = max(stock.face.length_m - gone, 0.0)
        return StoreMark(**mark, moved_m=(after - before) / t_edible_per_m, face_left_m=face_left)  # type: ignore[arg-type]
    count = _bales(plan, store.store)
    if count is not None and edible > 0.0:
        bale = edible / count
        return StoreMark(**mark, bales_used=(after - before) / bale, bales_left=left_t / bale)  # type: ignore[arg-type]
    return StoreMark(**mark)  # type: ignore[arg-type]


def _bales(plan: WinterPlan, store: str) -> float | None:
    stored = plan.farm.store(store)
    if stored.kind != "bales":
        return None
    return float(stored.size["count"])


def _groups(plan: WinterPlan, day: date) -> Iterator[GroupMark]:
    """Every group of the farm file that is fed on a day, its parts together."""
    number = next(period.number for period in plan.periods if period.first <= day < period.last)
    for group in plan.farm.groups:
        parts = [
            ration
            for ration in plan.rations
            if ration.period == number and (ration.origin or ration.group) == group.id
        ]
        if parts and _fed(group, day):
            yield GroupMark(
                group.id, group.name, sum(part.head for part in parts), sum(map(_put_out, parts))
            )


def _fed(group: Group, day: date) -> bool:
    return fed_days(group, day, day + timedelta(days=7)) > 0


def _put_out(ration: PlanRation) -> float:
    return ration.head * sum(
        amount.kg_fresh / (1.0 - ration.waste.get(amount.offer, 0.0)) for amount in ration.amounts
    )


def refusals_range(animal_class: str) -> tuple[float, float]:
    """Share that may be left over (feeds/loading.csv), for cows in milk and for all others."""
    if traits(animal_class).parlour:
        return loading_figure("refusals_milking_low"), loading_figure("refusals_milking_high")
    return 0.0, loading_figure("refusals_other_high")


def record_rules(plan: WinterPlan, weeks: tuple[Week, ...]) -> tuple[str, ...]:
    """What a difference means and what to do about it, in sentences: only of what this farm has."""
    stores = [store for week in weeks[-1:] for store in week.stores]
    kinds = {group.animal_class for group in plan.farm.groups}
    return tuple(_rules(stores, kinds, _sold(plan)))


def _sold(plan: WinterPlan) -> tuple[str, ...]:
    return tuple(store.name for store in plan.stores if sum(store.sold_t_dm) > 0.0)


def _rules(stores: Sequence[StoreMark], kinds: set[str], sold: tuple[str, ...]) -> Iterator[str]:
    off = 100.0 * loading_figure("face_off")
    again = "`rationlp winter FARM --from DATE --since PLAN.json`"
    yield (
        "Keep the plan that this page goes by: `rationlp winter FARM --format json --output "
        "PLAN.json`. Read the marks on both walls on "
        "the same day each week and write down their mean. The next page: `rationlp sheet "
        "FARM --record --on DATE`, the stores measured "
        "again."
    )
    if any(store.moved_m is not None for store in stores):
        yield (
            f"Face moved over {off:.0f} % more than planned, two weeks running: more is eaten, "
            "or it is less dense than reckoned. Measure "
            "what is gone (fed_length_m; of a bag shorten length_m), or give "
            "step_m_per_week with fed_t_fresh_per_week; then "
            f"`rationlp last FARM` and {again}."
        )
        yield (
            f"Moved over {off:.0f} % less: denser than reckoned, or not eaten: look at the "
            "refusals, and measure heat with a long probe. Warm or "
            "mouldy silage is kept from stock."
        )
        yield PROBE
    if any(store.bales_left is not None for store in stores):
        yield (
            "Fewer bales left than planned: weigh five to ten (weight_kg), put what is left into"
            f" count, and {again}."
        )
    yield (
        f"Silage dry matter more than {loading_figure('dm_off'):g} points from the last "
        "figure: `rationlp sheet FARM --dm ID=PERCENT` "
        "for today's weights; a new analysis if it stays."
    )
    yield (
        f"Left over: {_refusals_words(kinds)} of what is put out. Below it give more, above it"
        " less, 2 % at a time."
    )
    yield (
        "Head other than planned: `rationlp sheet FARM --head ID=N` today; if it stays, a "
        "day's [[groups.changes]] in farm.toml, and "
        f"{again}."
    )
    yield (
        "Milk or weight behind the plan two times running: check what is really eaten with "
        "`rationlp supply FARM FED.csv`, and have "
        "animals that fall away seen by the vet."
    )
    if sold:
        yield f"Sold forage counts as gone in the plan's first period: {', '.join(sold)}."


def _refusals_words(kinds: set[str]) -> str:
    ranges: Mapping[bool, tuple[float, float]] = {
        traits(kind).parlour: refusals_range(kind) for kind in sorted(kinds)
    }
    named = {True: "cows in milk", False: "others"}
    if len(ranges) == 1:
        named[False] = "the animals"
    phrases = [
        f"{named[milking]} {100 * low:.0f} to {100 * high:.0f} %"
        for milking, (low, high) in sorted(ranges.items())
    ]
    return ", ".join(reversed(phrases))
