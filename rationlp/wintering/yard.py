"""The yard of a winter, made of a farm's stores, days and groups; and the options of its plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.planned import Period
from rationlp.records import dataclass
from rationlp.wintering.growing import Growing
from rationlp.wintering.links import KG_PER_T, KeptBack, Yard
from rationlp.wintering.parts import Run, winter_periods, winter_runs


@dataclass(frozen=True)
class WinterOptions:
    """start: first day planned, None for the winter's first. faces: `auto` decides with whole
    numbers which clamp is open when a face would advance too little (where that search feeds
    nobody, with the cheapest of a few courses), `on` always, `off` never; `course` asks a few
    courses only, without whole numbers, and proves nothing.
    prove: bound the plan from below. ceilings: work out the price above which each feed would not
    be bought. tidy: make the cheapest plan one that a yard can mix. any_level: bound that plan at
    every level of feeding too. beside: what each rule of the yard costs, and how far the plan may
    be above the least of all that keep them. worded: with the sentences about every ration. None
    of these three changes a plan.
    growing: crops still to be grown, whose hectares are decided with the plan. shortage: where a
    need cannot be met, plan with the least shortage. kept_back: what is to be left on a day.
    """

    start: date | None = None
    faces: str = "auto"
    prove: bool = True
    ceilings: bool = False
    tidy: bool = True
    any_level: bool = True
    beside: bool = True
    worded: bool = True
    growing: Growing | None = None
    shortage: bool = True
    kept_back: KeptBack | None = None


FED_ONLY = WinterOptions(any_level=False, beside=False, worded=False)
"""What is fed and bought, certified and proved at its own levels of feeding, and no more."""


def make_yard(
    farm: Farm,
    options: WinterOptions,
    stocks: Mapping[str, StoreStock],
    runs: tuple[Run, ...] | None = None,
) -> Yard:
    """The stores and runs of a winter. runs: of the same farm, where they are known. Raises
    InputError for missing figures, impossible days and stores short of bedding.
    """
    periods = winter_periods(farm, options.start)
    if runs is None:
        waste = {name: stock.trough_loss for name, stock in stocks.items()}
        runs = winter_runs(farm, periods, waste)
    bedded = {store.id: bedding_t_dm(farm, store.id, periods, runs) for store in farm.stores}
    free = {}
    for store in farm.stores:
        stock = stocks[store.id]
        free[store.id] = stock.edible_t_dm.typical - stock.reserve_t_dm - sum(bedded[store.id])
    # What is still to be grown is not in store yet.
    asked = [] if options.growing is not None else [*_overdrawn(free), *_oversold(farm, free)]
    if asked:
        raise InputError(asked)
    return Yard(
        farm, periods, runs, stocks, free, bedded,
        growing=options.growing, kept_back=options.kept_back,
    )  # fmt: skip


def _overdrawn(free: Mapping[str, float]) -> list[Finding]:
    """Stores that hold less than their reserve and the bedding."""
    lacking = {name: f"{-t:.1f} t DM less than its" for name, t in free.items() if t < -1e-9}
    remedy = "less of either, or more in store"
    return [
        Finding("IN188", f'store "{name}"', f"{less} reserve and the bedding", remedy)
        for name, less in lacking.items()
    ]


def _oversold(farm: Farm, free: Mapping[str, float]) -> list[Finding]:
    """Outlets that are promised more than their stores hold."""
    dm = {offer.id: offer.feed.dm_g_per_kg for offer in farm.offers}
    findings = []
    for outlet in farm.outlets:
        held = sum(free[store] * KG_PER_T / dm[store] for store in outlet.stores)
        if outlet.least_t_fresh is not None and outlet.least_t_fresh > held + 1e-9:
            stores = f"{held:.1f} t in its stores beside reserve and bedding"
            found = f"at least {outlet.least_t_fresh:g} t promised, {stores}"
            remedy = "promise less, or name more stores"
            findings.append(Finding("IN188", f'outlet "{outlet.id}"', found, remedy))
    return findings


def bedding_t_dm(
    farm: Farm, store: str, periods: Sequence[Period], runs: Sequence[Run]
) -> tuple[float, ...]:
    """t DM of a store that go under animals in each period."""
    offer = next(offer for offer in farm.offers if offer.id == store)
    amounts = []
    for period in periods:
        total = 0.0
        for bed in farm.beddings:
            if bed.store != store:
                continue
            head_days = 0.0
            for run in runs:
                group = run.block.group
                if period.number in run.periods and bed.group in (group.id, group.origin):
                    head_days += run.head_days[run.periods.index(period.number)]
            total += bed.kg_fresh * head_days * offer.feed.dm_g_per_kg / 1e6
        amounts.append(total)
    return tuple(amounts)
