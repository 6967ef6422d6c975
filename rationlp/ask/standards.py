"""The same farm by two standards of needs: both bills and rations, each ration judged by the other
standard too.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from math import inf

from rationlp.ask.outcome import Outcome, outcome_of_group, outcome_of_plan
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed
from rationlp.farm.group import AFRC, Group
from rationlp.needs import NO_MARGINS, second_standard_of
from rationlp.needs.objects import GroupNeeds
from rationlp.needs.standards import TITLES
from rationlp.needs.supply import protein_figures_missing, ration_supply
from rationlp.planned import PlanRation, WinterPlan
from rationlp.records import dataclass
from rationlp.result import Amount, GroupRation
from rationlp.wintering.open_stores import rations_of_day


@dataclass(frozen=True)
class Judgement:
    """What a ration brings and what is asked for, a head a day, margins of the standard included.

    standard: by which. energy_mj, energy_needed_mj: energy [MJ], ME or by NRC
    (2001) net energy of milk. mp_g, mp_needed_g: metabolisable protein
    [g]; CSIRO (2007) calls it protein digested in the intestine, less what eating costs. None where
    there is no such need, or a feed lacks a figure. energy_most_mj: above it the animals get too
    fat [MJ], None for classes without such a ceiling.
    """

    standard: str
    energy_mj: float
    energy_needed_mj: float | None
    mp_g: float | None
    mp_needed_g: float | None
    energy_most_mj: float | None = None

    @property
    def energy_share(self) -> float | None:
        """Energy brought over energy asked for [-]."""
        if not self.energy_needed_mj:
            return None
        return self.energy_mj / self.energy_needed_mj

    @property
    def protein_share(self) -> float | None:
        """Protein brought over protein asked for [-]."""
        if self.mp_g is None or not self.mp_needed_g:
            return None
        return self.mp_g / self.mp_needed_g


def judged(needs: GroupNeeds, parts: Sequence[tuple[Feed, float]]) -> Judgement:
    """A ration of (feed, kg DM a head a day) against needs, by the standard of these."""
    fed = [(feed, kg) for feed, kg in parts if kg > 0.0]
    me = sum(kg * (feed.value("me_mj_per_kg_dm") or 0.0) for feed, kg in fed)
    nothing = Judgement(needs.standard, me, None, None, None)
    if needs.energy is None or not fed:
        return nothing
    if any(protein_figures_missing(feed, needs.standard) for feed, _ in fed):
        return nothing
    level, asked = needs.energy.level_of_ration(fed), needs.energy.needed_mj(fed)
    if inf in (asked, level):
        return nothing
    supply = ration_supply(fed, level, needs.standard)
    most = None
    if needs.energy_ceiling is not None:
        most = needs.energy_ceiling * asked
    brought, mp, wanted = supply.energy_mj, supply.mp_g, needs.mp_required_g
    if mp is not None and wanted is not None:
        mp, wanted = mp + supply.mp_of_eating_g, wanted + supply.mp_of_eating_g
    return Judgement(needs.standard, brought, asked, mp, wanted, most)


ENOUGH = 0.995
"""Share of a need from which a ration is not called short by another standard [-]: our choice (c),
half of what a difference of 1 % would be.
"""


@dataclass(frozen=True)
class Side:
    """A group by one standard. outcome: its ration. judged: that ration by its own standard and
    by the other; empty without a ration.
    """

    standard: str
    outcome: Outcome
    judged: tuple[Judgement, ...]


@dataclass(frozen=True)
class GroupByStandards:
    """A group by the first and by the second standard. bare_cost: by the first without its margins
    [currency a head a day], None where there is no ration.
    """

    group: str
    name: str
    first: Side
    second: Side
    bare_cost: float | None


@dataclass(frozen=True)
class ByStandards:
    """Rations of a day by two standards. alone: names of groups that only the first holds for."""

    farm: Farm
    groups: tuple[GroupByStandards, ...]
    alone: tuple[str, ...]


@dataclass(frozen=True)
class JudgedGroup:
    """The rations of a group in a plan, judged by the other standard.

    energy_share, protein_share: least supply over need in any of its periods [-], None where it
    cannot be told. short_share: share of its head-days with less than 99.5 % of either [-].
    """

    group: str
    name: str
    energy_share: float | None
    protein_share: float | None
    short_share: float


@dataclass(frozen=True)
class WinterSide:
    """The winter by one standard. standard: its name; of the second, of all that hold for a group,
    with + between them; title: the same in words. judged: its rations by the other one, group by
    group.
    """

    standard: str
    title: str
    outcome: Outcome
    judged: tuple[JudgedGroup, ...]


@dataclass(frozen=True)
class WinterByStandards:
    """The whole winter by two standards. alone: as in `ByStandards`."""

    farm: Farm
    first: WinterSide
    second: WinterSide
    alone: tuple[str, ...]


def with_standard(farm: Farm, standard: str) -> Farm:
    """A farm with every group's needs by one standard, where it holds for the class."""
    return replace(farm, groups=tuple(replace(group, standard=standard) for group in farm.groups))


def with_second(farm: Farm) -> Farm:
    """A farm with the needs of every group by the standard that is set beside AFRC (1993)."""
    groups = (replace(group, standard=second_standard_of(group)) for group in farm.groups)
    return replace(farm, groups=tuple(groups))


def rations_by_standards(farm: Farm, only: Collection[str] | None = None) -> ByStandards:
    """The cheapest ration of each group (or of those in `only`) from the stores that are open on
    the day. Raises as `solve_rations` does.
    """
    wanted = [group for group in farm.groups if only is None or group.id in only]
    two = [group.id for group in wanted if _has_second(group)]
    first, second = with_standard(farm, AFRC), with_second(farm)
    bare = replace(first, margins=NO_MARGINS)
    answers = [rations_of_day(each, two).groups for each in (first, second, bare)]
    groups = tuple(
        GroupByStandards(
            one.group,
            one.name,
            _side(AFRC, one, first, other.needs),
            _side(other.needs.standard, other, second, one.needs),
            without.feed_cost,
        )
        for one, other, without in zip(*answers, strict=True)
    )
    return ByStandards(farm, groups, _alone(wanted))


def _alone(groups: Iterable[Group]) -> tuple[str, ...]:
    """Names of groups that only the first standard holds for."""
    return tuple(group.name for group in groups if not _has_second(group))


def _has_second(group: Group) -> bool:
    return second_standard_of(group) != AFRC


def _seconds(farm: Farm) -> list[str]:
    """The standards that are set beside the first on a farm; the first itself where none is."""
    used = dict.fromkeys(second_standard_of(group) for group in farm.groups)
    return [name for name in used if name != AFRC] or [AFRC]


def _side(standard: str, ration: GroupRation, farm: Farm, needs: GroupNeeds) -> Side:
    outcome = outcome_of_group(standard, ration, farm)
    if ration.proof is None:
        return Side(standard, outcome, ())
    parts = _parts(farm, ration.amounts)
    judgements = [judged(ration.needs, parts)]
    if _comparable(ration.needs, needs):
        judgements.append(judged(needs, parts))
    return Side(standard, outcome, tuple(judgements))


def _comparable(own: GroupNeeds, other: GroupNeeds) -> bool:
    """Whether a ration made for the one can be judged by the other: a cow that milks off her back
    by either standard has needs that are lowered by what that standard takes from it.
    """
    return own.reserve_mj == other.reserve_mj == 0.0


def _parts(farm: Farm, amounts: Collection[Amount]) -> list[tuple[Feed, float]]:
    feeds = {offer.id: offer.feed for offer in farm.offers}
    return [(feeds[amount.offer], amount.kg_dm) for amount in amounts]


def winter_by_standards(farm: Farm, plan_of: Callable[[Farm], WinterPlan]) -> WinterByStandards:
    """The winter by both standards. plan_of: makes the plan of a farm."""
    first, second = plan_of(with_standard(farm, AFRC)), plan_of(with_second(farm))
    return WinterByStandards(
        farm,
        _winter_side([AFRC], first, second),
        _winter_side(_seconds(farm), second, first),
        _alone(farm.groups),
    )


def _winter_side(standards: list[str], plan: WinterPlan, other: WinterPlan) -> WinterSide:
    title = " and ".join(TITLES[name] for name in standards)
    outcome = outcome_of_plan(title, plan)
    needs = {(ration.group, ration.period): ration.needs for ration in other.rations}
    return WinterSide("+".join(standards), title, outcome, tuple(_judged_groups(plan, needs)))


def _judged_groups(
    plan: WinterPlan, needs: Mapping[tuple[str, int], GroupNeeds]
) -> Iterator[JudgedGroup]:
    by_group: dict[str, list[tuple[PlanRation, Judgement]]] = {}
    for ration in plan.rations:
        other = needs.get((ration.group, ration.period))
        if other is None or other.standard == ration.needs.standard:
            continue
        if ration.amounts and _comparable(ration.needs, other):
            judgement = judged(other, _parts(plan.farm, ration.amounts))
            by_group.setdefault(ration.origin, []).append((ration, judgement))
    names = {group.id: group.name for group in plan.farm.groups}
    days = {period.number: period.days for period in plan.periods}
    for group, rations in by_group.items():
        energy = [one.energy_share for _, one in rations if one.energy_share is not None]
        protein = [one.protein_share for _, one in rations if one.protein_share is not None]
        head_days = short = 0.0
        for ration, one in rations:
            fed = ration.head * days[ration.period]
            head_days += fed
            short += fed * is_short(one)
        least = (min(energy, default=None), min(protein, default=None))
        yield JudgedGroup(group, names[group], *least, short / head_days)


def is_short(judgement: Judgement) -> bool:
    """Whether a ration brings clearly less energy or protein than a standard asks for."""
    shares = (judgement.energy_share, judgement.protein_share)
    return any(share is not None and share < ENOUGH for share in shares)
