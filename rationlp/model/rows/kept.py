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
        found = (
            "cautions keep every feed away:"
            f" {', '.join(caution.row.id for caution in away.values())}"
        )
        yield Finding("IN505", f'group "{group.id}"', found, "offer the group another feed")


def left_out(farm: Farm, away: Mapping[str, FeedCaution]) -> Iterable[str]:
    """A sentence for every feed that a caution keeps from the group."""
    for offer in farm.offers:
        if offer.id in away:
            row = away[offer.id].row
            yield (
                f"{offer.name} is left out: {row.title[:1].lower()}{row.title[1:]} (caution"
                f" {row.id}; {row.source})."
            )


def _forced(group: Group, away: Mapping[str, FeedCaution]) -> Iterable[Finding]:
    """A floor of the farm's own under a feed that a caution keeps away."""
    for own in group.feed_limits:
        if own.offer in away and (own.min_kg_fresh or own.min_share_of_dm):
            row = away[own.offer].row
            yield Finding(
                "IN503",
                f'group "{group.id}", feed_limits "{own.offer}"',
                "it asks for a feed that is kept from this group"
                f" ({row.title[:1].lower()}{row.title[1:]})",
                f"take the floor out; `rationlp meaning {row.id}` says why",
            )


def _underfed(group: Group, needs: GroupNeeds) -> Iterable[Finding]:
    """A margin of the farm's own below a share of the energy need that a hard caution asks for."""
    margin = 1.0 if needs.energy is None else needs.energy.margin
    words = group_words(group)
    for row in rows_that_look_at(ration=True):
        if (
            row.kind == "hard"
            and row.quantity == "me_cover"
            and row.concerns(words)
            and row.met(margin)
        ):
            facts = (group.nearest_fact(when.name) for when in row.when)
            if all(
                when.holds(_as_number(fact)) for when, fact in zip(row.when, facts, strict=True)
            ):
                found = (
                    f"a margin of {margin:g} would feed it below its need"
                    f" ({row.title[:1].lower()}{row.title[1:]})"
                )
                remedy = (
                    f"give [margins] me of {row.threshold:g} or more; `rationlp meaning {row.id}`"
                    " says why"
                )
                yield Finding("IN503", f'group "{group.id}"', found, remedy)


def _as_number(fact: float | str | None) -> float | None:
    return None if fact is None or isinstance(fact, str) else fact
