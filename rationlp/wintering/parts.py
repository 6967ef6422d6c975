"""From a farm to the pieces of its winter: who is fed when and for how many days, and with what.

Steps of one part that are alike in everything (same animals, same needs, same feeds) are one run:
they get the same ration, and the programme has one block for them.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from datetime import date, timedelta

from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Offer
from rationlp.farm.group import FeedLimit, Grazing, Group
from rationlp.model.ewe_relief import can_be_fed, may_give_way, relieved
from rationlp.model.reserves import eased, may_be_eased
from rationlp.model.rows.block import Block, at_prices, kept_for_others, make_block
from rationlp.needs import group_needs
from rationlp.needs.calendar import fed_days, parts_on, planned_steps
from rationlp.planned import Period
from rationlp.read.yard_rules import shut_days
from rationlp.records import dataclass
from rationlp.wintering.collector import collector_paused

GRAZED = "grazed_grass"
NONE_KNOWN: Mapping[str, Block] = {}
LEAST_DAYS = 7
"""A ration for fewer days is none: the store opens with the next step. Common practice (c)."""


@dataclass(frozen=True)
class Run:
    """One part of a group through one or more alike periods.

    block: one head on one day. periods: numbers of the periods. head_days: by period [head · d].
    waste: share of what is put out that is not eaten, by offer id.
    """

    block: Block
    periods: tuple[int, ...]
    head: tuple[int, ...]
    head_days: tuple[float, ...]
    waste: dict[str, float]

    @property
    def weight(self) -> float:
        """Head-days of the whole run."""
        return sum(self.head_days)

    def put_out(self, offer: Offer) -> float:
        """kg put out for a kg eaten."""
        return self.put_out_of(offer.id)

    def put_out_of(self, offer_id: str) -> float:
        """kg put out for a kg eaten, by offer id."""
        return 1.0 / (1.0 - self.waste.get(offer_id, 0.0))


def winter_periods(farm: Farm, start: date | None = None) -> tuple[Period, ...]:
    """The periods of the winter from a day on; the first may be shorter. Raises InputError (IN504)
    for a day outside it.
    """
    first_day = farm.start if start is None else start
    if not farm.start <= first_day < farm.turnout:
        found = f"{first_day} is outside the winter"
        remedy = f"give a day from {farm.start} to before {farm.turnout}"
        raise InputError([Finding("IN504", "--from", found, remedy)])
    steps = (step for step in planned_steps(farm) if step[1] > first_day)
    kept = [(max(first, first_day), last) for first, last in steps]
    for day in sorted(opening_days(farm).values()):
        kept = [step for whole in kept for step in _cut(whole, day)]
    return tuple(Period(number, first, last) for number, (first, last) in enumerate(kept))


def _cut(step: tuple[date, date], day: date) -> list[tuple[date, date]]:
    """A step of the plan, in two where a store opens inside it and a week or more is left."""
    first, last = step
    cut = first < day and (last - day).days >= LEAST_DAYS
    return [(first, day), (day, last)] if cut else [step]


def opening_days(farm: Farm) -> dict[str, date]:
    """First day on which a clamp or bag may be fed, where that lies within the winter and its date
    of filling is known; by store id.
    """
    opens = {}
    for store in farm.stores:
        filled = store.size.get("filled")
        if store.kind in ("clamp", "bag") and isinstance(filled, str):
            day = date.fromisoformat(filled) + timedelta(days=shut_days(farm.yard_rules))
            if day > farm.start:
                opens[store.id] = day
    return opens


def _grazing(group: Group, period: Period) -> tuple[Grazing, float] | None:
    """Grass of a period, the first entry in it, and its mean amount [kg DM a head a day]."""
    for one in group.grazing:
        days = (min(one.until, period.last) - max(one.start, period.first)).days
        if days > 0:
            return one, one.kg_dm * days / period.days
    return None


def _farm_for(farm: Farm, part: Group, period: Period) -> tuple[Farm, tuple[FeedLimit, ...]]:
    """The farm as a part meets it in a period, and what its grass is fixed at."""
    away = kept_for_others(farm, part)
    away |= {store for store, day in opening_days(farm).items() if day > period.first}
    grass = _grazing(part, period)
    if not away and grass is None:
        # One and the same farm, so that what is known of its feeds is worked out once.
        return farm, ()
    offers = tuple(offer for offer in farm.offers if offer.id not in away)
    if grass is None:
        return dataclasses.replace(farm, offers=offers), ()
    one, kg = grass
    dm = one.feed.dm_g_per_kg
    offer = Offer(GRAZED, one.feed.name, one.feed, False, one.price_per_t_dm * dm / 1000.0)
    fresh = kg * 1000.0 / dm
    limit = FeedLimit(GRAZED, min_kg_fresh=fresh, max_kg_fresh=fresh)
    return dataclasses.replace(farm, offers=(offer, *offers)), (limit,)


@collector_paused()
def winter_runs(
    farm: Farm,
    periods: Iterable[Period],
    waste: dict[str, float],
    known: Mapping[str, Block] = NONE_KNOWN,
    eased_before: EasedBefore | None = None,
) -> tuple[Run, ...]:
    """Every run of the winter, group by group in the farm's order. Raises one InputError with
    everything that is wrong.

    waste: share put out and not eaten, by offer id. known: blocks of a farm that differs by prices
    alone, by `block_name`, of which no price decides what they are; they are not made again.
    eased_before: what came of easing the blocks of a winter before, and comes of those of this one.
    """
    findings: list[Finding] = []
    done: list[_Draft] = []
    for group in farm.groups:
        drafts: dict[str, _Draft] = {}
        for period in periods:
            days = fed_days(group, period.first, period.last)
            if not days:
                continue
            for part in parts_on(group, period.first, period.last):
                try:
                    _extend(farm, drafts, part, (period, days), done, known, eased_before)
                except InputError as trouble:
                    findings.extend(trouble.findings)
        done += drafts.values()
    if findings:
        raise InputError(dict.fromkeys(findings))
    return tuple(draft.run(waste) for draft in done)


@dataclasses.dataclass
class _Draft:
    """A run that may still grow."""

    mark: tuple[object, ...]
    block: Block
    periods: list[int]
    head: list[int]
    head_days: list[float]

    def run(self, waste: dict[str, float]) -> Run:
        return Run(self.block, tuple(self.periods), tuple(self.head), tuple(self.head_days), waste)


def block_name(part: str, period: str) -> str:
    """The name of a block: of a part of a group from a period on."""
    return f"{part} {period}"


def priced_only(block: Block) -> bool:
    """Whether prices decide nothing of a block but its costs: what a fresh cow takes off her back,
    and how a ewe gives way, go by a ration.
    """
    group = block.group
    return not (group.reserve_mj or may_be_eased(group) or may_give_way(block))


def _extend(
    farm: Farm,
    drafts: dict[str, _Draft],
    part: Group,
    when: tuple[Period, int],
    done: list[_Draft],
    known: Mapping[str, Block],
    eased_before: EasedBefore | None,
) -> None:
    period, days = when
    met, fixed = _farm_for(farm, part, period)
    mark = (
        part.animal_class,
        tuple(sorted((key, _round(value)) for key, value in part.facts.items())),
        tuple(offer.id for offer in met.offers),
        fixed,
    )
    draft = drafts.get(part.id)
    if draft is not None and draft.mark == mark:
        draft.periods.append(period.number)
        draft.head.append(part.head)
        draft.head_days.append(float(part.head * days))
        return
    if draft is not None:
        done.append(draft)
    name = f"p{period.number:02d}"
    before = known.get(block_name(part.id, name))
    if before is None:
        animals = dataclasses.replace(part, feed_limits=(*part.feed_limits, *fixed))
        block = make_block(met, animals, group_needs(animals, farm.margins))
        if eased_before is None:
            block = _with_ease(met, block)
        else:
            block = eased_before.of(met, block, name)
        block = dataclasses.replace(block, period=name)
    else:
        block = at_prices(before, farm)
    drafts[part.id] = _Draft(mark, block, [period.number], [part.head], [float(part.head * days)])


def _with_ease(farm: Farm, block: Block) -> Block:
    """The block with what her back eases a fresh cow by, or with a ewe's relief."""
    return with_relief(farm, eased(farm, block))


class EasedBefore:
    """Blocks and what came of easing them, by part and period: it takes rations to find out, and
    the same comes of the same block and margins, whatever the heads.
    """

    def __init__(self) -> None:
        self._known: dict[str, tuple[Block, Margins, Block]] = {}

    def of(self, farm: Farm, block: Block, period: str) -> Block:
        """What comes of easing a block."""
        name, plain = block_name(block.group.id, period), with_head(block, 0)
        before = self._known.get(name)
        if before is None or before[:2] != (plain, farm.margins):
            before = self._known[name] = (plain, farm.margins, _with_ease(farm, block))
        return with_head(before[2], block.group.head)


def with_head(block: Block, head: int) -> Block:
    """The block of a group of so many head: nothing else in it goes by heads."""
    if block.group.head == head:
        return block
    return dataclasses.replace(block, group=dataclasses.replace(block.group, head=head))


def with_relief(farm: Farm, block: Block) -> Block:
    """A ewe gets the least relief with which she can be fed from full stores."""
    if not may_give_way(block) or can_be_fed(block):
        return block
    return relieved(farm, block) or block


def _round(value: float | str) -> float | str:
    return value if isinstance(value, str) else round(value, 9)
