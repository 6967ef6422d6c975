"""What a question names: stores and bought feeds by id, feed key or name."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rationlp.errors import Finding, InputError, nearest, refused
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.feed_names import NEVER_UNASKED, feeds_meant, offers_meant, stores_first


def offer_named(farm: Farm, word: str, where: str) -> Offer:
    """The offer of a farm with this id, else the only one with this feed key, else the only one of
    this name.

    where: the option that named it, for the finding. Raises InputError (IN540) with the nearest
    match, or with all that fit.
    """
    for offer in farm.offers:
        if offer.id == word:
            return offer
    for matching in (
        [offer for offer in farm.offers if offer.feed.key == word],
        [offer for offer in farm.offers if offer.name.casefold() == word.casefold()],
    ):
        if len(matching) == 1:
            return matching[0]
        if matching:
            raise _which(word, where, matching)
    fits = offers_meant(farm.offers, word)
    if len(fits) == 1 and fits[0].feed.kind not in NEVER_UNASKED:
        return fits[0]
    offers = stores_first(farm.offers)
    if fits:
        raise _which(word, where, fits)
    ids_by_name = {
        name: offer.id for offer in offers for name in (offer.id, offer.name, offer.feed.key)
    }
    near = nearest(word, ids_by_name)
    remedy = f"stores and bought feeds of this farm: {', '.join(offer.id for offer in offers)}"
    if near:
        remedy = f'nearest: "{ids_by_name[near]}"'
    raise refused("IN540", where, f'no store or bought feed "{word}"', remedy)


def _which(word: str, where: str, fits: Sequence[Offer]) -> InputError:
    """That a word has to be said more exactly."""
    trouble = f'no feed "{word}"'
    if len(fits) > 1:
        trouble = f'"{word}" may be several feeds here'
    ids = ", ".join(offer.id for offer in fits)
    return refused("IN540", where, trouble, f"give one of {ids}")


def with_feed(farm: Farm, word: str, where: str) -> tuple[Farm, Offer]:
    """A farm and one of its offers; a feed key that the farm neither holds nor buys is offered to
    it as a bought feed.

    Raises InputError (IN540) for a word that is neither an offer of the farm nor a key of its feed
    tables.
    """
    import dataclasses

    if not offers_meant(farm.offers, word):
        word = feeds_meant(word, farm.feeds).key or word
    feed = farm.feeds.get(word)
    if feed is None or any(word in (offer.id, offer.feed.key) for offer in farm.offers):
        return farm, offer_named(farm, word, where)
    from rationlp.rules.blanks import complete

    offer = Offer(word, feed.name, complete(feed), True, DEAREST)
    return dataclasses.replace(farm, offers=(*farm.offers, offer)), offer


DEAREST = 20_000.0
"""Price of a feed only asked about [currency/t fresh]: so high that none is fed."""


def pair_named(
    farm: Farm, names: tuple[str, str], fault: Callable[[Offer, str], Finding | None], same: str
) -> tuple[Offer, Offer]:
    """The offers that a switch goes from and to. Raises one InputError for names not known, one of
    them twice, and faults.

    fault: what is wrong with an offer named by an option, if anything; same: the remedy where both
    are one.
    """
    pair: list[Offer] = []
    findings: list[Finding] = []
    for word, where in zip(names, ("--from", "--to"), strict=True):
        try:
            offer = offer_named(farm, word, where)
        except InputError as trouble:
            findings += trouble.findings
            continue
        wrong = fault(offer, where)
        if wrong is not None:
            findings.append(wrong)
        pair.append(offer)
    if len(pair) == 2 and pair[0].id == pair[1].id:
        findings.append(Finding("IN541", "--to", f'"{pair[0].id}" is switched to itself', same))
    if findings:
        raise InputError(findings)
    return pair[0], pair[1]
