"""Why this ration: what binds and what it costs, which feed is only just in or out, how far amounts
could move.

All of it is about the cheapest ration, to which proof and marginal values belong. What is said of a
feed or of a litre more is found by solving again; ranges are linear programmes at the settled
energy row, each end checked against the true requirement.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import inf

from rationlp.after.excretion import Excretion, excretion
from rationlp.errors import InputError, ProofFailed
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.traits import traits
from rationlp.model.block_ration import NoOptimum, Optimum, solve_block
from rationlp.model.clash import row_in_words
from rationlp.model.lp import Key, Row
from rationlp.model.ration import NOTHING_KG, eat, excess, priced_extras
from rationlp.model.rows import block_rows
from rationlp.model.rows.block import Block, make_block
from rationlp.model.rows.diet import share_scale
from rationlp.model.search import BlockModel
from rationlp.model.trace import settled_model
from rationlp.needs import group_needs
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
"""A marginal value below this share of the dearest feed's price a kg DM is the solver's rounding
[-].
"""

TANGENTS_BEGIN = ("silage_beside_", "forage_beside_")
"""How the names of rows begin that are tangents of one curve (needs/growing_appetite.py,
needs/dairy_appetite.py).
"""
SURELY = 1e-3
"""So far past the price at which a feed is said to turn it is looked at again [share of its price].
"""

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
class Near:
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
    """How far one feed could move while all needs are met and the cost rises by no more than 1 %
    [kg fresh a head a day].
    """

    offer: str
    name: str
    kg_fresh: float
    least_kg_fresh: float
    most_kg_fresh: float


@dataclass(frozen=True)
class MoreProduct:
    """What one litre of milk, or 100 g of gain, more adds to the cost [currency a head a day], by
    solving with it within the same limits (an equation of intake, or a limit that goes by yield,
    would otherwise move with it).
    """

    what: str
    cost: float


@dataclass(frozen=True)
class Why:
    """Why a group's ration is what it is. more_product: None for a group that makes neither milk
    nor gain, or where more has no ration. leaves: what leaves the animal on the ration shown.
    """

    group: str
    binding: tuple[Binding, ...]
    more_product: MoreProduct | None
    near: tuple[Near, ...]
    ranges: tuple[Range, ...]
    leaves: Excretion | None


def why_ration(farm: Farm, ration: GroupRation) -> Why | None:
    """The reasons of one group's ration; None where there is none. Raises SolverTrouble as the
    ration itself would.
    """
    group = next((group for group in farm.groups if group.id == ration.group), None)
    if group is None or not ration.amounts:
        return None
    shown = {amount.offer: amount.kg_dm for amount in ration.amounts}
    return why_block(farm, make_block(farm, group, ration.needs), shown)


def why_block(farm: Farm, block: Block, shown: Mapping[str, float]) -> Why | None:
    """The reasons of a block's cheapest ration, and what leaves the animal on the one shown [kg DM
    by offer id]; None where there is none. Raises SolverTrouble as the ration itself would.
    """
    optimum = solve_block(block)
    if isinstance(optimum, NoOptimum):
        return None
    kg_dm = {offer.id: shown.get(offer.id, 0.0) for offer in block.offers}
    eaten = eat(block, kg_dm, {})
    parts = [(offer.feed, kg_dm[offer.id]) for offer in block.offers if kg_dm[offer.id] > 0.0]
    return Why(
        group=block.group.id,
        binding=tuple(_binding(farm, block, optimum)),
        more_product=_more_product(farm, block, optimum),
        near=tuple(_near(farm, block, optimum)),
        ranges=tuple(_ranges(block, optimum)),
        leaves=excretion(block.group, block.needs, parts, eaten.level),
    )


def _binding(farm: Farm, block: Block, optimum: Optimum) -> Iterator[Binding]:
    """Needs first, then limits, the dearest first within each."""
    rows = {row.key: row for row in block_rows(block)}
    together: dict[str, tuple[Row, float]] = {}
    dearest = max((abs(offer.price_per_kg_dm) for offer in block.offers), default=1.0)
    for key, dual in optimum.row_duals.items():
        row = rows.get(key) or ceiling_row(block, key)
        size = (
            max((abs(value) for value in row.coefs.values()), default=1.0)
            if row is not None
            else 1.0
        )
        if (
            row is None
            or row.kind == "definition"
            or key[0] == "minerals"
            or abs(dual) * size <= NOTICEABLE * dearest
        ):
            continue
        # The tangents of one curve are one limit: more appetite moves them all.
        limit = row.title if key[0].startswith(TANGENTS_BEGIN) else repr(key)
        _, before = together.get(limit, (row, 0.0))
        together[limit] = (row, before + dual)
    bindings = [
        binding_of(farm.currency, block, optimum.dm_kg, bound) for bound in together.values()
    ]
    yield from sorted(bindings, key=lambda one: (one.kind not in ("need", "priced"), -one.cost))


def ceiling_row(block: Block, key: Key) -> Row | None:
    """The ceiling on energy, which a search adds as a row of its own."""
    if key[0] != "energy_ceiling":
        return None
    multiple = 100.0 * (block.needs.energy_ceiling or 1.0)
    why = f"at most {multiple:.0f} % of the need (common practice, no source)"
    return Row(key, {}, -inf, 0.0, "ceiling", "MJ", "energy ceiling", why)


def binding_of(currency: str, block: Block, dm_kg: float, bound: tuple[Row, float]) -> Binding:
    """A row of a block with its marginal value [currency a head a day a unit of the row], said in
    units a farmer knows.

    dm_kg: dry matter of the ration [kg a head a day], by which limits on a share are turned into a
    price a per cent.
    """
    row, dual = bound
    kind, per, unit, what = row.key[0], 1.0, row.unit, row_in_words(block, row)
    if kind == "energy":
        what, unit = "its energy", "MJ"
    elif row.kind == "ceiling":
        what = (
            f"the ceiling on energy ({100.0 * (block.needs.energy_ceiling or 1.0):.0f} % of the"
            " need)"
        )
    elif kind == "protein":
        what, unit = "its protein", "g MP"
    elif kind in ("diet", "own_share"):
        per, unit = dm_kg / share_scale(row.key[1]), block.quantity(row.key[1]).unit
        if unit == "share of DM":
            per, unit = per / 100.0, "% of the dry matter"
    elif kind in ("practice_share", "feed_share"):
        per, unit = dm_kg / 100.0, "% of the dry matter"
    elif row.unit.endswith("appetite for forage"):
        per, unit = 0.01, "%"
    elif row.kind == "priced":
        what = f"its {row.title[:1].lower()}{row.title[1:]}"
    cost = abs(dual) * per
    units, amount = readable(cost)
    verb = "costs" if dual > 0.0 else "would save"
    words = f"{what} ({units} {unit} more {verb} {currency} {amount})"
    return Binding(what, row.kind, cost, unit, row.why, words)


def readable(cost: float) -> tuple[int, str]:
    """How many units a price is said for, so that it has figures to show: 1, 10 or 100."""
    units = next((units for units in (1, 10) if cost * units >= 0.001), 100)
    return units, f"{cost * units:.4f}"


def _solved(block: Block) -> Optimum | None:
    try:
        answer = solve_block(block)
    except ProofFailed:
        return None
    return None if isinstance(answer, NoOptimum) else answer


def _more_product(farm: Farm, block: Block, optimum: Optimum) -> MoreProduct | None:
    """The cost of one litre of milk, or of 100 g of gain, more within the same limits: solved again
    with it.
    """
    group, milk = block.group, milk_of(block.group)
    if milk is not None:
        fact, becomes, what = "milk_kg_per_day", milk + KG_PER_LITRE, "a litre of milk"
    elif (
        traits(group.animal_class).growing and float(group.facts.get("gain_kg_per_day", 0.0)) > 0.0
    ):
        fact, becomes, what = (
            "gain_kg_per_day",
            group.number("gain_kg_per_day") + _MORE_GAIN_KG,
            "100 g of gain",
        )
    else:
        return None
    more = replace(group, facts={**group.facts, fact: becomes})
    try:
        asked = group_needs(more, farm.margins)
    except InputError:
        return None
    needs = replace(block.needs, energy=asked.energy, mp_g=asked.mp_g, minerals=asked.minerals)
    answer = _solved(replace(block, needs=needs))
    return None if answer is None else MoreProduct(what, answer.objective - optimum.objective)


def _priced(block: Block, offer: Offer, factor: float) -> Block:
    """The block with one feed's price multiplied."""
    changed = replace(offer, price_per_t_fresh=offer.price_per_t_fresh * factor)
    return replace(
        block, offers=tuple(changed if other.id == offer.id else other for other in block.offers)
    )


def _near(farm: Farm, block: Block, optimum: Optimum) -> Iterator[Near]:
    """Feeds within 2 % of their price of going out or coming in, and the one next in line."""
    next_in: list[tuple[float, Offer]] = []
    for offer in block.offers:
        if offer.price_per_kg_dm <= 0.0:
            continue
        if optimum.values[offer.id] > NOTHING_KG:
            dearer = _solved(_priced(block, offer, 1.0 + NEAR))
            if dearer is not None and dearer.values[offer.id] <= NOTHING_KG:
                words = (
                    f"{offer.name} is only just in: with its price {100.0 * NEAR:.0f} % higher it"
                    " goes out."
                )
                yield Near(offer.id, offer.name, True, NEAR, words)
        else:
            next_in.append(
                (max(optimum.reduced_costs[offer.id], 0.0) / offer.price_per_kg_dm, offer)
            )
    for place, (short, offer) in enumerate(sorted(next_in, key=lambda one: one[0])):
        if short >= 1.0 - SURELY or (short > NEAR and place > 0):
            break
        cheaper = _solved(_priced(block, offer, 1.0 - short - SURELY))
        if cheaper is not None and cheaper.values[offer.id] > NOTHING_KG:
            yield _out(farm, offer, short)


def _out(farm: Farm, offer: Offer, short: float) -> Near:
    price = offer.price_per_t_fresh
    words = (
        f"{offer.name} is next in line: it comes in below {farm.currency}"
        f" {price * (1.0 - short):.0f} a tonne instead of {price:.0f}."
    )
    if short <= NEAR:
        words = (
            f"{offer.name} is only just out: it comes in when its price falls by"
            f" {max(100.0 * short, 0.1):.1f} %."
        )
    return Near(offer.id, offer.name, False, -short, words)


def _ranges(block: Block, optimum: Optimum) -> Iterator[Range]:
    """Least and most of every feed at up to 1 % more cost; feeds that stay below 1 % of the dry
    matter are left out.
    """
    model = settled_model(block, optimum)
    if model is None:
        return
    budget = optimum.objective + SLACK * abs(optimum.objective)
    model.live.add_row(
        Row(block.key("budget"), dict(model.costs), -inf, budget, "limit", "currency", "cost")
    )
    for offer in block.offers:
        to_fresh = 1000.0 / offer.feed.dm_g_per_kg
        now = fresh_from_dm(optimum.values[offer.id], offer.feed.dm_g_per_kg)
        least, most = (to_fresh * _furthest(model, optimum, offer, sign) for sign in (1.0, -1.0))
        if max(now, most) > COUNTS * optimum.dm_kg * to_fresh:
            yield Range(offer.id, offer.name, now, min(least, now), max(most, now))


def _furthest(model: BlockModel, optimum: Optimum, offer: Offer, sign: float) -> float:
    """The least (sign 1) or most (−1) of an offer [kg DM] in a programme that holds the cost, its
    ration truly adequate.
    """
    block = model.block
    model.live.set_costs({block.feed(offer): sign})
    found = model.solve(cold=True)
    if found is None:
        return optimum.values[offer.id]
    reached = {other.id: max(found.solution.values[n], 0.0) for n, other in enumerate(block.offers)}
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
    low, high, kept = 0.0, 1.0, start
    for _ in range(_BACK_STEPS):
        share = 0.5 * (low + high)
        trial = {key: start[key] + share * (reached[key] - start[key]) for key in start}
        if stands(trial):
            low, kept = share, trial
        else:
            high = share
    return kept
