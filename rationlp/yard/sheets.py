"""The sheets of the people who feed: for every group the loads of a wagon, or the bales, kilograms
and meals of a pen.

They are for the head and the dry matter of the day, and the rounded ration is set against need once
more.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field, replace
from datetime import date
from functools import cached_property

from rationlp.after.plan_changes import News
from rationlp.errors import EXIT_NO_RATION, Faults
from rationlp.farm.farm import Farm, Mix
from rationlp.farm.feed import Figure, Offer
from rationlp.farm.group import Feeding, Group
from rationlp.model.bales import Eater, bale_remarks
from rationlp.model.fed import fed_supply
from rationlp.model.passed import PassedLimit, passed_limits
from rationlp.model.rows.block import make_block
from rationlp.needs.cattle_classes import is_cereal_based
from rationlp.needs.objects import GroupNeeds
from rationlp.quantities import dm_from_fresh, fresh_from_dm
from rationlp.read.loading import loading_figure
from rationlp.records import dataclass
from rationlp.result import FedSupply, GroupRation, Rations
from rationlp.rules.bales import bale_weights
from rationlp.wintering.parts import GRAZED
from rationlp.yard.loads import BY_HAND, Load, LoadLine, keep_total, make_load
from rationlp.yard.parlour import Parlour, parlour
from rationlp.yard.pens import Pen, Serving, make_pen
from rationlp.yard.words import dry_matter_words, load_words, meal_words, parlour_words, urea_words

LEAST_DM_PERCENT, MOST_DM_PERCENT = 4.0, 100.0
MOST_HEAD = 100_000
_LEAST_KG_DM = 1e-5


@dataclass(frozen=True)
class DayFigures:
    """Different today: dm_percent: dry matter by offer id [%]; head: animals by group id."""

    dm_percent: Mapping[str, float] = field(default_factory=dict)
    head: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class GroupShare:
    """What a group gets of one load [kg fresh]: the wagon stops there."""

    group: str
    name: str
    head: int
    kg: float


@dataclass(frozen=True)
class MixSheet:
    """A load and the groups that get it. recipe_of: id of the group whose ration it is."""

    id: str
    recipe_of: str
    load: Load
    shared_out: tuple[GroupShare, ...]


@dataclass(frozen=True)
class GroupSheet:
    """The sheet of one group. mix: of a wagon; pen: what is fed beside it, or all where there is no
    wagon; parlour: by yield.

    kg_fresh: wanted, a head a day by offer id, eaten; fed: what is given after rounding, set
    against need; before: the ration.
    notes: sentences to print. passed, passed_before: limits on feeds that the ration passes after
    rounding, and before.
    """

    group: str
    name: str
    head: int
    feeding: Feeding
    before: GroupRation
    kg_fresh: Mapping[str, float]
    mix: MixSheet | None
    pen: Pen | None
    parlour: Parlour | None
    fed: FedSupply
    notes: tuple[str, ...]
    passed: tuple[PassedLimit, ...] = ()
    passed_before: tuple[PassedLimit, ...] = ()


@dataclass(frozen=True)
class YardSheets:
    """All sheets of a day, by group in the farm's order. without: groups that have no ration. news:
    of a plan's day; without it all cautions are new.
    """

    farm: Farm
    day: date
    sheets: tuple[GroupSheet, ...]
    without: tuple[GroupRation, ...]
    news: News = field(default_factory=News)

    @property
    def exit_code(self) -> int:
        """3 when a group has no ration, else 0."""
        return EXIT_NO_RATION if self.without else 0


def yard_sheets(rations: Rations, today: DayFigures | None = None) -> YardSheets:
    """The sheets for rations of a day.

    The ration stands in dry matter: with another dry matter today the fresh weight changes and the
    dry matter stays. A mix of several groups is made to the first group's ration and shared out by
    its portions; each group's own needs are then checked. Raises InputError (IN124, IN501, IN520)
    for corrections that name nothing or are out of range.
    """
    on_the_day = today or DayFigures()
    farm = _farm_today(rations.farm, on_the_day)
    _check_heads(rations, on_the_day)
    rations_fed = {group.group: group for group in rations.groups if group.amounts}
    groups = {
        group.id: _headed(group, on_the_day) for group in farm.groups if group.id in rations_fed
    }
    yard = _Yard(farm, rations.farm, on_the_day, rations_fed, groups)
    mixes = {member: sheet for sheet in yard.mixes() for member in sheet.members}
    sheets = tuple(yard.sheet(group, mixes.get(group)) for group in rations_fed)
    without = tuple(group for group in rations.groups if not group.amounts)
    return YardSheets(farm, farm.day or farm.start, sheets, without)


def _headed(group: Group, today: DayFigures) -> Group:
    return replace(group, head=today.head.get(group.id, group.head))


def _farm_today(farm: Farm, today: DayFigures) -> Farm:
    """The farm with today's dry matter in place of what it was."""
    faults = Faults("--dm")
    known = [offer.id for offer in farm.offers]
    for key, percent in today.dm_percent.items():
        place = faults.of(f"--dm {key}")
        if key not in known:
            remedy = f"ids of this farm: {', '.join(sorted(known))}"
            place.add("IN124", f'"{key}" is neither in store nor bought', remedy)
        elif not LEAST_DM_PERCENT <= percent <= MOST_DM_PERCENT:
            remedy = f"dry matter in %, from {LEAST_DM_PERCENT:g} to {MOST_DM_PERCENT:g}"
            place.add("IN520", f"{percent:g} is no dry matter", remedy)
    faults.refuse()
    return replace(farm, offers=tuple(_offer_today(offer, today) for offer in farm.offers))


def _offer_today(offer: Offer, today: DayFigures) -> Offer:
    percent = today.dm_percent.get(offer.id)
    if percent is None:
        return offer
    measured = Figure(10.0 * percent, "farm", "measured today")
    figures = {**offer.feed.figures, "dm_g_per_kg": measured}
    return replace(offer, feed=replace(offer.feed, figures=figures))


def _check_heads(rations: Rations, today: DayFigures) -> None:
    faults = Faults("--head")
    known = {group.id for group in rations.farm.groups}
    for key, head in today.head.items():
        place = faults.of(f"--head {key}")
        if key not in known:
            remedy = f"use one of {', '.join(sorted(known))}"
            place.add("IN501", "this farm has no such group on that day", remedy)
        elif not 1 <= head <= MOST_HEAD:
            remedy = f"animals in the group today, from 1 to {MOST_HEAD}"
            place.add("IN520", f"{head} is no number of animals", remedy)
    faults.refuse()


@dataclass(frozen=True)
class _Shared:
    """A mix: portions by group id, kg a head over its first group's; top_up: not mixed."""

    sheet: MixSheet
    members: Mapping[str, float]
    top_up: frozenset[str]
    recipe: Mapping[str, float]


@dataclass(frozen=True)
class _Yard:
    """What sheets are made from: the farm today and as planned, rations, today's head."""

    farm: Farm
    planned: Farm
    now: DayFigures
    rations: Mapping[str, GroupRation]
    groups: Mapping[str, Group]

    @property
    def offers(self) -> dict[str, Offer]:
        return {offer.id: offer for offer in self.farm.offers}

    def feeding(self, group: str) -> Feeding:
        return self.groups[group].feeding or self.farm.feeding

    def kg_dm(self, group: str) -> dict[str, float]:
        """What a head of the group gets, the parlour left out, by offer id [kg DM]."""
        return {a.offer: a.kg_dm for a in self.rations[group].amounts if a.kg_dm > _LEAST_KG_DM}

    def mixes(self) -> tuple[_Shared, ...]:
        """Mixes of several groups, then one for every other group that a wagon feeds."""
        mixes, mixed = [], set()
        for mix in self.farm.mixes:
            portions = {
                group: share for group, share in mix.portions.items() if group in self.rations
            }
            if portions and self.feeding(next(iter(portions))).wagon != "none":
                mixes.append(self._shared(mix, portions))
                mixed |= set(portions)
        for group in self.rations:
            if group not in mixed and self.feeding(group).wagon != "none" and self._in_tub(group):
                mixes.append(self._shared(Mix(group, {group: 1.0}, frozenset()), {group: 1.0}))
        return tuple(mixes)

    def _in_tub(self, group: str) -> dict[str, float]:
        parlour_feed = self.groups[group].parlour_feed
        return {
            key: kg for key, kg in self.kg_dm(group).items() if key not in (parlour_feed, GRAZED)
        }

    def _shared(self, mix: Mix, portions: Mapping[str, float]) -> _Shared:
        first = next(iter(portions))
        recipe = {key: kg for key, kg in self._in_tub(first).items() if key not in mix.top_up}
        scale = portions[first]
        members = {group: share / scale for group, share in portions.items()}
        feeding = self.feeding(first)
        heads = {group: self.groups[group].head * share for group, share in members.items()}
        out = 1.0 + feeding.refusals
        kg = {
            key: fresh_from_dm(kg_dm, self.offers[key].feed.dm_g_per_kg) * sum(heads.values()) * out
            for key, kg_dm in recipe.items()
        }
        load = make_load(kg, self.offers, feeding)
        parts = [load.load_kg * heads[group] / sum(heads.values()) for group in members]
        step = 1e-3
        if len(members) > 1:
            step = loading_figure("step_forage")
        shared = keep_total(parts, [step] * len(parts))
        shared_out = tuple(
            GroupShare(group, self.groups[group].name, self.groups[group].head, kg)
            for group, kg in zip(members, shared, strict=True)
        )
        return _Shared(MixSheet(mix.id, first, load, shared_out), members, mix.top_up, recipe)

    def sheet(self, group: str, shared: _Shared | None) -> GroupSheet:
        """The sheet of a group, its mix made already."""
        animals, feeding, ration = self.groups[group], self.feeding(group), self.rations[group]
        portion = self._wanted(animals, shared)
        unmixed = {
            key: kg for key, kg in portion.items() if shared is None or key not in shared.recipe
        }
        urea = [key for key in unmixed if self.offers[key].feed.kind == "npn"]
        beside = [
            Serving(self.offers[key], kg)
            for key, kg in unmixed.items()
            if key not in (animals.parlour_feed, GRAZED) and key not in urea
        ]
        pen = None
        if beside:
            limits, bales = ration.needs.limits_key, bale_weights(self.planned)
            hopper = is_cereal_based(animals)
            pen = make_pen(beside, animals.head, feeding.refusals, limits, bales, hopper)
        eaten = self._eaten(animals, portion, shared, pen)
        alone = replace(self.farm, groups=(animals,))
        fed = fed_supply(alone, {group: eaten}, {group: ration.needs})[0]
        by_yield = parlour(self.farm, ration)
        if shared is not None and len(shared.members) > 1:
            by_yield = parlour(self.farm, replace(ration, amounts=fed.amounts))
        kg_fresh = {
            key: fresh_from_dm(kg, self.offers[key].feed.dm_g_per_kg) for key, kg in portion.items()
        }
        notes = self._notes(animals, portion, shared, pen, by_yield)
        return GroupSheet(
            group=group,
            name=animals.name,
            head=animals.head,
            feeding=feeding,
            before=ration,
            kg_fresh=kg_fresh,
            mix=None if shared is None else shared.sheet,
            pen=pen,
            parlour=by_yield,
            fed=fed,
            notes=(*self._urea_notes(urea, shared), *notes),
            passed=self._passed(animals, fed.needs, eaten),
            passed_before=self._passed(animals, fed.needs, self.kg_dm(group)),
        )

    def _passed(
        self, group: Group, needs: GroupNeeds, kg_dm: Mapping[str, float]
    ) -> tuple[PassedLimit, ...]:
        """The limits that amounts pass, with all feeds on the farm that the group may get."""
        return passed_limits(make_block(self.farm, group, needs), kg_dm)

    def _urea_notes(self, left_out: Iterable[str], shared: _Shared | None) -> Iterator[str]:
        lines: tuple[LoadLine, ...] = ()
        if shared is not None:
            lines = shared.sheet.load.lines
        by_hand = [
            line.name
            for line in lines
            if line.by == BY_HAND and self.offers[line.offer].feed.kind == "npn"
        ]
        yield from urea_words([self.offers[key].name for key in left_out], by_hand)

    def _wanted(self, group: Group, shared: _Shared | None) -> dict[str, float]:
        """kg DM a head a day by offer id: of the own ration, or the shared mix and extras."""
        amounts = self.kg_dm(group.id)
        if shared is None:
            return amounts
        beside = {
            k: kg
            for k, kg in amounts.items()
            if k in shared.top_up or k in (group.parlour_feed, GRAZED)
        }
        return {key: kg * shared.members[group.id] for key, kg in shared.recipe.items()} | beside

    def _notes(
        self,
        group: Group,
        portion: Mapping[str, float],
        shared: _Shared | None,
        pen: Pen | None,
        by_yield: Parlour | None,
    ) -> Iterator[str]:
        planned = next(present.head for present in self.planned.groups if present.id == group.id)
        if group.head != planned:
            yield f"{group.head} animals today instead of {planned}."
        fed = [offer for offer in self.planned.offers if offer.id in portion]
        yield from dry_matter_words(
            fed, dict(self.now.dm_percent), self.farm.day or self.farm.start
        )
        if shared is not None:
            if len(shared.members) > 1:
                names = ", ".join(share.name for share in shared.sheet.shared_out)
                yield (
                    f"One mix for {names}, made to the ration of"
                    f" {self.groups[shared.sheet.recipe_of].name}."
                )
            yield from load_words(
                shared.sheet.load, self.feeding(shared.sheet.recipe_of).loads_per_day
            )
        if GRAZED in portion:
            yield f"Besides this {portion[GRAZED]:.1f} kg DM of grass is grazed a head a day."
        if pen is not None:
            yield from meal_words(pen)
        if by_yield is not None:
            yield from parlour_words(by_yield)
        yield from self._bales.get(group.id, ())

    @cached_property
    def _bales(self) -> dict[str, tuple[str, ...]]:
        """What is to be said of opened bales, by group; all groups of the yard share them."""
        eaters = []
        for group in self.groups.values():
            for key, kg in self.kg_dm(group.id).items():
                put_out = fresh_from_dm(kg, self.offers[key].feed.dm_g_per_kg) * group.head
                eaters.append(
                    Eater(
                        group.id,
                        group.animal_class,
                        key,
                        put_out * (1.0 + self.feeding(group.id).refusals),
                    )
                )
        return bale_remarks(self.farm, eaters)

    def _eaten(
        self, group: Group, portion: Mapping[str, float], shared: _Shared | None, pen: Pen | None
    ) -> dict[str, float]:
        """kg DM a head a day eaten once rounded weights are put out and refusals lie."""
        feeding = self.feeding(group.id)
        eaten = {key: kg for key, kg in portion.items() if key in (group.parlour_feed, GRAZED)}
        if shared is not None:
            load = shared.sheet.load
            kg = next(share.kg for share in shared.sheet.shared_out if share.group == group.id)
            refusals = self.feeding(shared.sheet.recipe_of).refusals
            part = load.loads * kg / load.load_kg / group.head / (1.0 + refusals)
            for key in shared.recipe:
                eaten[key] = dm_from_fresh(
                    load.kg_of(key) * part, self.offers[key].feed.dm_g_per_kg
                )
        if pen is None:
            return eaten
        for line in pen.lines:
            out = 1.0 + feeding.refusals * (line.way in ("bales", "rail"))
            dm_g = self.offers[line.offer].feed.dm_g_per_kg
            eaten[line.offer] = dm_from_fresh(line.kg / group.head / out, dm_g)
        return eaten
