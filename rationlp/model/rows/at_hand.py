"""What the feeds at hand make of a group's needs, and which of them are not for its animals; before
there are rows.

Two filters are walls: a feed made for the other species (copper kills sheep, a sheep mineral leaves
cattle short of copper), and lime for cows about to calve (it brings on milk fever).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.group import Group
from rationlp.needs.growing_appetite import growing_floor
from rationlp.needs.near_calving import is_lime, with_potash
from rationlp.needs.objects import GroupNeeds
from rationlp.rules.limits import practice_figure
from rationlp.rules.species import made_for


def opened(group: Group, offer: Offer) -> bool:
    """True where the farm gives the group a limit of its own on a feed that leaves room for it."""
    own = next((limit for limit in group.feed_limits if limit.offer == offer.id), None)
    return own is not None and own.max_kg_fresh != 0.0 and own.max_share_of_dm != 0.0


def not_for_them(group: Group, needs: GroupNeeds, offers: Iterable[Offer]) -> dict[str, str]:
    """Offers that a group never gets, by id, with the sentence that says why."""
    away = {}
    for offer in offers:
        made = made_for(offer.feed, offer.name)
        if made == "sheep" and needs.species == "cattle" and not opened(group, offer):
            away[offer.id] = (
                f"{offer.name} is left out: it is made for sheep and brings cattle no copper. To"
                " feed it all the same, give the group a feed_limits with max_kg_fresh for it."
            )
        elif made == "cattle" and needs.species == "sheep":
            away[offer.id] = (
                f"{offer.name} is left out: it is made for cattle, and its copper can poison sheep."
            )
        elif needs.lime_kept_out and is_lime(offer.feed):
            away[offer.id] = (
                f"{offer.name} is left out: so much calcium in the last four weeks before calving"
                " brings on milk fever. After calving it is right."
            )
    return away


def urea_without_mixer(farm: Farm, group: Group, offers: Iterable[Offer]) -> tuple[str, ...]:
    """A sentence for each urea of a group without a mixer wagon: `sheet` leaves it out."""
    if (group.feeding or farm.feeding).wagon != "none":
        return ()
    return tuple(
        f"{offer.name} needs a mixer, and no wagon is stated for this group ([feeding], wagon):"
        " `rationlp sheet` leaves it out, because urea put out by hand can kill. State the wagon,"
        " or bar it from this group."
        for offer in offers
        if offer.feed.kind == "npn"
    )


def forced_all_the_same(group: Group, away: dict[str, str]) -> Iterator[Finding]:
    """A floor of the farm's own under a feed that its animals must not have."""
    for own in group.feed_limits:
        if own.offer in away and (own.min_kg_fresh or own.min_share_of_dm):
            where = f'group "{group.id}", feed_limits "{own.offer}"'
            remedy = "take the floor out, or offer a feed that is made for these animals"
            yield Finding("IN770", where, away[own.offer], remedy)


def needs_at_hand(group: Group, needs: GroupNeeds, offers: tuple[Offer, ...]) -> GroupNeeds:
    """The needs with the floor of growing cattle's appetite and magnesium by the feeds."""
    feeds = tuple(offer.feed for offer in offers)
    minerals = tuple(with_potash(needs.animal_class, need, feeds) for need in needs.minerals)
    if minerals != needs.minerals:
        needs = replace(needs, minerals=minerals)
    if needs.growing_forage and group.fed == "to_appetite" and group.appetite_share is None:
        floor = growing_floor(needs, feeds, practice_figure(needs.limits_key, "forage_ndf_most"))
        needs = replace(needs, appetite_floor_kg_dm=floor)
    return needs
