"""Which feeds a practical plan uses: one search over yes and no for the whole farm, at the energy
rows of the plan in hand.

Feeds that a group does not get at any time in the steady plan are left out; what stands clearly
above its least useful amount is held there; every doubtful feed of every run, and every bought
feed, is a yes or a no. What the search chooses is then settled at the plan's own levels of feeding
and certified like any other plan, so nothing that is shown rests on the search.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from rationlp.farm.feed import Offer
from rationlp.farm.feed_table import is_silage
from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.rows.practice import own_limit
from rationlp.model.solve import LiveModel
from rationlp.model.tidy import MOST_ODDMENTS, NOT_COUNTED, WEIGHED_APART
from rationlp.read.yard_rules import least_order_t, most_bought_feeds
from rationlp.records import dataclass
from rationlp.rules.limits import family_limits, practice_figure
from rationlp.wintering.levels import AcceptedPlan
from rationlp.wintering.parts import Run
from rationlp.wintering.rules import TRACE_KG, counts, has_rules, least_amount, ordered_t
from rationlp.wintering.search import WinterModel

GAP = 1e-3
NODES = 1
MOST_CHOICES = 400
CLEAR = 1.3
"""Multiple of its least useful amount from which a feed is not in doubt [-]."""
ROOM = 1.05
"""What a run may eat more than in the steady plan [multiple of its dry matter]."""
SLACK = 1.001
MINERAL_KG = 0.5

Held = dict[tuple[int, str], tuple[float, float]]


@dataclass(frozen=True)
class Choice:
    """What the search chose: bounds of feeds by run number and offer id [kg DM a head a day]."""

    held: Held


class _Search:
    """The programme of the choice while it is put together."""

    def __init__(self, model: WinterModel, steady: AcceptedPlan) -> None:
        self.model, self.values = model, steady.solution.values
        self.index = model.live.column_index
        self.bounds: dict[Key, tuple[float, float]] = {}
        self.choices: list[Column] = []
        self.rows: list[Row] = []
        self.doubtful: dict[tuple[int, str], Key] = {}
        self.clear: dict[tuple[int, str], float] = {}
        self.least: dict[tuple[int, str], float] = {}

    def kg(self, run: Run, offer: Offer) -> float:
        return self.values[self.index[run.block.feed(offer)]]

    def choose(self, *words: str) -> Key:
        key: Key = ("choose", *words)
        self.choices.append(Column(key, 0.0, 0.0, 1.0, title="yes or no", integer=True))
        return key

    def row(self, mark: Key, coefs: dict[Key, float], low: float, high: float) -> None:
        self.rows.append(Row(("rule", str(len(self.rows)), *mark), coefs, low, high, "limit"))


def choose(model: WinterModel, steady: AcceptedPlan) -> Choice | None:
    """The feeds of a practical plan; None where the farm is too large for the search, or where it
    ends without an answer.
    """
    search = _Search(model, steady)
    used = _used(search)
    for number, run in enumerate(model.runs):
        if has_rules(run):
            _run_choices(search, number, used[run.block.group.id])
            _run_rules(search, number)
    _orders(search)
    if len(search.choices) > MOST_CHOICES:
        return None
    live = LiveModel(_program(search), model.live.unit, GAP, presolve=True)
    solution = live.search_whole(NODES)
    if solution is None:
        return None
    return Choice(dict(_held(search, live.column_index, solution.values)))


def _used(search: _Search) -> dict[str, set[str]]:
    """Ids of the feeds that each part of a group gets at some time."""
    used: dict[str, set[str]] = {}
    for run in search.model.runs:
        mine = used.setdefault(run.block.group.id, set())
        mine |= {offer.id for offer in run.block.offers if search.kg(run, offer) > TRACE_KG}
    return used


def _run_choices(search: _Search, number: int, used: set[str]) -> None:
    """Each feed of a run is left out, held at its least useful amount at least, or in doubt; a
    mineral that is fed is wanted and held.
    """
    model, run = search.model, search.model.runs[number]
    block = run.block
    dm = search.values[search.index[model.singles[number].dm]]
    forage = sum(search.kg(run, offer) for offer in block.offers if offer.feed.is_forage)
    share = practice_figure(block.needs.limits_key, "least_second_silage_share") or 0.0
    for offer in block.offers:
        column, mark = block.feed(offer), (number, offer.id)
        own = own_limit(block, offer)
        if own is not None and (own.min_kg_fresh or own.min_share_of_dm):
            continue
        if offer.id not in used:
            search.bounds[column] = (0.0, 0.0)
            continue
        silage = is_silage(offer.feed)
        least = None if silage else least_amount(model.yard, run, offer, dm * SLACK)
        clear = CLEAR * (share * forage if silage else least or 0.0)
        if least is not None:
            search.least[mark] = least * SLACK
        if least is None and not silage and offer.feed.kind in NOT_COUNTED:
            continue
        wanted = offer.feed.kind == "mineral"
        if wanted and search.kg(run, offer) <= TRACE_KG:
            continue
        if (search.kg(run, offer) >= clear > 0.0 and not silage) or wanted:
            search.clear[mark] = least or 0.0
            search.bounds[column] = (search.least.get(mark, 0.0), inf)
            continue
        chosen = search.choose(str(number), offer.id)
        search.doubtful[mark] = chosen
        most = MINERAL_KG if offer.feed.kind == "mineral" else ROOM * dm
        search.row(("most", *chosen), {column: 1.0, chosen: -most}, -inf, 0.0)
        if least is not None:
            search.row(("least", *chosen), {column: 1.0, chosen: -least * SLACK}, 0.0, inf)


def _run_rules(search: _Search, number: int) -> None:
    """Second silages, feeds besides forage and minerals, and cheap oddments of a run."""
    run = search.model.runs[number]
    block = run.block
    counted = [offer for offer in block.offers if offer.feed.kind not in NOT_COUNTED]
    most = practice_figure(block.needs.limits_key, "bought_feeds_most")
    if most is not None:
        _at_most(search, number, counted, most)
    for family in family_limits(block.needs.limits_key):
        if family.family == "cheap_oddments":
            _at_most(
                search,
                number,
                [offer for offer in counted if offer.feed.key in family.weights],
                MOST_ODDMENTS,
            )
    _second_silages(search, number)
    _least_in_all(search, number)


def _least_in_all(search: _Search, number: int) -> None:
    """No concentrate, or as much in all as can be spread along a trough."""
    run = search.model.runs[number]
    least = practice_figure(run.block.needs.limits_key, "least_all_concentrates_kg_fresh")
    offers = [
        offer
        for offer in run.block.offers
        if offer.feed.is_concentrate and search.bounds.get(run.block.feed(offer)) != (0.0, 0.0)
    ]
    if least is None or not offers:
        return
    fed = search.choose(str(number), "concentrate")
    most = ROOM * search.values[search.index[search.model.singles[number].dm]]
    kg = {run.block.feed(offer): 1.0 for offer in offers}
    search.row(("all_most", str(number)), {**kg, fed: -most}, -inf, 0.0)
    fresh = {run.block.feed(offer): 1000.0 / offer.feed.dm_g_per_kg for offer in offers}
    search.row(("all_least", str(number)), {**fresh, fed: -least * SLACK}, 0.0, inf)


def _at_most(search: _Search, number: int, offers: list[Offer], most: float) -> None:
    marks = [(number, offer.id) for offer in offers]
    doubtful = {search.doubtful[mark]: 1.0 for mark in marks if mark in search.doubtful}
    left = most - sum(mark in search.clear for mark in marks)
    if len(doubtful) > left:
        search.row(("feeds", str(number)), doubtful, -inf, max(left, 0.0))


def _second_silages(search: _Search, number: int) -> None:
    """Of two silages that are both fed each is at least its share of the forage."""
    run = search.model.runs[number]
    block = run.block
    share = (practice_figure(block.needs.limits_key, "least_second_silage_share") or 0.0) * SLACK
    forages = [offer for offer in block.offers if offer.feed.is_forage]
    silages = [
        offer
        for offer in forages
        if (number, offer.id) in search.doubtful and is_silage(offer.feed)
    ]
    room = ROOM * search.values[search.index[search.model.singles[number].dm]]
    for first in silages:
        for silage in silages:
            if first is silage:
                continue
            coefs = {block.feed(offer): -share for offer in forages}
            coefs[block.feed(first)] += 1.0
            for one in (first, silage):
                coefs[search.doubtful[(number, one.id)]] = -share * room
            search.row(("second", str(number)), coefs, -2.0 * share * room, inf)


def _orders(search: _Search) -> None:
    """A feed is bought in its least order at least or not at all, and so many of them at most."""
    model = search.model
    rules = model.yard.farm.yard_rules
    counted: dict[Key, float] = {}
    kg = {
        (number, offer.id): search.kg(run, offer)
        for number, run in enumerate(model.runs)
        for offer in run.block.offers
    }
    for offer in model.yard.farm.offers:
        key: Key = ("order", offer.id)
        if not offer.bought or key not in model.live.row_index or offer.feed.kind in WEIGHED_APART:
            continue
        t = ordered_t(model.yard, offer, kg)
        if t <= 0.0:
            continue
        order = search.choose("order", offer.id)
        coefs = _row_coefs(model, key)
        most = sum(run.weight for run in model.runs) / 50.0 + t
        least = least_order_t(rules, offer) * SLACK
        search.row(("order", offer.id, "least"), {**coefs, order: -least}, 0.0, inf)
        search.row(("order", offer.id, "most"), {**coefs, order: -most}, -inf, 0.0)
        if counts(offer):
            counted[order] = 1.0
    if len(counted) > most_bought_feeds(rules):
        search.row(("most_bought",), counted, -inf, float(most_bought_feeds(rules)))


def _row_coefs(model: WinterModel, key: Key) -> dict[Key, float]:
    keys = list(model.live.column_index)
    return {keys[j]: value for j, value in model.live.coefs[model.live.row_index[key]].items()}


def _program(search: _Search) -> Program:
    """The winter's programme as it stands, with the choices beside it."""
    live = search.model.live
    keys = list(live.column_index)
    columns = []
    for j, key in enumerate(keys):
        low, high = search.bounds.get(key, (live.col_low[j], live.col_high[j]))
        columns.append(Column(key, live.cost[j], low, high))
    rows = []
    for i, row in enumerate(live.rows):
        coefs = {keys[j]: value for j, value in live.coefs[i].items()}
        rows.append(Row(row.key, coefs, live.row_low[i], live.row_high[i], row.kind))
    return Program((*columns, *search.choices), (*rows, *search.rows))


def _held(
    search: _Search, index: dict[Key, int], values: tuple[float, ...]
) -> Iterator[tuple[tuple[int, str], tuple[float, float]]]:
    """The bounds that the choices come to."""
    runs = search.model.runs
    for mark, key in search.doubtful.items():
        run = runs[mark[0]]
        offer = next(offer for offer in run.block.offers if offer.id == mark[1])
        if values[index[key]] < 0.5 or values[index[run.block.feed(offer)]] <= TRACE_KG:
            yield mark, (0.0, 0.0)
        elif mark in search.least:
            yield mark, (search.least[mark], inf)
    for mark in search.clear:
        if mark in search.least:
            yield mark, (search.least[mark], inf)
    for number, run in enumerate(runs):
        for offer in run.block.offers:
            if search.bounds.get(run.block.feed(offer)) == (0.0, 0.0):
                yield (number, offer.id), (0.0, 0.0)


def smoothed(model: WinterModel, held: Held) -> Held:
    """The same choice without single periods that differ from those before and after: there a feed
    goes as beside.
    """
    parts: dict[str, list[int]] = {}
    for number, run in enumerate(model.runs):
        parts.setdefault(run.block.group.id, []).append(number)
    smooth = dict(held)
    for numbers in parts.values():
        for before, here, after in zip(numbers, numbers[1:], numbers[2:], strict=False):
            for offer in model.runs[here].block.offers:
                marks = [(number, offer.id) for number in (before, here, after)]
                out = [smooth.get(mark, (0.0, inf))[1] == 0.0 for mark in marks]
                if out[0] == out[2] != out[1]:
                    smooth[marks[1]] = smooth.get(marks[0], (0.0, inf))
    return smooth
