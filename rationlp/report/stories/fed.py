"""The story of a ration already fed: what is short or over, what it carries, what puts it right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rationlp.ask.fix import FedWhy
from rationlp.farm.farm import Farm
from rationlp.model.passed import PassedLimit
from rationlp.report.cautions import cautions_of
from rationlp.report.stories.ration import of_group
from rationlp.report.story import Part, Story, Words, always, brief, full, in_workbook, on_screen
from rationlp.report.tables.ration import (
    fed_supplies_table,
    ration_table,
    stands_of,
    supplies_table,
    supply_table,
)
from rationlp.report.tables.table import shown
from rationlp.report.why import fed_lines, short_fed_lines
from rationlp.result import FedSupply
from rationlp.yard.day_facts import FedFacts

NOTHING_SHORT = "Nothing that was worked out is short or over."


def fed_story(
    farm: Farm | None,
    facts: FedFacts,
    reasons: Mapping[str, FedWhy] | None = None,
    lines: tuple[str, ...] = (),
) -> Story:
    """The story of `supply`. reasons: by group id, what the ration carries, wastes and leaves, and
    what puts it right. lines: where it comes from, told first. farm: without it there are no
    cautions, and no money has a name.
    """
    groups, why = facts.fed, reasons or {}
    currency, own, days = "currency", {}, None
    if farm is not None:
        currency, own, days = farm.currency, farm.own_quantities, (farm.start, farm.turnout)
    heads = tuple(
        line for group in groups for line in _heads(group, currency, why.get(group.group))
    )
    parts = [
        *on_screen(always(Words(lines), Words(heads))),
        *brief(fed_supplies_table(groups)),
        *in_workbook(supplies_table(groups, own)),
    ]
    for group in groups:
        parts += on_screen(full(supply_table(group, own)))
        parts += _group_parts(group, currency, why.get(group.group))
    if farm is not None:
        of_groups = (caution for group in groups for caution in facts.cautions[group.group])
        cautions = [*of_groups, *facts.called_for]
        parts += always(cautions_of(cautions))
    return Story(
        "supply",
        tuple(parts),
        lambda: supplies_table(groups, own),
        days=days,
        hint="Feeds, every nutrient and what leaves the animal, group by group: `--full`.",
    )


def _heads(group: FedSupply, currency: str, why: FedWhy | None) -> tuple[str, str]:
    """What a ration costs, what is short or over of it, and which limits of feeds it passes."""
    stands = stands_of(group)
    standing = [f"{word}: {', '.join(stands[word])}" for word in stands if stands[word]]
    if why is not None and why.passed:
        standing.append(f"past a limit: {', '.join(map(_passed_words, why.passed))}")
    verdicts = "; ".join(standing)
    cost = f"{group.name}: {currency} {shown(group.feed_cost, 2)} a head a day."
    if not verdicts:
        return cost, f"  {NOTHING_SHORT}"
    return cost, f"  {verdicts[:1].upper()}{verdicts[1:]}."


def _passed_words(limit: PassedLimit) -> str:
    """A limit that is passed, by how much and whose it is, without what stands in brackets."""
    side = "below its least"
    if limit.side == "above":
        side = "above its most"
    return f"{limit.title} {100.0 * limit.by:.0f} % {side} ({limit.whose.partition(' (')[0]})"


def _group_parts(group: FedSupply, currency: str, why: FedWhy | None) -> Iterator[Part]:
    yield from full(of_group(group.group, ration_table(group, currency)))
    if why is not None:
        yield from on_screen(full(Words(fed_lines(why, group, currency))))
        short = tuple(f"{group.name}: {line}" for line in short_fed_lines(why, currency))
        yield from brief(Words(short))
    yield from full(Words(group.remarks, "", True, "remark", group.name))
