"""An answer that a yard can mix: what is too little to weigh, or one feed too many, is dropped or
brought up to a useful amount.

The cheapest ration comes first and keeps its proof. Then faults are put right one at a time, each
the cheaper way of two (without the feed, or with its least useful amount), by solving again; the
answer says what that costs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf
from types import MappingProxyType

from rationlp.errors import ProofFailed
from rationlp.farm.feed import Offer
from rationlp.farm.feed_table import is_long_forage, is_silage
from rationlp.model.block_ration import (
    LevelRation,
    Optimum,
    settle_levels,
    settled_by_point,
    settled_or_held,
)
from rationlp.model.levels import ask_least_of_any_level
from rationlp.model.met import protein_met
from rationlp.model.rows.block import Block
from rationlp.model.rows.practice import own_limit
from rationlp.model.search import BlockModel
from rationlp.quantities import fresh_from_dm
from rationlp.records import dataclass
from rationlp.rules.limits import family_limits, practice_figure, practice_limits

MOST_STEPS = 14
LPS_A_TRIAL = 60
NOT_COUNTED = frozenset({"forage", "straw", "root", "mineral"})
WEIGHED_APART = frozenset({"fat", "npn", "mineral"})
WET_BELOW_G_PER_KG = 400.0
LEAST_SHARE_OF_DM = 0.025
NPN_KEYS = frozenset({"feed_urea", "wholecrop_wheat_urea", "straw_ammonia_treated"})
STARCH_AND_SUGAR_FOR_UREA = 100.0
MOST_ODDMENTS = 2
ALIKE = MappingProxyType({"cereal": "cereal", "pulse_oilseed": "protein meal"})
TWO_SMALL = 2.0
"""Kinds of which one feed may stand for another, and the multiple of its least useful amount below
which two of them are one too many; common practice, no source (c).
"""
_TRACE = 1e-6


@dataclass(frozen=True)
class Tidied:
    """A tidy ration: kg DM by offer id, cost with priced excess, sentences on what was done."""

    values: dict[str, float]
    objective: float
    over_mj: float
    steps: tuple[str, ...]


@dataclass(frozen=True)
class Fault:
    """A feed that should not stand as it does: drop it, or bring it to `least_kg_dm` where that is
    not None.

    wanted: the animal is short without it, so it is dropped only where more of it gives no ration.
    """

    offer: Offer
    least_kg_dm: float | None
    why: str
    wanted: bool = False


def tidy(block: Block, optimum: Optimum) -> Tidied | None:
    """A ration without faults that can be put right; None where the cheapest has none."""
    if block.needs.limits_key is None or block.needs.energy is None:
        return None
    if next(faults(block, optimum.values), None) is None:
        return None
    model = optimum.model
    held: dict[str, tuple[float, float]] = {}
    left: set[str] = set()
    steps: list[str] = []
    values, best = optimum.values, None
    for _ in range(MOST_STEPS):
        fault = next((fault for fault in faults(block, values) if fault.offer.id not in left), None)
        if fault is None:
            break
        choice = _put_right(model, fault, held, optimum)
        if choice is None:
            left.add(fault.offer.id)
            none = "but no ration was found without it or with more of it"
            steps.append(f"{fault.offer.name} stays: {fault.why}, {none}.")
            continue
        held, best, said = choice
        values = best.values
        steps.append(said)
    kept = None
    if best is not None:
        kept = _solve(model, held, optimum, trial=False)
    if kept is None:
        return None
    return Tidied(kept.values, kept.objective, kept.over_mj, tuple(steps))


def _put_right(
    model: BlockModel, fault: Fault, held: Mapping[str, tuple[float, float]], optimum: Optimum
) -> tuple[dict[str, tuple[float, float]], Tidied, str] | None:
    """The cheaper of the two ways: (bounds held, ration, sentence); None where neither does."""
    offer, least = fault.offer, fault.least_kg_dm
    trials = [({**held, offer.id: (0.0, 0.0)}, f"{offer.name} left out: {fault.why}.")]
    if least is not None:
        kg = fresh_from_dm(least, offer.feed.dm_g_per_kg)
        words = f"{offer.name} brought up to {kg:.2g} kg: {fault.why}."
        trials.append(({**held, offer.id: (least, inf)}, words))
    best: tuple[dict[str, tuple[float, float]], Tidied, str] | None = None
    if fault.wanted:
        for trial, said in reversed(trials):
            ration = _solve(model, trial, optimum)
            if ration is not None:
                return trial, ration, said
        return None
    for least_cost, trial, said in _likeliest_first(model, trials):
        if best is not None and least_cost >= best[1].objective:
            break
        ration = _solve(model, trial, optimum)
        if ration is not None and (best is None or ration.objective < best[1].objective):
            best = (trial, ration, said)
    return best


def _likeliest_first(
    model: BlockModel, trials: list[tuple[dict[str, tuple[float, float]], str]]
) -> list[tuple[float, dict[str, tuple[float, float]], str]]:
    """The trials that may have a ration, each with a bound on its cost, the least first."""
    if len(trials) == 1 or model.part.by_point:
        return [(-inf, *trial) for trial in trials]
    assert model.curve is not None
    ask_least_of_any_level(model)
    bounded = []
    for trial, said in trials:
        model.hold_feeds(trial)
        answer = model.bound(model.curve.low, model.curve.high)
        if answer is not None:
            bounded.append((answer.objective, trial, said))
    return sorted(bounded, key=lambda one: one[0])


def _solve(
    model: BlockModel, held: Mapping[str, tuple[float, float]], optimum: Optimum, trial: bool = True
) -> Tidied | None:
    """The settled ration with some feeds held between bounds; None where none was found or it did
    not settle.

    A trial is neither tie-broken nor certified: that is done once, for the ration that is kept.
    """
    model.hold_feeds(held)
    try:
        if model.part.by_point:
            last = settled_by_point(model, optimum.point, not trial, LPS_A_TRIAL)
            return None if last is None else _as_tidied(model, last)
        state = settle_levels(model, optimum.level, (optimum.dm_kg,), ties=not trial)
        last = state.rounds[-1] if state.still else None
        if optimum.held_q is not None or (last is None and state.rounds):
            last = settled_or_held(model, state, LPS_A_TRIAL)[0]
    except ProofFailed:
        return None
    if last is None:
        return None
    checked = last.certificate is None or last.certificate.passed
    if not checked or not protein_met(model.block, last):
        return None
    return _as_tidied(model, last)


def _as_tidied(model: BlockModel, last: LevelRation) -> Tidied:
    at = model.live.column_index.get(model.over)
    over = 0.0 if at is None else last.values[at]
    return Tidied(model.amounts_of(last.values), last.answer.objective, over, ())


def faults(block: Block, values: Mapping[str, float]) -> Iterator[Fault]:
    """What a person who mixes rations would not accept, worst first."""
    fed = [(offer, kg) for offer, kg in block.fed(values) if kg > _TRACE]
    yield from _npn(block, fed)
    yield from _two_mixes(block, fed)
    yield from _too_little(block, fed)
    yield from _two_small(block, fed)
    yield from _too_little_in_all(block, fed)
    yield from _too_many(block, fed)


Fed = list[tuple[Offer, float]]


def _npn(block: Block, fed: Fed) -> Iterator[Fault]:
    """One non-protein nitrogen source at most, and none without starch and sugar to go with it."""
    sources = sorted(((offer, kg) for offer, kg in fed if _is_npn(offer)), key=lambda pair: pair[1])
    for offer, _ in sources[:-1]:
        yield Fault(offer, None, "two sources of non-protein nitrogen in one ration")
    dm = sum(kg for _, kg in fed)
    starch = "starch_and_sugar_g_per_kg_dm"
    quick = sum(kg * (block.content(offer, starch) or 0.0) for offer, kg in fed)
    urea = [offer for offer, _ in fed if offer.feed.kind == "npn"]
    if urea and dm > 0.0 and quick / dm < STARCH_AND_SUGAR_FOR_UREA:
        why = "urea needs at least 100 g starch and sugar in a kg of dry matter"
        yield Fault(urea[0], None, why)


def _two_mixes(block: Block, fed: Fed) -> Iterator[Fault]:
    """One mineral mix at a printed rate to a ration, the one that there is most of: a yard does not
    open two bags for one trough (common practice, c).
    """
    limits, weight = practice_limits(block.needs.limits_key), block.needs.live_weight_kg
    mixes = []
    for offer, kg in fed:
        limit = limits.get(offer.feed.key)
        if offer.feed.kind == "mineral" and limit is not None and limit.fixed(weight) is not None:
            mixes.append((kg, offer.id, offer))
    for _, _, offer in sorted(mixes)[:-1]:
        yield Fault(offer, None, "two mineral mixes in one ration")


def _is_npn(offer: Offer) -> bool:
    return offer.feed.kind == "npn" or offer.feed.key in NPN_KEYS


def least_useful_kg_dm(block: Block, offer: Offer, dm_kg: float) -> float | None:
    """The least of a feed worth feeding [kg DM a head a day], or None; common practice."""
    key, feed = block.needs.limits_key, offer.feed
    if feed.kind == "mineral":
        return _least_free_mineral(block, offer)
    if feed.kind in WEIGHED_APART:
        return None
    if feed.key.startswith("molasses"):
        least = practice_figure(key, "least_molasses_kg_fresh")
    elif feed.kind == "root" or (feed.is_concentrate and feed.dm_g_per_kg < WET_BELOW_G_PER_KG):
        least = practice_figure(key, "least_wet_kg_fresh")
    elif is_silage(feed):
        # What is opened for so little heats before it is eaten.
        least = practice_figure(key, "least_wet_kg_fresh")
    elif feed.is_forage:
        least = None
        if is_long_forage(feed):
            least = practice_figure(key, "least_long_forage_kg_fresh")
    else:
        least = practice_figure(key, "least_straight_kg_fresh")
    if least is None:
        return None
    kg = least * feed.dm_g_per_kg / 1000.0
    counted = feed.kind not in NOT_COUNTED and not feed.key.startswith("molasses")
    if counted:
        return max(kg, LEAST_SHARE_OF_DM * dm_kg)
    return kg


def _least_free_mineral(block: Block, offer: Offer) -> float | None:
    """The least of a mineral fed as wanted [kg DM]; None for one fed as printed."""
    limit = practice_limits(block.needs.limits_key).get(offer.feed.key)
    if limit is not None and limit.fixed(block.needs.live_weight_kg) is not None:
        return None
    least = practice_figure(block.needs.limits_key, "least_free_mineral_kg_fresh")
    if least is None:
        return None
    return least * offer.feed.dm_g_per_kg / 1000.0


def _too_little(block: Block, fed: Fed) -> Iterator[Fault]:
    """Feeds below their least useful amount, the smallest first, but for the farm's own limits."""
    dm = sum(kg for _, kg in fed)
    forage = sum(kg for offer, kg in fed if offer.feed.is_forage)
    silages = sorted((kg for offer, kg in fed if is_silage(offer.feed)), reverse=True)
    share = practice_figure(block.needs.limits_key, "least_second_silage_share") or 0.0
    for offer, kg in sorted(fed, key=lambda pair: pair[1]):
        own = own_limit(block, offer)
        if own is not None and (own.min_kg_fresh or own.min_share_of_dm):
            continue
        least = least_useful_kg_dm(block, offer, dm)
        why = "too little to weigh and mix"
        if is_silage(offer.feed) and silages and kg < silages[0]:
            least = max(share * forage, least or 0.0)
            why = "a second silage below a fifth of the forage needs a face of its own"
        if least is None or kg >= least * (1.0 - 1e-6):
            continue
        most = None if own is None else own.max_kg_fresh
        if most is None or most * offer.feed.dm_g_per_kg >= 1000 * least:
            yield Fault(offer, least, why, offer.feed.kind == "mineral")


def _two_small(block: Block, fed: Fed) -> Iterator[Fault]:
    """Two cereals, or two protein meals, each little more than is weighed: one does for both."""
    dm = sum(kg for _, kg in fed)
    for kind, name in ALIKE.items():
        small = []
        for offer, kg in fed:
            least = least_useful_kg_dm(block, offer, dm) if offer.feed.kind == kind else None
            own = own_limit(block, offer)
            forced = own is not None and (own.min_kg_fresh or own.min_share_of_dm)
            if least is not None and not forced and kg < TWO_SMALL * least:
                small.append((kg, offer.id, offer))
        for _, _, offer in sorted(small)[:-1]:
            yield Fault(offer, None, f"two small amounts of {name} where one does")


def _too_little_in_all(block: Block, fed: Fed) -> Iterator[Fault]:
    """Too little concentrate to spread along a trough: more of the largest, or none."""
    least = practice_figure(block.needs.limits_key, "least_all_concentrates_kg_fresh")
    fresh_kg = [(offer, fresh_from_dm(kg, offer.feed.dm_g_per_kg)) for offer, kg in fed]
    parts = [(offer, kg) for offer, kg in fresh_kg if offer.feed.is_concentrate]
    total = sum(fresh for _, fresh in parts)
    if least is None or not parts or total >= least * (1.0 - 1e-6):
        return
    offer, fresh = max(parts, key=lambda pair: pair[1])
    kg = (fresh + least - total) * offer.feed.dm_g_per_kg / 1000.0
    yield Fault(offer, kg, "too little concentrate in all to spread along a trough")


def _too_many(block: Block, fed: Fed) -> Iterator[Fault]:
    """More bought feeds than a yard would mix, or than two cheap oddments: the smallest goes."""
    counted = [pair for pair in fed if pair[0].feed.kind not in NOT_COUNTED]
    counted.sort(key=lambda pair: pair[1])
    most = practice_figure(block.needs.limits_key, "bought_feeds_most")
    if most is not None and len(counted) > most:
        yield Fault(counted[0][0], None, f"more than {most:.0f} feeds besides forage and minerals")
    for family in family_limits(block.needs.limits_key):
        if family.family == "cheap_oddments":
            odd = [pair for pair in counted if pair[0].feed.key in family.weights]
            if len(odd) > MOST_ODDMENTS:
                yield Fault(odd[0][0], None, "more than two cheap oddments in one ration")
