"""A block: one group in one period, with the feeds it may eat and what a kg of each brings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import field, replace
from functools import cached_property

from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import Group
from rationlp.farm.penalties import MINERAL_SHORTAGE_MJ, MJ_PRICE
from rationlp.model.lp import Key
from rationlp.model.rows.at_hand import (
    forced_all_the_same,
    needs_at_hand,
    not_for_them,
    urea_without_mixer,
)
from rationlp.model.rows.kept import left_out, refusals
from rationlp.needs.dairy_appetite import least_eaten
from rationlp.needs.intake import APPETITE_SHARE
from rationlp.needs.minerals import COPPER
from rationlp.needs.objects import GroupNeeds
from rationlp.needs.supply import AnyFigures, protein_figures, protein_figures_missing
from rationlp.quantities import Quantity, quantities
from rationlp.records import dataclass
from rationlp.rules.cautions import FeedCaution, kept_away, share_caps
from rationlp.rules.limits import practice_limits

TODAY = "day"

_SHARES: dict[str, Callable[[Feed], float]] = {
    "forage_share": lambda feed: float(feed.is_forage),
    "straw_share": lambda feed: float(feed.kind == "straw"),
    "concentrate_share": lambda feed: float(feed.is_concentrate),
    "urea_g_per_kg_dm": lambda feed: 1000.0 * (feed.kind == "npn"),
    "dm_kg": lambda feed: 1.0,
    "fresh_kg": lambda feed: 1000.0 / feed.dm_g_per_kg,
}


@dataclass(frozen=True)
class Pair:
    """Two forages held to a share: `second` (an offer id) is `share` of the dry matter of both."""

    first: str
    second: str
    share: float


class _FeedColumns(dict[str, Key]):
    """The column of a feed by its id, made when it is first asked for."""

    def __init__(self, key: Key) -> None:
        super().__init__()
        self._kind, *self._whose = key

    def __missing__(self, offer_id: str) -> Key:
        key = self[offer_id] = (self._kind, offer_id, *self._whose)
        return key


@dataclass(frozen=True)
class Block:
    """One group in one period.

    offers: the feeds the group may eat, in the farm's order. own_quantities: quantities that the
    farm declared. over_energy_price: price of a MJ above the energy ceiling [currency/MJ]; it keeps
    cheap energy out, it is no money. mineral_shortage_price: price of a gram short of a mineral
    [currency/g]; no money either. kept_out: feeds not offered because their copper is not known and
    a limit on it protects the class. held: feeds held to a share of the dry matter by a caution, by
    offer id. pair: two forages held to a share by a question. besides: of a ration already fed, the
    feeds of the farm's list that the group may eat, whether it is fed them or not. mj_price: of the
    cheapest bought energy, by which protein short is priced [currency/MJ].
    """

    group: Group
    period: str
    needs: GroupNeeds
    offers: tuple[Offer, ...]
    own_quantities: dict[str, Quantity]
    over_energy_price: float
    mineral_shortage_price: float = MINERAL_SHORTAGE_MJ * MJ_PRICE
    kept_out: tuple[Offer, ...] = ()
    held: dict[str, FeedCaution] = field(default_factory=dict)
    pair: Pair | None = None
    besides: tuple[Offer, ...] | None = None
    mj_price: float = MJ_PRICE

    def key(self, kind: str, *more: str) -> Key:
        """A row or column key of this block."""
        return (kind, *more, self.group.id, self.period)

    def owns(self, key: Key) -> bool:
        """Whether a row or column is one of this block's."""
        return key[-2:] == (self.group.id, self.period)

    def feed(self, offer: Offer) -> Key:
        """The column of an offer."""
        return self._feed_columns[offer.id]

    def fed(self, amounts: Mapping[str, float]) -> list[tuple[Offer, float]]:
        """The feeds of a ration, in the farm's order, with their amounts [kg DM a head a day]."""
        pairs = ((offer, amounts.get(offer.id, 0.0)) for offer in self.offers)
        return [(offer, kg) for offer, kg in pairs if kg > 0.0]

    def quantity(self, name: str) -> Quantity:
        """A quantity of the vocabulary or of the farm."""
        return self.own_quantities.get(name) or quantities()[name]

    def content(self, offer: Offer, quantity: str) -> float | None:
        """What a kg of DM brings of a quantity, in its unit; None where the table is blank."""
        return content(offer.feed, quantity, self.own_quantities)

    def contents(self, quantity: str) -> list[tuple[Offer, float]]:
        """Every offer with its content, not to be changed. Raises InputError for blanks."""
        if quantity in self._known:
            return self._known[quantity]
        own = self.own_quantities.get(quantity)
        mark = (quantity, None if own is None else own.basis)
        found = []
        for offer in self.offers:
            known = offer.feed.known
            if mark not in known:
                known[mark] = content(offer.feed, quantity, self.own_quantities)
            found.append((offer, known[mark]))
        missing = [
            _missing_figure(self, offer, quantity) for offer, value in found if value is None
        ]
        if missing:
            raise InputError(missing)
        complete = self._known[quantity] = [
            (offer, value) for offer, value in found if value is not None
        ]
        return complete

    @cached_property
    def feed_keys(self) -> tuple[Key, ...]:
        """The columns of the offers, in their order."""
        return tuple(self.feed(offer) for offer in self.offers)

    @cached_property
    def _feed_columns(self) -> _FeedColumns:
        """One key a feed: hundreds of rows of a long winter share it."""
        return _FeedColumns(self.key("feed"))

    @cached_property
    def protein(self) -> tuple[AnyFigures, ...]:
        """The protein figures of the offers, in their order: levels of feeding move all the time,
        these do not. Raises InputError for blanks.
        """
        return tuple(protein_figures(offer.feed, self.needs.standard) for offer in self.offers)

    @cached_property
    def _known(self) -> dict[str, list[tuple[Offer, float]]]:
        """Contents asked for before: many rows stand on the same figure."""
        return {}


def _missing_figure(block: Block, offer: Offer, quantity: str) -> Finding:
    return Finding(
        "IN210",
        f'feed "{offer.id}" ({offer.feed.key})',
        f'no figure for {quantity}, which the ration of group "{block.group.id}" needs',
        f"give {quantity} for this feed (lab.csv or its analysis table), or bar it from the group",
    )


def content(feed: Feed, quantity: str, own_quantities: dict[str, Quantity]) -> float | None:
    """What a kg of DM brings of a quantity, in its unit; None where the table is blank."""
    if quantity in _SHARES:
        return _SHARES[quantity](feed)
    if quantity == "forage_ndf_g_per_kg_dm":
        if feed.is_forage:
            return feed.value("ndf_g_per_kg_dm")
        return 0.0
    if quantity == "starch_and_sugar_g_per_kg_dm":
        starch, sugar = feed.value("starch_g_per_kg_dm"), feed.value("sugar_g_per_kg_dm")
        if starch is None or sugar is None:
            return None
        return starch + sugar
    value = feed.value(quantity)
    own = own_quantities.get(quantity)
    if own is not None and own.basis == "fresh" and value is not None:
        return value * 1000.0 / feed.dm_g_per_kg
    return value


def at_prices(block: Block, farm: Farm) -> Block:
    """A block of a farm that differs from another one by prices alone, at those of the other."""
    prices = {offer.id: offer.price_per_t_fresh for offer in farm.offers}
    offers = tuple(_at_price(offer, prices.get(offer.id)) for offer in block.offers)
    return replace(
        block,
        offers=offers,
        over_energy_price=farm.over_energy_price_per_mj,
        mineral_shortage_price=farm.mineral_shortage_price_per_g,
        mj_price=farm.mj_price,
    )


def _at_price(offer: Offer, price: float | None) -> Offer:
    """An offer at a price [currency/t fresh]; itself where that is its own, or none is known."""
    if price is None or price == offer.price_per_t_fresh:
        return offer
    return replace(offer, price_per_t_fresh=price)


def make_block(
    farm: Farm, group: Group, needs: GroupNeeds, offers: tuple[Offer, ...] | None = None
) -> Block:
    """The block of one group on one day, with all feeds that are neither barred nor kept away by a
    caution, or with the `offers` given. What a caution kept away is said in the remarks of the
    needs.

    Raises InputError listing every figure that the group's rows need and a feed lacks, every limit
    of the farm's own that would loosen one for safety, and a group to which the cautions leave
    nothing.
    """
    kept_out: tuple[Offer, ...] = ()
    findings: list[Finding] = []
    if offers is None:
        cautions = kept_away(farm, group).items()
        away = {key: caution for key, caution in cautions if key not in group.barred}
        not_theirs = {*group.barred, *away, *kept_for_others(farm, group)}
        allowed = tuple(offer for offer in farm.offers if offer.id not in not_theirs)
        others = not_for_them(group, needs, allowed)
        findings += forced_all_the_same(group, others)
        allowed = tuple(offer for offer in allowed if offer.id not in others)
        kept_out = _unknown_copper(needs, allowed)
        offers = tuple(offer for offer in allowed if offer not in kept_out)
        by_hand = urea_without_mixer(farm, group, offers)
        remarks = (*needs.remarks, *left_out(farm, away), *others.values(), *by_hand)
        needs = replace(needs, remarks=remarks)
        findings += refusals(group, needs, away, nothing_left=bool(away or others) and not offers)
    needs = with_floor(group, needs_at_hand(group, needs, offers), offers)
    block = Block(
        group, TODAY, needs, offers, farm.own_quantities, farm.over_energy_price_per_mj,
        farm.mineral_shortage_price_per_g, kept_out, share_caps(farm, group),
        mj_price=farm.mj_price,
    )  # fmt: skip
    findings += [*_loosened(block), *_loosened_copper(block), *_missing(block)]
    if findings:
        raise InputError(findings)
    return block


def may_eat(farm: Farm, group: Group, needs: GroupNeeds) -> tuple[Offer, ...]:
    """The farm's feeds not kept from a group: barred, by a caution, or for their copper."""
    away = {*kept_away(farm, group), *group.barred, *kept_for_others(farm, group)}
    allowed = tuple(offer for offer in farm.offers if offer.id not in away)
    unknown = _unknown_copper(needs, allowed)
    return tuple(offer for offer in allowed if offer not in unknown)


def kept_for_others(farm: Farm, group: Group) -> set[str]:
    """Stores that the farm keeps for groups that this one is no part of."""
    theirs = {group.id, group.origin}
    return {
        store.id for store in farm.stores if store.kept_for and not theirs & set(store.kept_for)
    }


def with_floor(group: Group, needs: GroupNeeds, offers: tuple[Offer, ...]) -> GroupNeeds:
    """Needs of a dairy cow fed to appetite with her floor, which goes by the forages at hand."""
    if needs.milker is None or group.fed != "to_appetite" or group.appetite_share is not None:
        return needs
    floor = least_eaten(needs.milker, [offer.feed for offer in offers])
    if floor is None or needs.intake is None:
        return needs
    return replace(needs, appetite_floor_kg_dm=min(floor, APPETITE_SHARE * needs.intake.cap_kg_dm))


def _unknown_copper(needs: GroupNeeds, offers: tuple[Offer, ...]) -> tuple[Offer, ...]:
    """Feeds without a copper figure, where a limit protects the class: no blank is nought."""
    if not any(limit.quantity == COPPER and limit.kind == "row" for limit in needs.limits):
        return ()
    return tuple(offer for offer in offers if offer.feed.value(COPPER) is None)


def _loosened_copper(block: Block) -> Iterable[Finding]:
    """A copper limit of the farm's own above the class's, which is there for safety."""
    rows = [limit for limit in block.needs.limits if limit.kind == "row"]
    printed = [limit for limit in rows if limit.quantity == COPPER]
    where = f'group "{block.group.id}", quantity_limits {COPPER}'
    for own in block.needs.own_limits:
        for limit in printed if (own.quantity, own.per) == (COPPER, "kg_dm") else ():
            if (own.at_most or 0.0) > (limit.at_most or 0.0):
                reason = f"{limit.at_most:g} {limit.unit}"
                yield _for_safety(where, reason, limit.whose)


def _for_safety(where: str, reason: str, whose: str) -> Finding:
    """That the farm may not loosen a limit that is there for safety."""
    found = f"it would loosen a limit that is there for safety ({reason})"
    return Finding(
        "IN503", where, found, f"keep within the printed limit, or leave it out: {whose}"
    )


def _loosened(block: Block) -> Iterable[Finding]:
    """Limits of the farm's own that would loosen a printed one that is there for safety."""
    printed = practice_limits(block.needs.limits_key)
    for own in block.group.feed_limits:
        offer = next((offer for offer in block.offers if offer.id == own.offer), None)
        limit = None
        if offer is not None:
            limit = printed.get(offer.feed.key)
        if offer is None or limit is None or not limit.hard:
            continue
        most, kg = limit.most_kg_dm(block.needs.live_weight_kg), own.max_kg_fresh
        share, most_share = own.max_share_of_dm, limit.max_share
        by_kg = by_share = False
        if kg is not None and most is not None:
            by_kg = kg * offer.feed.dm_g_per_kg / 1000.0 > most * (1.0 + 1e-9)
        if share is not None and most_share is not None:
            by_share = share > most_share
        if by_kg or by_share:
            where = f'group "{block.group.id}", feed_limits "{own.offer}"'
            yield _for_safety(where, limit.hard_reason, limit.source)


def needed_quantities(needs: GroupNeeds) -> list[str]:
    """The feed figures that a group's rows need, besides protein figures and copper."""
    rows = [limit.quantity for limit in needs.limits if limit.kind == "row"]
    names = [quantity for quantity in rows if quantity != COPPER]
    names += [limit.quantity for limit in needs.own_limits]
    if needs.energy is not None:
        names.append("me_mj_per_kg_dm")
    if needs.ndf_fill_kg is not None or needs.milker is not None:
        names.append("ndf_g_per_kg_dm")
    return list(dict.fromkeys(names))


def _missing(block: Block) -> Iterable[Finding]:
    for quantity in needed_quantities(block.needs):
        try:
            block.contents(quantity)
        except InputError as trouble:
            yield from trouble.findings
    if block.needs.mp_g is not None:
        for offer in block.offers:
            for name in protein_figures_missing(offer.feed, block.needs.standard):
                yield _missing_figure(block, offer, name)
