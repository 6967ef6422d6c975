"""The written report: the first page of a winter, and everything else of it in folds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING

from rationlp.after.winter_facts import WinterFacts
from rationlp.records import dataclass
from rationlp.report.ration_words import short_minerals
from rationlp.report.stories.first_page import first_page
from rationlp.report.stories.switch_page import switch_parts
from rationlp.report.stories.winter import (
    BUYING,
    CAUTIONS,
    GROUPS,
    MONEY,
    PROOF,
    STORES,
    WHY,
    Beside,
    winter_story,
)
from rationlp.report.story import PAGE, Part, Story, Words, on_page, placed
from rationlp.report.tables.winter_page import (
    MARKS_SAID,
    feed_sources_table,
    need_sources_table,
    proof_table,
    standing_table,
    stock_sources_table,
    supply_over_winter_table,
    worth_of_stores_table,
)
from rationlp.report.tables.winter_plan import rations_by_part
from rationlp.report.terminal import with_sources_below
from rationlp.report.why import leaves_line, ranges_table, why_line
from rationlp.report.winter_so_far import lying_line, lying_sentences
from rationlp.report.wording import day_words
from rationlp.result import Caution

if TYPE_CHECKING:
    from rationlp.ask.lying import LyingForage
    from rationlp.ask.switch import Switch
    from rationlp.ask.why import Reasons
    from rationlp.chances.risk import HeldRisk

SWITCH, SUPPLY, SOURCES = "Switch of forage", "Supply and need", "Sources"
_STATUS = (
    "Status: a checked in the cited text; b from memory of a named publication; c common practice,"
    " no source; none for what the farm or its laboratory says."
)


@dataclass(frozen=True)
class Extras:
    """What a report tells besides the plan.

    day: that the first page is of; cautions: that hold on it. lying: forage left while feed is
    bought. switch: from one forage to another, where a group eats two. reasons: of each group by
    itself on the first day, by its name. held: what holding the plan as it is risks.
    """

    day: date
    cautions: tuple[Caution, ...] = ()
    lying: tuple[LyingForage, ...] = ()
    switch: Switch | None = None
    reasons: tuple[tuple[str, Reasons], ...] = ()
    held: HeldRisk | None = None


def report_story(facts: WinterFacts, extras: Extras) -> Story:
    """The story of a report: a first page, then the story of the winter and what else there is."""
    winter = winter_story(facts, Beside(lying=extras.lying, held=extras.held))
    parts = (
        *first_page(facts, extras.day, extras.cautions, _beside(facts, extras)),
        *(part for part in winter.parts if PAGE in part.media),
        *_more(facts, extras),
    )
    return Story(
        "report", _in_order(parts), winter.table, days=winter.days, exit_code=winter.exit_code
    )


_ORDER = (
    "", GROUPS, STORES, BUYING, SWITCH, MONEY, WHY, CAUTIONS, PROOF, SUPPLY, SOURCES,
)  # fmt: skip


def _in_order(parts: Sequence[Part]) -> tuple[Part, ...]:
    """The parts of the first page, then those of each fold."""
    return tuple(sorted(parts, key=lambda part: _ORDER.index(part.place)))


def _beside(facts: WinterFacts, extras: Extras) -> Iterator[str]:
    """Bales that lie open, forage left lying and minerals short, for the first page."""
    yield facts.bales
    yield lying_line(extras.lying, facts.plan.farm.currency)
    minerals = short_minerals(facts.plan.rations)
    if minerals:
        yield f"Short of minerals: {minerals}."


def _more(facts: WinterFacts, extras: Extras) -> Iterator[Part]:
    plan = facts.plan
    if extras.switch is not None:
        yield from placed(SWITCH, switch_parts(extras.switch))
    if plan.proof is not None:
        lying = tuple(lying_sentences(extras.lying, plan.farm.currency))
        yield from placed(WHY, on_page(Words(lying, title="Left while feed is bought")))
        yield from placed(WHY, on_page(worth_of_stores_table(plan), standing_table(plan)))
        yield from placed(WHY, _reasons(facts, extras))
        yield from placed(PROOF, on_page(proof_table(plan)))
        note = (
            "A head a day, or per kg DM where the unit says so; margins are in the need."
            f" {MARKS_SAID}"
        )
        tables = (supply_over_winter_table(plan, rations) for rations in rations_by_part(plan))
        yield from placed(SUPPLY, on_page(Words((note,)), *tables))
    stocks = with_sources_below(stock_sources_table(plan, facts.stocks))
    needs = with_sources_below(need_sources_table(plan))
    yield from placed(SOURCES, on_page(Words((_STATUS,)), feed_sources_table(plan), stocks, needs))


def _reasons(facts: WinterFacts, extras: Extras) -> Iterator[Part]:
    """Why each group's ration of the first day is what it is, and how far its feeds could move."""
    if not extras.reasons:
        return
    currency, first = facts.plan.farm.currency, day_words(facts.plan.periods[0].first)
    note = (
        f"Each group by itself on {first}, as if no store had an end; the plan above shares the"
        " stores out."
    )
    yield from on_page(Words((note,)))
    for name, why in extras.reasons:
        lines = (why_line(why, currency), leaves_line(why.leaves))
        reasons = Words(tuple(line for line in lines if line), title=name)
        yield from on_page(reasons, ranges_table(why, name))
