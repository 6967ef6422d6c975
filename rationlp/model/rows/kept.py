"""What cautions do to a block before it has rows: feeds left out, and what is refused."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.needs.objects import GroupNeeds
from rationlp.rules.cautions import FeedCaution, group_words, rows_that_look_at


def refusals(
    group: Group, needs: GroupNeeds, away: Mapping[str, FeedCaution], *, nothing_left: bool
) -> Iterator[Finding]:
    """What the farm asks for against a hard caution: a feed kept away, less energy than one
    demands; and an empty trough.
    """
    yield from _forced(group, away)
    yield from _underfed(group, needs)
    if nothing_left:
        ids = ", ".join(caution.row.id for caution in away.values())
        found = f"cautions keep every feed away: {ids}"
        yield Finding("IN505", f'group "{group.id}"', found, "offer the group another feed")


def left_out(farm: Farm, away: Mapping[str, FeedCaution]) -> Iterable[str]:
    """A sentence for every feed that a caution keeps from the group."""
    for offer in farm.offers:
        if offer.id in away:
            row = away[offer.id].row
            why = f"{_lower(row.title)} (caution {row.id}; {row.source})"
            yield f"{offer.name} is left out: {why}."


def _forced(group: Group, away: Mapping[str, FeedCaution]) -> Iterable[Finding]:
    """A floor of the farm's own under a feed that a caution keeps away."""
    for own in group.feed_limits:
        if own.offer in away and (own.min_kg_fresh or own.min_share_of_dm):
            row, where = away[own.offer].row, f'group "{group.id}", feed_limits "{own.offer}"'
            found = f"it asks for a feed that is kept from this group ({_lower(row.title)})"
            remedy = f"take the floor out; `rationlp meaning {row.id}` says why"
            yield Finding("IN503", where, found, remedy)


def _underfed(group: Group, needs: GroupNeeds) -> Iterable[Finding]:
    """A margin of the farm's own below a share of the energy need that a hard caution asks for."""
    margin = 1.0 if needs.energy is None else needs.energy.margin
    words = group_words(group)
    for row in rows_that_look_at(ration=True):
        if (row.kind, row.quantity) != ("hard", "me_cover"):
            continue
        facts = ((when, group.nearest_fact(when.name)) for when in row.when)
        if not (row.concerns(words) and row.met(margin)):
            continue
        if all(when.holds(_as_number(fact)) for when, fact in facts):
            found = f"a margin of {margin:g} would feed it below its need ({_lower(row.title)})"
            why = f"`rationlp meaning {row.id}` says why"
            remedy = f"give [margins] me of {row.threshold:g} or more; {why}"
            yield Finding("IN503", f'group "{group.id}"', found, remedy)


def _lower(title: str) -> str:
    return f"{title[:1].lower()}{title[1:]}"


def _as_number(fact: float | str | None) -> float | None:
    if fact is None or isinstance(fact, str):
        return None
    return fact
