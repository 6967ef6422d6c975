"""From one ration to the next: what changes too fast, how many days to take, and the steps between.

Used on what is fed today against the answer, and on two periods of one group that follow one
another. All thresholds stand in feeds/change-over.csv, nearly all of them common practice without a
source (c).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from functools import cached_property, lru_cache
from math import ceil, inf

from rationlp.after.diet import NOTHING_KG_DM, Diet, diet
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.farm.traits import traits
from rationlp.folders import SourcedFigure, as_record, packaged_rows
from rationlp.needs.objects import GroupNeeds
from rationlp.quantities import by_sign, fresh_from_dm
from rationlp.records import dataclass
from rationlp.result import Rations

ALL = "all"


@lru_cache(maxsize=1)
def _figures() -> dict[tuple[str, str], SourcedFigure]:
    rows = packaged_rows("change-over.csv")
    return {(row["animals"], row["figure"]): as_record(SourcedFigure, row) for row in rows}


def change_figure(animals: str, figure: str) -> SourcedFigure | None:
    """A figure for `cattle`, `sheep` or (for animals of no known kind) `all`; None where there is
    none.

    Figures of `all` hold for every kind of animal that has none of its own.
    """
    return _figures().get((animals, figure)) or _figures().get((ALL, figure))


_HAIR = 1.0 + 1e-9


@dataclass(frozen=True)
class History:
    """What is known of the days before. days: how long the ration before was fed [d], None if not
    known. on: the day of this change, and switches: the days on which the forage was switched
    before (without `on` they count for nothing).
    """

    days: float | None = None
    switches: tuple[date, ...] = ()
    on: date | None = None


@dataclass(frozen=True)
class Change:
    """One thing that changes more than a step. what: `forage`, `switches`, `concentrate`, `starch`
    (each past a rule: `warned`), or `clamp`, `cereal`, `root`, `urea` (only days to take). size,
    most: the change and what may change at once [unit].
    days_least, days_most: days to take for it. status, source: of the threshold.
    """

    what: str
    warned: bool
    size: float
    most: float
    unit: str
    days_least: int
    days_most: int
    sentence: str
    status: str
    source: str


@dataclass(frozen=True)
class RampStep:
    """What to feed a head from a day on, by offer id. Day 0: the ration before, still fed."""

    day: int
    kg_dm: Mapping[str, float]
    kg_fresh: Mapping[str, float]


@dataclass(frozen=True)
class ChangeOver:
    """The way from one ration to the next, a head a day.

    changes: what is more than a step. days: days to take [d], 0 where the change is small enough to
    be made at once.
    steps: the ration before, then every step up to the new ration, which the last one equals.
    cost_before, cost_after: feed cost at today's prices [currency]. not_compared: names of feeds
    without a figure for starch.
    """

    group: str
    changes: tuple[Change, ...]
    days: int
    steps: tuple[RampStep, ...]
    cost_before: float
    cost_after: float
    not_compared: tuple[str, ...] = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """What to say of it, the rules that are passed first."""
        warned_first = sorted(self.changes, key=lambda change: not change.warned)
        return tuple(change.sentence for change in warned_first)


def fed_before(changes: Mapping[str, ChangeOver] | None, group: str) -> Mapping[str, float] | None:
    """kg DM a head a day fed now by offer id, where a change from it was asked for."""
    change = (changes or {}).get(group)
    if change is None or not change.steps:
        return None
    return change.steps[0].kg_dm


def animals_of(needs: GroupNeeds) -> str:
    """`cattle`, `sheep`, or `all` for a class of no known kind (stated needs)."""
    if traits(needs.animal_class).sheep:
        return "sheep"
    if needs.limits_key is None:
        return ALL
    return "cattle"


_KIND_OF_DAYS = {
    **dict.fromkeys(("forage", "clamp", "switches"), "silage"),
    **dict.fromkeys(("concentrate", "starch"), "change"),
}
"""The kind of change by which the days of a rule are found."""


@dataclass(frozen=True)
class _Pair:
    """Two rations of one group, and by which figures they are set side by side."""

    animals: str
    before: Diet
    after: Diet
    past: History

    def figure(self, name: str) -> float:
        figure = change_figure(self.animals, name)
        if figure is None:
            return inf
        return figure.value

    def change(
        self, what: str, rule: str, size: float, sentence: str, warned: bool = True
    ) -> Change:
        """A change past the figure `rule`; its days are those of its kind."""
        kind = _KIND_OF_DAYS.get(what, what)
        row = change_figure(self.animals, rule)
        assert row is not None
        fewest, longest = (int(self.figure(f"{kind}_days_{end}")) for end in ("least", "most"))
        limit = (row.value, row.unit, fewest, longest)
        return Change(what, warned, size, *limit, sentence, row.status, row.source)

    @cached_property
    def concentrate_change(self) -> float:
        """Change of all concentrates [kg as bagged feed]; wet ones by their dry matter."""
        kg_dm = self.after.concentrate_kg - self.before.concentrate_kg
        return fresh_from_dm(kg_dm, self.figure("concentrate_dm"))

    def greatest(
        self, before: Mapping[str, float], after: Mapping[str, float]
    ) -> tuple[float, str]:
        """The greatest change of one forage [share of the larger forage DM], and of which."""
        whole = max(self.before.forage_kg, self.after.forage_kg)
        if whole <= 0.0:
            return 0.0, ""
        moved = {
            name: abs(after.get(name, 0.0) - before.get(name, 0.0)) / whole
            for name in dict.fromkeys((*before, *after))
        }
        return max(((size, name) for name, size in moved.items()), default=(0.0, ""))


def _forage(pair: _Pair) -> Iterator[Change]:
    size, crop = pair.greatest(pair.before.crops, pair.after.crops)
    most, least_days = pair.figure("forage_change_most"), pair.figure("forage_fed_least_days")
    days = pair.past.days
    moved = f"{crop.capitalize()} changes by {100.0 * size:.0f} % of the forage dry matter"
    rule = f"(common practice: no more than {100.0 * most:.0f} % within {least_days:g} days)"
    if size > most * _HAIR and (days is None or days < least_days):
        sentence = f"{moved} {rule}; how long the ration before was fed is not known."
        if days is not None:
            sentence = f"{moved} after {days:g} days on the ration before {rule}."
        yield pair.change("forage", "forage_change_most", size, sentence)
    one_store = max(size, pair.greatest(pair.before.forages, pair.after.forages)[0])
    if one_store > most * _HAIR:
        sentence = (
            f"A change of clamp or crop takes {pair.figure('silage_days_least'):g} to"
            f" {pair.figure('silage_days_most'):g} days (common practice): it is more than a"
            " quarter of the forage."
        )
        yield pair.change("clamp", "forage_change_most", one_store, sentence, warned=False)


def _switches(pair: _Pair) -> Iterator[Change]:
    size, _ = pair.greatest(pair.before.crops, pair.after.crops)
    on, within = pair.past.on, pair.figure("forage_switch_days")
    if on is None or size <= pair.figure("forage_change_most") * _HAIR:
        return
    span = timedelta(days=within)
    earlier = [day for day in pair.past.switches if timedelta(0) <= on - day < span]
    most = pair.figure("forage_switches_most")
    times = {1.0: "once"}.get(most, f"{most:g} times")
    if len(earlier) + 1 > most:
        sentence = (
            f"The forage is switched {len(earlier) + 1} times within {within:g} days "
            f"(common practice: no more than {times})."
        )
        yield pair.change("switches", "forage_switches_most", len(earlier) + 1.0, sentence)


def _concentrate(pair: _Pair) -> Iterator[Change]:
    size = pair.concentrate_change
    most, days = pair.figure("concentrate_step_most"), pair.figure("concentrate_step_days")
    if abs(size) > most * _HAIR:
        word = by_sign(size, "rise", "fall")
        decimals = 1
        if most < 0.3:
            decimals = 2
        sentence = (
            f"Concentrates {word} by {abs(size):.{decimals}f} kg: take"
            f" {ceil(abs(size) / most / _HAIR) * days:.0f} days over it, no more than {most:g} kg"
            f" in {days:g} days (common practice)."
        )
        yield pair.change("concentrate", "concentrate_step_most", abs(size), sentence)


def _starch(pair: _Pair) -> Iterator[Change]:
    if pair.before.without_starch or pair.after.without_starch:
        return
    size, most = pair.after.starch - pair.before.starch, pair.figure("starch_change_most")
    if abs(size) > most * _HAIR:
        word = by_sign(size, "rises", "falls")
        sentence = (
            f"Starch {word} by {abs(size):.0f} g/kg DM: more than {most:g} at once (common"
            " practice)."
        )
        yield pair.change("starch", "starch_change_most", abs(size), sentence)


def _new_kinds(pair: _Pair) -> Iterator[Change]:
    """Feeds that a rumen is brought to slowly whatever else changes: ad lib, roots, urea."""
    share, from_share = pair.after.concentrate_share, pair.figure("cereal_share_least")
    if share >= from_share > pair.before.concentrate_share:
        sentence = (
            f"Concentrates become {100.0 * share:.0f} % of the dry matter: to bring them in ad lib"
            f" takes {pair.figure('cereal_days_least'):g} to {pair.figure('cereal_days_most'):g}"
            " days (common practice)."
        )
        yield pair.change("cereal", "cereal_share_least", share, sentence, warned=False)
    for what, kind, name in (("root", "root", "Roots or kale"), ("urea", "npn", "Urea")):
        fed = pair.after.kind(kind)
        if fed > 0.0 and pair.before.kind(kind) <= 0.0:
            low, high = (pair.figure(f"{what}_days_{end}") for end in ("least", "most"))
            days = f"{low:g} to {high:g} days (common practice)"
            sentence = f"{name}: new in the ration, built up over {days}."
            yield pair.change(what, f"{what}_days_most", high, sentence, warned=False)


_RULES = (_forage, _switches, _concentrate, _starch, _new_kinds)


def _days(pair: _Pair, changes: Sequence[Change]) -> int:
    """The longest that applies, at the step of concentrates too; 0 where nothing is more."""
    if not changes:
        return 0
    steps = abs(pair.concentrate_change) / pair.figure("concentrate_step_most")
    by_step = ceil(pair.figure("concentrate_step_days") * steps / _HAIR)
    return max(by_step, *(change.days_most for change in changes))


def _ramp(pair: _Pair, days: int) -> Iterator[RampStep]:
    """Linear in dry matter, a row every few days; the last is the new ration as it is."""
    old = {offer.id: kg for offer, kg in pair.before.parts}
    new = {offer.id: kg for offer, kg in pair.after.parts}
    offers = {offer.id: offer for offer, _ in (*pair.before.parts, *pair.after.parts)}
    every = int(pair.figure("concentrate_step_days"))
    last = max(days, 1)
    for day in (*range(0, last, every), last):
        part = day / last
        kg_dm = {
            key: old.get(key, 0.0) + part * (new.get(key, 0.0) - old.get(key, 0.0))
            for key in offers
        }
        if day == last:
            kg_dm = {key: new.get(key, 0.0) for key in offers}
        fresh = {key: fresh_from_dm(kg, offers[key].feed.dm_g_per_kg) for key, kg in kg_dm.items()}
        yield RampStep(day, kg_dm, fresh)


def change_over(
    farm: Farm,
    needs: GroupNeeds,
    before: Mapping[str, float],
    after: Mapping[str, float],
    past: History | None = None,
) -> ChangeOver:
    """The way from one ration of a group to the next.

    needs: of the group (its class gives the figures). before, after: kg DM a head a day by offer
    id. past: how long the ration before was fed, and when the forage was switched; None: not known,
    and then a change of forage counts as too soon.

    Ramp: kg DM on day d = before + d/days·(after − before), so that the total moves in a straight
    line from one to the other;
    days: the longest of what applies, and no fewer than concentrates need at their step. Figures:
    feeds/change-over.csv, common practice (c) but for the fortnight that the rumen needs (a). A
    change in between is not checked against needs.
    """
    diets = (diet(farm.offers, before), diet(farm.offers, after))
    pair = _Pair(animals_of(needs), *diets, past or History())
    changes = tuple(change for rule in _RULES for change in rule(pair))
    days = _days(pair, changes)
    unknown = dict.fromkeys((*pair.before.without_starch, *pair.after.without_starch))
    return ChangeOver(
        group=needs.group,
        changes=changes,
        days=days,
        steps=tuple(_ramp(pair, days)),
        cost_before=pair.before.cost,
        cost_after=pair.after.cost,
        not_compared=tuple(unknown),
    )


def switches_forage(
    farm: Farm, needs: GroupNeeds, before: Mapping[str, float], after: Mapping[str, float]
) -> bool:
    """Whether a crop changes by more than a step: one of the switches that are counted."""
    pair = _Pair(animals_of(needs), diet(farm.offers, before), diet(farm.offers, after), History())
    greatest, _ = pair.greatest(pair.before.crops, pair.after.crops)
    return greatest > pair.figure("forage_change_most") * _HAIR


def change_overs(
    rations: Rations, fed: Mapping[str, Mapping[str, float]], past: History | None = None
) -> dict[str, ChangeOver]:
    """By group id, the way from what is fed (kg DM by offer id, as read_fed gives it) to the
    answer.

    A part of a group that is not in `fed` itself (those that have calved) was fed as the group was.
    Groups that are not in `fed`, or have no ration, are left out. Raises InputError for groups fed
    nothing at all.
    """
    empty = [group for group, kg in fed.items() if max(kg.values(), default=0.0) <= NOTHING_KG_DM]
    if empty:
        trouble = "no feed with an amount above zero", "give kg_fresh or kg_dm"
        raise InputError([Finding("IN502", f'group "{group}"', *trouble) for group in empty])
    origins = {group.id: group.origin for group in rations.farm.groups}
    changes = {}
    for group in rations.groups:
        before = fed.get(group.group, fed.get(origins.get(group.group, "")))
        if before is not None and group.amounts:
            new = {amount.offer: amount.kg_dm for amount in group.amounts}
            changes[group.group] = change_over(rations.farm, group.needs, before, new, past)
    return changes
