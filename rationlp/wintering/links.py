"""What ties the blocks of a winter together: stores, purchases, outlets, one mix for several
groups, and the face of a clamp.

Amounts are tonnes of dry matter for stores and tonnes fresh for what is bought. A block's column is
kg DM a head a day; times its head-days over 1000 it is tonnes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property
from math import inf

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.store import Outlet, StoreStock
from rationlp.model.lp import Column, Key, Row, at_least, at_most
from rationlp.planned import Period
from rationlp.records import dataclass
from rationlp.wintering.ewe_steps import step_columns, step_rows
from rationlp.wintering.growing import Growing, growing_columns, growing_rows, grown_coefs
from rationlp.wintering.parts import Run

KG_PER_T = 1000.0


@dataclass(frozen=True)
class KeptBack:
    """What may be put out of stores before a day, by store id [t DM]: the rest is there on it."""

    until: date
    most_t_dm: Mapping[str, float]


@dataclass(frozen=True)
class Yard:
    """The farm's stores through the winter, beside the runs that eat from them.

    free_t_dm: by store, edible less reserve and bedding [t DM]. bedded: by store and period [t DM].
    open_clamps: clamps and bags whose face must advance, asked for with whole numbers; course: the
    periods in which each of them is open, where that is not asked. opened_once: where it is asked,
    a clamp that is shut again stays shut. growing: what is still to be grown, for a winter to come.
    kept_back: what must be left on a day.
    """

    farm: Farm
    periods: tuple[Period, ...]
    runs: tuple[Run, ...]
    stocks: Mapping[str, StoreStock]
    free_t_dm: Mapping[str, float]
    bedded: Mapping[str, tuple[float, ...]]
    open_clamps: tuple[str, ...] = ()
    course: Mapping[str, frozenset[int]] | None = None
    opened_once: bool = True
    growing: Growing | None = None
    kept_back: KeptBack | None = None

    @cached_property
    def eaters(self) -> dict[str, list[tuple[Run, Offer]]]:
        """Every run that may eat an offer, with the offer as it has it, by offer id."""
        eaters: dict[str, list[tuple[Run, Offer]]] = {}
        for run in self.runs:
            for offer in run.block.offers:
                eaters.setdefault(offer.id, []).append((run, offer))
        return eaters


def tonnes(run: Run, offer: Offer, head_days: float | None = None) -> float:
    """t DM that leave a store for each kg DM a head a day eaten, waste at the trough included."""
    return run.put_out(offer) * (run.weight if head_days is None else head_days) / KG_PER_T


def uses(yard: Yard, offer_id: str) -> Sequence[tuple[Run, Offer]]:
    """Every run that may eat an offer."""
    return yard.eaters.get(offer_id, [])


def link_columns(yard: Yard) -> Iterator[Column]:
    """Sales [t DM] at their price, loads bought whole, and with whole numbers the open clamps and
    what their faces spoil.
    """
    for outlet in yard.farm.outlets:
        for store in outlet.stores:
            price = sale_price_per_t_dm(yard, outlet, store)
            title = f"sold to {outlet.name}"
            yield Column(("sold", outlet.id, store), -price, unit="t DM", title=title)
    for offer in yard.farm.offers:
        if offer.bought and offer.whole_loads and offer.load_t:
            price = offer.price_per_t_fresh * offer.load_t
            title = f"loads of {offer.name}"
            yield Column(("loads", offer.id), price, unit="loads", title=title, integer=True)
    for store in yard.open_clamps:
        for period in yard.periods:
            mark = str(period.number)
            yield _opening(yard, store, period.number)
            title = f"spoiled at the face of {store}"
            yield Column(("spoiled", store, mark), _worth(yard, store), unit="t DM", title=title)
            if yard.opened_once and yard.course is None:
                yield Column(("opened", store, mark), 0.0, 0.0, 1.0, title=f"{store} opened")
    yield from step_columns(yard.runs)
    if yard.growing is not None:
        yield from growing_columns(yard.growing)


def _opening(yard: Yard, store: str, period: int) -> Column:
    """Whether a clamp is open in a period: 0 or 1, asked for or as the course has it."""
    key, title = ("open", store, str(period)), f"{store} open"
    if yard.course is None:
        return Column(key, 0.0, 0.0, 1.0, title=title, integer=True)
    opened = float(period in yard.course[store])
    return Column(key, 0.0, opened, opened, title=title)


def _worth(yard: Yard, store: str) -> float:
    """What a tonne of DM of a store counts for in the objective [currency/t DM]."""
    offer = next(offer for offer in yard.farm.offers if offer.id == store)
    return offer.price_per_kg_dm * KG_PER_T


def sale_price_per_t_dm(yard: Yard, outlet: Outlet, store: str) -> float:
    """What an outlet pays a tonne of DM, less what the store's forage counts for."""
    offer = next(offer for offer in yard.farm.offers if offer.id == store)
    if outlet.price_per_t_dm is not None:
        return outlet.price_per_t_dm - _worth(yard, store)
    per_t_dm = (outlet.price_per_t_fresh or 0.0) * KG_PER_T / offer.feed.dm_g_per_kg
    return per_t_dm - _worth(yard, store)


def link_rows(yard: Yard) -> Iterator[Row]:
    """Every row that ties blocks together."""
    yield from store_rows(yard)
    if yard.kept_back is not None:
        yield from kept_back_rows(yard, yard.kept_back)
    yield from bought_rows(yard)
    yield from outlet_rows(yard)
    yield from mix_rows(yard)
    yield from face_rows(yard)
    yield from opening_rows(yard)
    yield from step_rows(yard.runs, yard.periods)
    if yard.growing is not None:
        yield from growing_rows(yard.growing)


def store_rows(yard: Yard) -> Iterator[Row]:
    """Σ eaten/(1 − waste) + sold + spoiled ≤ edible − reserve − bedding [t DM] of the winter."""
    for store in yard.farm.stores:
        coefs: dict[Key, float] = {}
        for run, offer in uses(yard, store.id):
            coefs[run.block.feed(offer)] = tonnes(run, offer)
        for outlet in yard.farm.outlets:
            if store.id in outlet.stores:
                coefs[("sold", outlet.id, store.id)] = 1.0
        if store.id in yard.open_clamps:
            coefs |= {("spoiled", store.id, str(period.number)): 1.0 for period in yard.periods}
        if yard.growing is not None:
            coefs |= grown_coefs(yard.growing, store.id)
        if coefs:
            key, free, why = ("store", store.id), yard.free_t_dm[store.id], "what is in store"
            yield at_most(key, coefs, free, "t DM", store.name, why)


def kept_back_rows(yard: Yard, kept: KeptBack) -> Iterator[Row]:
    """Σ put out in the periods that begin before the day ≤ most [t DM], for each store named."""
    early = {period.number for period in yard.periods if period.first < kept.until}
    for store in yard.farm.stores:
        coefs: dict[Key, float] = {}
        for run, offer in uses(yard, store.id):
            days = zip(run.periods, run.head_days, strict=True)
            head_days = sum(days_there for number, days_there in days if number in early)
            if head_days > 0.0:
                coefs[run.block.feed(offer)] = tonnes(run, offer, head_days)
        if coefs and store.id in kept.most_t_dm:
            key, most = ("kept_back", store.id), kept.most_t_dm[store.id]
            why = "kept for later in the winter"
            yield at_most(key, coefs, most, "t DM", store.name, why)


def bought_rows(yard: Yard) -> Iterator[Row]:
    """least ≤ Σ bought ≤ most [t fresh]; whole loads: Σ bought ≤ load · loads."""
    for offer in yard.farm.offers:
        if not offer.bought:
            continue
        coefs: dict[Key, float] = {}
        for run, one in uses(yard, offer.id):
            coefs[run.block.feed(one)] = tonnes(run, one) * KG_PER_T / one.feed.dm_g_per_kg
        if not coefs:
            continue
        why = "the farm's own figure"
        if offer.least_t is not None or offer.most_t is not None:
            low = -inf if offer.least_t is None else offer.least_t
            high = inf if offer.most_t is None else offer.most_t
            yield Row(("bought", offer.id), coefs, low, high, "limit", "t fresh", offer.name, why)
        if offer.whole_loads and offer.load_t:
            loads = {**coefs, ("loads", offer.id): -offer.load_t}
            yield at_most(("whole_loads", offer.id), loads, 0.0, "t fresh", offer.name, why)


def outlet_rows(yard: Yard) -> Iterator[Row]:
    """least ≤ Σ sold ≤ most of an outlet [t fresh]."""
    for outlet in yard.farm.outlets:
        if outlet.least_t_fresh is None and outlet.most_t_fresh is None:
            continue
        coefs: dict[Key, float] = {}
        for store in outlet.stores:
            offer = next(offer for offer in yard.farm.offers if offer.id == store)
            coefs[("sold", outlet.id, store)] = KG_PER_T / offer.feed.dm_g_per_kg
        low = -inf if outlet.least_t_fresh is None else outlet.least_t_fresh
        high = inf if outlet.most_t_fresh is None else outlet.most_t_fresh
        key, why = ("outlet", outlet.id), "the outlet's own figure"
        yield Row(key, coefs, low, high, "limit", "t fresh", outlet.name, why)


def mix_rows(yard: Yard) -> Iterator[Row]:
    """One mix: x of a group = portion · x of its first group, in periods that both are fed."""
    for mix in yard.farm.mixes:
        names = list(mix.portions)
        for number in range(len(yard.periods)):
            of_period = {run.block.group.id: run for run in yard.runs if number in run.periods}
            first = next((of_period[name] for name in names if name in of_period), None)
            if first is None:
                continue
            base = mix.portions[first.block.group.id]
            for name in names:
                other = of_period.get(name)
                if other is None or other is first:
                    continue
                if number not in (other.periods[0], first.periods[0]):
                    continue
                share = mix.portions[name] / base
                yield from _same_mix(mix.id, str(number), (first, other), (share, mix.top_up))


def _same_mix(
    mix: str, mark: str, pair: tuple[Run, Run], how: tuple[float, frozenset[str]]
) -> Iterator[Row]:
    first, other = pair
    share, top_up = how
    mine = {offer.id: offer for offer in first.block.offers}
    theirs = {offer.id: offer for offer in other.block.offers}
    for name in {**mine, **theirs}:
        if name in top_up:
            continue
        coefs: dict[Key, float] = {}
        if name in theirs:
            coefs[other.block.feed(theirs[name])] = 1.0
        if name in mine:
            coefs[first.block.feed(mine[name])] = -share
        key, why = ("mix", mix, other.block.group.id, name, mark), "one mix for both groups"
        yield Row(key, coefs, 0.0, 0.0, "definition", "kg DM", f"mix {mix}", why)


def least_taken_t(stock: StoreStock, days: float) -> float:
    """What must come off a face in so many days, as dry matter that can be eaten [t]: what the face
    loses anyway is left out.
    """
    face = stock.face
    if face is None or stock.t_dm.typical <= 0.0:
        return 0.0
    edible = stock.edible_t_dm.typical / stock.t_dm.typical
    return face.kg_dm_per_m / KG_PER_T * edible * face.fail_m_per_week / 7.0 * days


def face_rows(yard: Yard) -> Iterator[Row]:
    """A clamp in a period is shut, or open and advanced by its least: least·open ≤ used + spoiled;
    used ≤ all of it·open.
    """
    for store in yard.open_clamps:
        face = yard.stocks[store].face
        if face is None:
            continue
        for period in yard.periods:
            mark = str(period.number)
            coefs = use_in_period(yard, store, period.number)
            least = least_taken_t(yard.stocks[store], period.days)
            wanted = {**coefs, ("spoiled", store, mark): 1.0, ("open", store, mark): -least}
            why = "least advance of the face in winter"
            yield at_least(("face", store, mark), wanted, 0.0, "t DM", store, why)
            shut = {**coefs, ("open", store, mark): -max(yard.free_t_dm[store], 1e-6)}
            why = "a shut clamp gives nothing"
            yield at_most(("shut", store, mark), shut, 0.0, "t DM", store, why)


def opening_rows(yard: Yard) -> Iterator[Row]:
    """A clamp is opened once: opened ≥ open − open in the period before, Σ opened ≤ 1."""
    if not yard.opened_once or yard.course is not None:
        return
    why = "a clamp that is shut again stays shut"
    for store in yard.open_clamps:
        before: dict[Key, float] = {}
        for period in yard.periods:
            mark = str(period.number)
            now: Key = ("open", store, mark)
            coefs = {("opened", store, mark): 1.0, now: -1.0, **before}
            yield at_least(("opening", store, mark), coefs, 0.0, "", store, why)
            before = {now: 1.0}
        times: dict[Key, float] = {
            ("opened", store, str(period.number)): 1.0 for period in yard.periods
        }
        yield at_most(("openings", store), times, 1.0, "", store, why)


def use_in_period(yard: Yard, store: str, number: int) -> dict[Key, float]:
    """t DM that leave a store in one period for each column."""
    coefs: dict[Key, float] = {}
    for run, offer in uses(yard, store):
        if number in run.periods:
            head_days = run.head_days[run.periods.index(number)]
            coefs[run.block.feed(offer)] = tonnes(run, offer, head_days)
    return coefs
