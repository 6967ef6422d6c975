"""Why this ration: what binds and what it costs, which feed is only just in or out, how far amounts
could move.

All of it is about the cheapest ration, to which proof and marginal values belong. What is said of a
feed or of a litre more is found by solving again; ranges are linear programmes at the settled
energy row, each end checked against the true requirement.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from math import inf

from rationlp.after.excretion import Excretion, excretion
from rationlp.errors import InputError, ProofFailed
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.traits import traits
from rationlp.halving import halve
from rationlp.model.block_ration import Optimum, optimum_of
from rationlp.model.clash import row_in_words
from rationlp.model.lp import Key, Row
from rationlp.model.ration import NOTHING_KG, eat, excess, priced_extras
from rationlp.model.rows.block import Block, make_block
from rationlp.model.search import BlockModel
from rationlp.model.trace import settled_model
from rationlp.needs import group_needs
from rationlp.needs.energy import plain_level
from rationlp.needs.produced import milk_of
from rationlp.quantities import KG_PER_LITRE, fresh_from_dm
from rationlp.records import dataclass
from rationlp.result import GroupRation

NEAR = 0.02
"""A feed within this share of its price of coming in or going out is only just out or in [-]."""

SLACK = 0.01
"""How much dearer the ration may get while amounts move [share of its cost]."""

COUNTS = 0.01
"""A feed that stays below this share of the dry matter is not spoken of [-]."""


NOTICEABLE = 1e-7
"""A marginal value below this share of the dearest feed's price a kg DM is rounding [-]."""

SURELY = 1e-3
"""So far past the price at which a feed turns it is looked at again [share of its price]."""

GAIN = "gain_kg_per_day"
_ROUNDING = 1e-6
_BACK_STEPS = 12
_MORE_GAIN_KG = 0.1


@dataclass(frozen=True)
class Binding:
    """A need or limit that the cheapest ration stands at.

    cost: what one unit more of a need asked adds to the cost, or one unit more of a limit allowed
    takes off it [currency a head a day a unit]. words: the same as a phrase.
    """

    what: str
    kind: str
    cost: float
    unit: str
    whose: str
    words: str


@dataclass(frozen=True)
class NearFeed:
    """A feed only just in or out, or next in line. change: of its price, at which it comes in or
    goes out [share of the price]; checked by solving again.
    """

    offer: str
    name: str
    within: bool
    change: float
    words: str


@dataclass(frozen=True)
class Range:
    """How far a feed could move at up to 1 % more cost, all needs met [kg fresh a head a day]."""

    offer: str
    name: str
    kg_fresh: float
    least_kg_fresh: float
    most_kg_fresh: float


@dataclass(frozen=True)
class ProductCost:
    """What one litre of milk, or 100 g of gain, more adds to the cost [currency a head a day], by
    solving with it within the same limits (an equation of intake, or a limit that goes by yield,
    would otherwise move with it).
    """

    what: str
    cost: float


@dataclass(frozen=True)
class Reasons:
    """Why a group's ration is what it is. more_product: None for a group that makes neither milk
    nor gain, or where more has no ration. leaves: what leaves the animal on the ration shown.
    """

    group: str
    binding: tuple[Binding, ...]
    more_product: ProductCost | None
    near: tuple[NearFeed, ...]
    ranges: tuple[Range, ...]
    leaves: Excretion | None


def why_ration(farm: Farm, ration: GroupRation) -> Reasons | None:
    """The reasons of a group's ration, or None. Raises SolverTrouble as the ration would."""
    group = next((group for group in farm.groups if group.id == ration.group), None)
    if group is None or not ration.amounts:
        return None
    shown_kg = {amount.offer: amount.kg_dm for amount in ration.amounts}
    return why_block(farm, make_block(farm, group, ration.needs), shown_kg)


def why_block(farm: Farm, block: Block, shown_kg: Mapping[str, float]) -> Reasons | None:
    """The reasons of a block's cheapest ration, and what leaves the animal on the one shown [kg DM
    by offer id]; None where there is none. Raises SolverTrouble as the ration itself would.
    """
    optimum = optimum_of(block)
    if optimum is None:
        return None
    kg_dm = {offer.id: shown_kg.get(offer.id, 0.0) for offer in block.offers}
    eaten = eat(block, kg_dm, {})
    parts = [(offer.feed, kg_dm[offer.id]) for offer in block.offers if kg_dm[offer.id] > 0.0]
    duals = ((row, optimum.row_duals.get(row.key, 0.0)) for row in optimum.model.live.rows)
    binding = [
        binding for _, binding in bindings(farm.currency, block, optimum.dm_kg, duals).values()
    ]
    return Reasons(
        group=block.group.id,
        binding=tuple(sorted(binding, key=lambda binding: needs_first(binding.kind, binding.cost))),
        more_product=_more_product(farm, block, optimum),
        near=tuple(_near(farm, block, optimum)),
        ranges=tuple(_ranges(block, optimum)),
        leaves=excretion(block.group, block.needs, parts, plain_level(eaten.level)),
    )


def bindings(
    currency: str, block: Block, dm_kg: float, duals: Iterable[tuple[Row, float]]
) -> dict[Key, tuple[Row, Binding]]:
    """What a ration of a block stands at, by limit. dm_kg: its dry matter [kg a head a day]; duals:
    rows with their marginal values [currency a head a day a unit of the row].
    """
    together: dict[Key, tuple[Row, float]] = {}
    for row, dual in duals:
        if row.kind != "definition" and not row.words.silent:
            mark = row.key[:-2]
            if row.words.tangent:
                mark = (row.kind, row.title)
            together[mark] = (row, together.get(mark, (row, 0.0))[1] + dual)
    dearest = max((abs(offer.price_per_kg_dm) for offer in block.offers), default=1.0)
    return {
        mark: (row, _binding(currency, dm_kg, row, dual))
        for mark, (row, dual) in together.items()
        if abs(dual) * row.size > NOTICEABLE * dearest
    }


def _binding(currency: str, dm_kg: float, row: Row, dual: float) -> Binding:
    """A row with its marginal value, told in units a farmer knows."""
    row_words = row.words
    cost = abs(dual) * row_words.per
    if row_words.of_diet:
        cost *= dm_kg
    unit, what = row_words.unit or row.unit, row_words.need or row_in_words(row)
    units, amount = readable(cost)
    verb = "would save"
    if dual > 0.0:
        verb = "costs"
    phrase = f"{what} ({units} {unit} more {verb} {currency} {amount})"
    return Binding(what, row.kind, cost, unit, row.why, phrase)


def needs_first(kind: str, cost: float) -> tuple[bool, float]:
    """Order of reasons: needs first, then limits, the dearest first within each."""
    return kind not in ("need", "priced"), -cost


def readable(cost: float) -> tuple[int, str]:
    """How many units a price is said for, so that it has figures to show: 1, 10 or 100."""
    units = next((units for units in (1, 10) if cost * units >= 0.001), 100)
    return units, f"{cost * units:.4f}"


def _solved(block: Block) -> Optimum | None:
    try:
        return optimum_of(block)
    except ProofFailed:
        return None


def _more_product(farm: Farm, block: Block, optimum: Optimum) -> ProductCost | None:
    """What a litre of milk, or 100 g of gain, more costs within the same limits, solved again."""
    group, milk = block.group, milk_of(block.group)
    if milk is not None:
        fact, becomes, what = "milk_kg_per_day", milk + KG_PER_LITRE, "a litre of milk"
    elif traits(group.animal_class).growing and float(group.facts.get(GAIN, 0.0)) > 0.0:
        fact, becomes, what = GAIN, group.number(GAIN) + _MORE_GAIN_KG, "100 g of gain"
    else:
        return None
    group_with_more = replace(group, facts={**group.facts, fact: becomes})
    try:
        needs_with_more = group_needs(group_with_more, farm.margins)
    except InputError:
        return None
    needs = replace(
        block.needs,
        energy=needs_with_more.energy,
        mp_g=needs_with_more.mp_g,
        minerals=needs_with_more.minerals,
    )
    answer = _solved(replace(block, needs=needs))
    if answer is None:
        return None
    return ProductCost(what, answer.objective - optimum.objective)


def _priced(block: Block, offer: Offer, factor: float) -> Block:
    """The block with one feed's price multiplied."""
    changed = replace(offer, price_per_t_fresh=offer.price_per_t_fresh * factor)
    offers = {present.id: present for present in block.offers} | {offer.id: changed}
    return replace(block, offers=tuple(offers.values()))


def _near(farm: Farm, block: Block, optimum: Optimum) -> Iterator[NearFeed]:
    """Feeds within 2 % of their price of going out or coming in, and the one next in line."""
    next_in: list[tuple[float, Offer]] = []
    for offer in block.offers:
        if offer.price_per_kg_dm <= 0.0:
            continue
        if optimum.values[offer.id] > NOTHING_KG:
            dearer = _solved(_priced(block, offer, 1.0 + NEAR))
            if dearer is not None and dearer.values[offer.id] <= NOTHING_KG:
                higher = f"with its price {100.0 * NEAR:.0f} % higher it goes out"
                sentence = f"{offer.name} is only just in: {higher}."
                yield NearFeed(offer.id, offer.name, True, NEAR, sentence)
        else:
            reduced = max(optimum.reduced_costs[offer.id], 0.0)
            next_in.append((reduced / offer.price_per_kg_dm, offer))
    for place, (short, offer) in enumerate(sorted(next_in, key=lambda distance: distance[0])):
        if short >= 1.0 - SURELY or (short > NEAR and place > 0):
            break
        cheaper = _solved(_priced(block, offer, 1.0 - short - SURELY))
        if cheaper is not None and cheaper.values[offer.id] > NOTHING_KG:
            yield _out(farm, offer, short)


def _out(farm: Farm, offer: Offer, short: float) -> NearFeed:
    price = offer.price_per_t_fresh
    below = f"{farm.currency} {price * (1.0 - short):.0f} a tonne instead of {price:.0f}"
    sentence = f"{offer.name} is next in line: it comes in below {below}."
    if short <= NEAR:
        fall = f"its price falls by {max(100.0 * short, 0.1):.1f} %"
        sentence = f"{offer.name} is only just out: it comes in when {fall}."
    return NearFeed(offer.id, offer.name, False, -short, sentence)


def _ranges(block: Block, optimum: Optimum) -> Iterator[Range]:
    """Least and most of every feed at up to 1 % more cost; below 1 % of the dry matter none."""
    model = settled_model(block, optimum)
    if model is None:
        return
    budget = optimum.objective + SLACK * abs(optimum.objective)
    model.live.add_row(
        Row(block.key("budget"), dict(model.costs), -inf, budget, "limit", "currency", "cost")
    )
    for offer in block.offers:
        to_fresh = 1000.0 / offer.feed.dm_g_per_kg
        kg_now = fresh_from_dm(optimum.values[offer.id], offer.feed.dm_g_per_kg)
        least, most = (to_fresh * _furthest(model, optimum, offer, sign) for sign in (1.0, -1.0))
        if max(kg_now, most) > COUNTS * optimum.dm_kg * to_fresh:
            yield Range(offer.id, offer.name, kg_now, min(least, kg_now), max(most, kg_now))


def _furthest(model: BlockModel, optimum: Optimum, offer: Offer, sign: float) -> float:
    """The least (sign 1) or most (−1) of an offer [kg DM] within the cost, truly adequate."""
    block = model.block
    model.live.set_costs({block.feed(offer): sign})
    answer = model.solve(cold=True)
    if answer is None:
        return optimum.values[offer.id]
    reached = model.amounts(answer)
    budget = optimum.objective + SLACK * abs(optimum.objective)
    return _checked(block, optimum.values, reached, budget)[offer.id]


def _checked(
    block: Block, start: dict[str, float], reached: dict[str, float], budget: float
) -> dict[str, float]:
    """The furthest ration on the way from the cheapest to `reached` that meets the true requirement
    at its own q and level, and costs no more than the budget [currency a head a day] by what is
    short at that level.
    """

    def stands(kg_dm: dict[str, float]) -> bool:
        eaten = eat(block, kg_dm, {})
        feed = sum(kg_dm[offer.id] * offer.price_per_kg_dm for offer in block.offers)
        dear = feed + priced_extras(block, 0.0, eaten) > budget + _ROUNDING * abs(budget)
        return excess(block, eaten)[2] and not dear

    if stands(reached):
        return reached

    def at(share: float) -> dict[str, float]:
        return {key: start[key] + share * (reached[key] - start[key]) for key in start}

    return at(halve(lambda share: stands(at(share)), 0.0, 1.0, times=_BACK_STEPS)[0])
