"""Single changes that would each give a group without a ration one, smallest first. Each is solved
again before it is said.

Kinds: `allow` more of a feed than a limit lets, `buy` a feed of the tables that the farm does not
have, `intake` (if it would eat more), `produce` (less milk or gain), `forage` (a richer one), `own`
(a figure of the farm's own that stands in the way). Limits that are there for safety and feeds that
a caution keeps away are never offered. The least amount of a feed is found by solving with that
feed as the only thing that costs; the least of anything else by halving over steps that a person
would use.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from math import ceil, floor, log10
from typing import Any

from rationlp.errors import InputError, ProofFailed
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Figure, Offer
from rationlp.farm.feed_table import SELDOM_SOLD, is_silage
from rationlp.farm.group import FeedLimit, QuantityLimit
from rationlp.farm.traits import traits
from rationlp.halving import halve_whole
from rationlp.model.block_ration import NoOptimum, solve_block
from rationlp.model.rows.at_hand import not_for_them
from rationlp.model.rows.block import Block, make_block
from rationlp.model.rows.diet import FOR_SAFETY
from rationlp.model.rows.practice import own_limit
from rationlp.needs import group_needs
from rationlp.needs.minerals import COPPER
from rationlp.needs.produced import milk_of
from rationlp.quantities import fresh_from_dm
from rationlp.records import dataclass
from rationlp.result import Clash, Remedy
from rationlp.rules.blanks import complete
from rationlp.rules.cautions import kept_away
from rationlp.rules.limits import PracticeLimit, practice_limits

GAIN = "gain_kg_per_day"
MOST_OF_A_KIND = 3
MOST_REMEDIES = 8
NOT_FOR_SALE = frozenset({"root", "mineral", "npn", "fat"})
"""Kinds not looked for on the market: without energy or fibre, or not traded."""
RICHEST_FORAGE_ME = 12.5
"""Richest forage thought of [MJ ME/kg DM]; near the tables' best grass silage (c)."""
MOST_MORE_EATEN = 1.3
"""Most that intake is thought above the equation's figure [multiple]; common practice (c)."""

_PRICE = 1e5
_UNLIMITED_KG = 1e4
_SMALL_EATER_KG_DM = 5.0
_OWN_STEPS = 50


@dataclass(frozen=True)
class _Case:
    """A block without a ration and the farm it belongs to."""

    farm: Farm
    block: Block

    @property
    def small(self) -> bool:
        """A sheep or the like, for which a tenth of a kilogram is a lot."""
        cap = self.block.needs.intake
        return cap is not None and cap.cap_kg_dm < _SMALL_EATER_KG_DM

    @property
    def eaten_kg_dm(self) -> float:
        """What amounts of feed are held against [kg DM a head a day]."""
        cap = self.block.needs.intake
        return cap.cap_kg_dm if cap is not None else 10.0

    @property
    def step(self) -> float:
        """The step of an amount that a person would use [kg a head a day]."""
        return 0.01 if self.small else 0.1

    @property
    def places(self) -> int:
        """Decimals of such an amount."""
        return 2 if self.small else 1

    def rounded_up(self, kg_fresh: float) -> float:
        """An amount in such steps [kg a head a day]."""
        return ceil(kg_fresh / self.step - 1e-6) * self.step

    def with_fact(self, fact: str, value: float) -> Block | None:
        """The block with one fact changed, needs worked out anew; None where that is refused."""
        group = replace(self.block.group, facts={**self.block.group.facts, fact: value})
        try:
            needs = group_needs(group, self.farm.margins)
            return make_block(self.farm, group, needs, self.block.offers)
        except InputError:
            return None


def find_remedies(farm: Farm, block: Block, clash: Clash | None = None) -> tuple[Remedy, ...]:
    """Single changes that would each be enough for a block that has no ration, smallest first,
    feeds seldom sold last; empty where none is.

    clash: where known, a figure of the farm's own is looked at only when it has a part in it.
    """
    case = _Case(farm, block)
    changes = [*_produce(case), *_intake(case), *_forage(case), *_allow(case), *_buy(case)]
    changes += _own(case, clash)
    kept: list[Remedy] = []
    for remedy in sorted(changes, key=lambda one: (one.about in SELDOM_SOLD, one.size)):
        if sum(other.kind == remedy.kind for other in kept) < MOST_OF_A_KIND:
            kept.append(remedy)
    return tuple(kept[:MOST_REMEDIES])


def enough(block: Block | None) -> bool:
    """Whether a block has a ration, by the full solve."""
    if block is None:
        return False
    try:
        return not isinstance(solve_block(block), NoOptimum)
    except ProofFailed:
        return False


def _fewest(most: int, make: Callable[[int], Block | None]) -> int | None:
    """The fewest steps, at most `most`, that are enough; the number returned was solved. None where
    `most` is not enough.

    Where more is not always better (a larger appetite must also be filled) fewer steps are tried
    before giving up.
    """
    for steps in (most, most // 2, most // 4):
        if steps > 0 and enough(make(steps)):
            return halve_whole(lambda fewer: not enough(make(fewer)), 0, steps)[1]
    return None


def _produce(case: _Case) -> Iterator[Remedy]:
    """Accept less milk or gain."""
    group = case.block.group
    now = milk_of(group)
    if now is not None:
        yield from _less(case, "milk_kg_per_day", "milk", now, 0.1)
    elif traits(group.animal_class).growing and float(group.facts.get(GAIN, 0.0)) > 0.0:
        step = 0.002 if case.small else 0.01
        yield from _less(case, GAIN, "gain", group.number(GAIN), step)


def _less(case: _Case, fact: str, word: str, now: float, step: float) -> Iterator[Remedy]:
    whole = ceil(now / step - 1e-6)
    steps = _fewest(whole, lambda steps: case.with_fact(fact, (whole - steps) * step))
    if steps is not None:
        becomes = (whole - steps) * step
        less, kg = now - becomes, f".{max(1, round(0.49 - log10(step)))}f"
        words = f"Accept {less:{kg}} kg less {word} a day: {becomes:{kg}} instead of {now:{kg}}."
        yield Remedy("produce", word, less, becomes, "kg/d", less / now, words)


def _intake(case: _Case) -> Iterator[Remedy]:
    """If the animals ate more than the equation expects."""
    cap, step = case.block.needs.intake, case.step
    if cap is None:
        return
    whole = floor(cap.cap_kg_dm / step + 1e-6)

    def made(steps: int) -> Block | None:
        intake = replace(cap, cap_kg_dm=(whole + steps) * step)
        return replace(case.block, needs=replace(case.block.needs, intake=intake))

    steps = _fewest(int((MOST_MORE_EATEN - 1.0) * whole), made)
    if steps is not None:
        becomes = (whole + steps) * step
        more = becomes - cap.cap_kg_dm
        words = (
            f"If a head ate {becomes:.2f} kg of dry matter a day instead of {cap.cap_kg_dm:.2f}"
            f" ({cap.source}), there would be a ration: better forage, trough space and feed always"
            " in front of them raise intake."
        )
        yield Remedy("intake", "dry matter", more, becomes, "kg DM/d", more / cap.cap_kg_dm, words)


def _forage(case: _Case) -> Iterator[Remedy]:
    """A richer forage in place of each that is there."""
    for offer in case.block.offers:
        now = offer.feed.value("me_mj_per_kg_dm")
        if offer.feed.kind != "forage" or now is None or case.block.needs.energy is None:
            continue
        whole = floor(10.0 * now + 1e-6)
        steps = _fewest(int(10.0 * RICHEST_FORAGE_ME) - whole, partial(_richer, case, offer))
        if steps is not None:
            becomes = 0.1 * (whole + steps)
            more = becomes - now
            words = (
                f"{offer.name} with {becomes:.1f} MJ ME in a kg of dry matter instead of {now:.1f}"
                " would be enough."
            )
            yield Remedy("forage", offer.id, more, becomes, "MJ/kg DM", more / now, words)


def _richer(case: _Case, offer: Offer, steps: int) -> Block | None:
    """The block with a forage richer in ME by tenths of a megajoule, its FME with it."""
    figures = dict(offer.feed.figures)
    now = figures["me_mj_per_kg_dm"].value
    more = 0.1 * (floor(10.0 * now + 1e-6) + steps) - now
    for name in ("me_mj_per_kg_dm", "fme_mj_per_kg_dm"):
        if name in figures:
            figures[name] = Figure(figures[name].value + more, "farm", "as if it were richer")
    richer = replace(offer, feed=replace(offer.feed, figures=figures))
    offers = (richer if other.id == offer.id else other for other in case.block.offers)
    return replace(case.block, offers=tuple(offers))


def _least_kg_dm(block: Block, offer: Offer) -> float | None:
    """The least of an offer with which there is a ration [kg DM a head a day], or None."""
    prices = {offer.id: _PRICE}
    offers = tuple(replace(o, price_per_t_fresh=prices.get(o.id, 0.0)) for o in block.offers)
    free = replace(block, over_energy_price=0.0, mineral_shortage_price=0.0, mj_price=0.0)
    try:
        answer = solve_block(replace(free, offers=offers))
    except ProofFailed:
        return None
    if isinstance(answer, NoOptimum):
        return None
    return answer.values[offer.id]


def _allow(case: _Case) -> Iterator[Remedy]:
    """More of a feed than its printed limit or the farm's own lets."""
    printed = practice_limits(case.block.needs.limits_key)
    for offer in case.block.offers:
        own, limit = own_limit(case.block, offer), printed.get(offer.feed.key)
        weight = case.block.needs.live_weight_kg
        capped = own is not None and (own.max_kg_fresh, own.max_share_of_dm) != (None, None)
        if limit is not None and (limit.hard or limit.fixed(weight)):
            continue
        limited = limit is not None and not _forbidden(limit)
        if limit is not None and limit.max_share is None:
            limited = limited and limit.most_kg_dm(weight) is not None
        if offer.id not in case.block.held and (capped or limited):
            yield from _more_of(case, offer)


def _forbidden(limit: PracticeLimit) -> bool:
    """A printed limit of nothing at all says that the feed is not for this class."""
    return 0.0 in (limit.max_share, limit.max_kg_dm, limit.max_kg_dm_per_kg_live_weight)


def _more_of(case: _Case, offer: Offer) -> Iterator[Remedy]:
    least = _least_kg_dm(_held_to(case, offer, _UNLIMITED_KG), offer)
    if least is None:
        return
    kg = case.rounded_up(fresh_from_dm(least, offer.feed.dm_g_per_kg))
    if enough(_held_to(case, offer, kg)):
        words = (
            f"Allow up to {kg:.{case.places}f} kg fresh of {offer.name} a head a day, more than the"
            " limit on it lets."
        )
        yield Remedy("allow", offer.id, kg, kg, "kg fresh/d", least / case.eaten_kg_dm, words)


def _held_to(case: _Case, offer: Offer, kg_fresh: float) -> Block:
    """The block with the farm's own limit on a feed in place of what stands on it now."""
    group = case.block.group
    own = own_limit(case.block, offer) or FeedLimit(offer.id)
    mine = replace(own, max_kg_fresh=kg_fresh, max_share_of_dm=1.0)
    limits = (*(limit for limit in group.feed_limits if limit.offer != offer.id), mine)
    return replace(case.block, group=replace(group, feed_limits=limits))


def _buy(case: _Case) -> Iterator[Remedy]:
    """A feed of the tables that this farm does not have, the least of it that is enough."""
    found = []
    for offer in _market(case):
        block = _beside(case, offer)
        if block is not None and (least := _least_kg_dm(block, offer)) is not None:
            found.append((least, offer, block))
    kept = 0
    for least, offer, block in sorted(found, key=lambda one: (one[1].id in SELDOM_SOLD, one[0])):
        kg = case.rounded_up(fresh_from_dm(least, offer.feed.dm_g_per_kg))
        limits = (*block.group.feed_limits, FeedLimit(offer.id, max_kg_fresh=kg))
        capped = replace(block.group, feed_limits=limits)
        if not (enough(replace(block, group=capped)) and enough(block)):
            continue
        head = case.block.group.head
        words = (
            f"Buy {offer.name}, at least {kg:.{case.places}f} kg fresh a head a day"
            f" ({kg * head:.0f} kg a day for {head} head; figures of the feed tables)."
        )
        yield Remedy("buy", offer.id, kg, kg, "kg fresh/d", least / case.eaten_kg_dm, words)
        kept += 1
        if kept == MOST_OF_A_KIND:
            return


def _market(case: _Case) -> Iterator[Offer]:
    """Feeds of the tables that can be bought, that the group may have and the farm does not."""
    group, printed = case.block.group, practice_limits(case.block.needs.limits_key)
    offers = (*case.farm.offers, *case.block.offers)
    here = {name for offer in offers for name in (offer.feed.key, offer.id)}
    taken = here | group.barred | {limit.offer for limit in group.feed_limits}
    for key, feed in case.farm.feeds.items():
        if key in taken or feed.kind in NOT_FOR_SALE or is_silage(feed):
            continue
        if printed and (key not in printed or _forbidden(printed[key])):
            continue
        yield Offer(key, feed.name, complete(feed), True, 0.0)


def _beside(case: _Case, offer: Offer) -> Block | None:
    """The block with one feed more; None where it is kept away or lacks a figure."""
    group, needs = case.block.group, case.block.needs
    farm = replace(case.farm, offers=(*case.farm.offers, offer))
    limits = ((limit.quantity, limit.kind) for limit in needs.limits)
    if (COPPER, "row") in limits and offer.feed.value(COPPER) is None:
        return None
    if offer.id in kept_away(farm, group) or not_for_them(group, needs, (offer,)):
        return None
    try:
        return make_block(farm, group, needs, (*case.block.offers, offer))
    except InputError:
        return None


def _own(case: _Case, clash: Clash | None) -> Iterator[Remedy]:
    """Figures of the farm's own that stand in the way: how far each would have to move."""
    if clash is not None and not any("farm's own" in part.whose for part in clash.parts):
        return
    group = case.block.group
    for number, limit in enumerate(group.quantity_limits):
        for side in ("at_least", "at_most"):
            bound = getattr(limit, side)
            if bound is not None and not (side == "at_most" and limit.quantity in FOR_SAFETY):
                yield from _moved(case, _Own(number, side, bound, limit))
    for number, own in enumerate(group.feed_limits):
        for side in ("min_kg_fresh", "min_share_of_dm"):
            bound = getattr(own, side)
            if bound:
                yield from _moved(case, _Own(number, side, bound, own))


@dataclass(frozen=True)
class _Own:
    """One side of a limit of the farm's own: its place in the list, the side, the figure now. A
    floor may go to nothing, a ceiling to four times what it is.
    """

    number: int
    side: str
    bound: float
    limit: QuantityLimit | FeedLimit

    @property
    def floor(self) -> bool:
        """It asks for a least amount."""
        return self.side.startswith(("at_least", "min"))

    @property
    def most_steps(self) -> int:
        """How many steps are thought of."""
        return _OWN_STEPS if self.floor else 3 * _OWN_STEPS

    def becomes(self, steps: int) -> float:
        """The figure after so many steps of two hundredths."""
        share = steps / _OWN_STEPS
        return self.bound * (1.0 - share if self.floor else 1.0 + share)


def _moved(case: _Case, own: _Own) -> Iterator[Remedy]:
    steps = _fewest(own.most_steps, lambda n: _with_own(case, own, own.becomes(n)))
    if steps is None:
        return
    becomes = own.becomes(steps)
    if isinstance(own.limit, QuantityLimit):
        quantity = case.block.quantity(own.limit.quantity)
        about, title = own.limit.quantity, quantity.title
        unit = quantity.unit if own.limit.per == "kg_dm" else f"{quantity.amount_unit} a head a day"
    else:
        about = own.limit.offer
        title = next((offer.name for offer in case.block.offers if offer.id == about), about)
        unit = "kg fresh a head a day" if own.side == "min_kg_fresh" else "of the dry matter"
    word, now = "Ask for at least" if own.floor else "Allow at most", f"{own.bound:.4g}"
    words = f"{word} {becomes:.4g} {unit} of {title} instead of {now} (the farm's own figure)."
    change = abs(becomes - own.bound)
    yield Remedy("own", about, change, becomes, unit, steps / _OWN_STEPS, words)


def _with_own(case: _Case, own: _Own, bound: float) -> Block:
    """The block with one side of a limit of the farm's own moved."""
    group, needs = case.block.group, case.block.needs
    moved: dict[str, Any] = {own.side: bound}
    if isinstance(own.limit, QuantityLimit):
        mine = list(group.quantity_limits)
        mine[own.number] = replace(own.limit, **moved)
        changed = replace(group, quantity_limits=tuple(mine))
        return replace(case.block, group=changed, needs=replace(needs, own_limits=tuple(mine)))
    limits = list(group.feed_limits)
    limits[own.number] = replace(own.limit, **moved)
    return replace(case.block, group=replace(group, feed_limits=tuple(limits)))
