"""The stories of rations, found or already fed: cost and kg fresh, tables, proof, remarks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from typing import TYPE_CHECKING

from rationlp.ask.fix import FedWhy
from rationlp.farm.farm import Farm
from rationlp.model.passed import PassedLimit
from rationlp.records import dataclass
from rationlp.report.cautions import cautions_of
from rationlp.report.ration_words import (
    day_line,
    headlines,
    minerals_line,
    proof_line,
    proofs_line,
    tidy_line,
)
from rationlp.report.story import (
    Content,
    Part,
    Story,
    Words,
    always,
    brief,
    full,
    in_workbook,
    on_screen,
)
from rationlp.report.tables.changeover import change_overs_table, change_words, ramp_table
from rationlp.report.tables.feeds import origins_table
from rationlp.report.tables.ration import (
    fed_supplies_table,
    ration_overview,
    ration_table,
    rations_table,
    shortfall_table,
    stands_of,
    supplies_table,
    supply_table,
    weights_table,
)
from rationlp.report.tables.sheet import parlour_table
from rationlp.report.tables.table import Table, shown
from rationlp.report.why import (
    ENOUGH,
    NO_REMEDY,
    clash_line,
    fed_lines,
    remedy_lines,
    short_fed_lines,
    why_contents,
)
from rationlp.result import FedSupply, GroupRation, Rations
from rationlp.yard.day_facts import FedFacts, RationFacts

if TYPE_CHECKING:
    from rationlp.after.changeover import ChangeOver
    from rationlp.ask.why import Reasons


WEIGHTS = "What to feed, kg fresh a head a day"
WHOLE_PROOF = "Supply against need, proof and remarks: `--full`."


@dataclass(frozen=True)
class Asked:
    """What was asked for besides the answer.

    rate: how long stores last at this rate, in sentences. changes: by group id, the way from what
    is fed now; None where that was not asked for. reasons: by group id, why the ration is what it
    is. rows: of the model, a table a group. figures: where each figure comes from. shut: stores
    that are still shut on the day, in a sentence.
    """

    rate: tuple[str, ...] = ()
    changes: Mapping[str, ChangeOver] | None = None
    reasons: Mapping[str, Reasons] = field(default_factory=dict)
    rows: tuple[Table, ...] = ()
    figures: bool = False
    shut: str = ""


def ration_story(facts: RationFacts, asked: Asked | None = None) -> Story:
    """The story of rations: a headline a group, the groups side by side, then each by itself."""
    beside = asked or Asked()
    rations, changes = facts.rations, beside.changes or {}
    farm, cautions = rations.farm, list(facts.called_for)
    for group in rations.groups:
        cautions += facts.cautions[group.group]
    figures = []
    if beside.figures:
        figures = origin_tables(rations)
    ways = []
    if changes:
        ways = [change_overs_table(rations, changes)]

    def table() -> Table:
        if beside.changes is None:
            return rations_table(rations)
        return change_overs_table(rations, beside.changes)

    parts = [
        *_heads(facts, beside),
        *in_workbook(
            rations_table(rations), supplies_table(rations.groups, farm.own_quantities), *ways
        ),
    ]
    for group in rations.groups:
        parts += _group_parts(facts, group, beside)
    parts += [*always(cautions_of(cautions)), *on_screen(always(*beside.rows)), *always(*figures)]
    return Story(
        "ration",
        tuple(parts),
        table,
        days=(farm.start, farm.turnout),
        exit_code=rations.exit_code,
        hint=WHOLE_PROOF,
    )


def _heads(facts: RationFacts, more: Asked) -> Iterator[Part]:
    """The answer first: cost, how long stores last, kg fresh of all groups in one table."""
    rations, currency = facts.rations, facts.rations.farm.currency
    every = [line for group in rations.groups for line in headlines(group, currency)]
    first = (day_line(rations), *more.rate)
    yield from always(Words(tuple(line for line in first if line)))
    yield from full(Words(tuple(every)))
    fed = [group for group in rations.groups if group.feed_cost is not None]
    if len(rations.groups) > 1:
        without = [group for group in rations.groups if group.feed_cost is None]
        yield from brief(Words(tuple(x for group in without for x in headlines(group, currency))))
        yield from brief(weights_table(fed, currency, WEIGHTS))
        yield from full(ration_overview(rations))
    else:
        yield from brief(Words(tuple(every)))
        yield from in_workbook(ration_overview(rations))
    if more.shut:
        yield from always(Words((more.shut,)))
    beside = (facts.bales, minerals_line(fed), proofs_line(fed, currency))
    yield from brief(Words(tuple(line for line in beside if line)))


def _group_parts(facts: RationFacts, group: GroupRation, beside: Asked) -> Iterator[Part]:
    farm, name = facts.rations.farm, group.name

    def words(what: str, *lines: str, dashes: bool = False) -> Words:
        return Words(lines, "", dashes, what, name)

    if group.proof is None:
        yield from always(of_group(group.group, shortfall_table(group)))
        yield from _no_ration(group)
    else:
        tables = ration_table(group, farm.currency), supply_table(group, farm.own_quantities)
        yield from on_screen(full(*tables))
        yield from full(words("made fit to mix", tidy_line(group, farm.currency)))
        yield from full(words("proof", proof_line(group, farm.currency)))
        sheet = facts.parlours[group.group]
        if sheet is not None:
            yield from full(of_group(group.group, parlour_table(sheet, name)))
    yield from full(words("remark", *group.remarks, dashes=True))
    if group.group in beside.reasons:
        reasons = why_contents(beside.reasons[group.group], name, farm.currency)
        yield from on_screen(always(*reasons))
    change = (beside.changes or {}).get(group.group)
    if change is not None:
        sentences = Words(change_words(change, farm.currency), dashes=True)
        yield from on_screen(always(ramp_table(change, farm, name), sentences))


def _no_ration(group: GroupRation) -> Iterator[Part]:
    """Why a group has no ration, and what would be enough."""
    limits = "; ".join(group.at_limit)
    yield from in_workbook(Words(group.at_limit, what="at its limit", about=group.name))
    if limits:
        yield from on_screen(always(Words((f"At its limit there: {limits}.",))))
    yield from on_screen(always(Words((clash_line(group),)), remedies(group)))


def remedies(group: GroupRation) -> Content:
    """What would each be enough by itself for a group without a ration."""
    lines = remedy_lines(group)
    if lines:
        return Words(lines, ENOUGH, dashes=True)
    return Words((NO_REMEDY,))


def of_group(group: str, table: Table) -> Table:
    """A table of one group, its name saying whose it is."""
    return replace(table, name=f"{table.name} {group}")


def origin_tables(rations: Rations) -> list[Table]:
    """Where the figures of every feed come from that some group gets."""
    used = {amount.offer for group in rations.groups for amount in group.amounts}
    offers = [offer for offer in rations.farm.offers if offer.id in used]
    return [origins_table(offer, rations.farm.own_quantities) for offer in offers]


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
        line for group in groups for line in _fed_heads(group, currency, why.get(group.group))
    )
    parts = [
        *on_screen(always(Words(lines), Words(heads))),
        *brief(fed_supplies_table(groups)),
        *in_workbook(supplies_table(groups, own)),
    ]
    for group in groups:
        parts += on_screen(full(supply_table(group, own)))
        parts += _fed_parts(group, currency, why.get(group.group))
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


def _fed_heads(group: FedSupply, currency: str, why: FedWhy | None) -> tuple[str, str]:
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


def _fed_parts(group: FedSupply, currency: str, why: FedWhy | None) -> Iterator[Part]:
    yield from full(of_group(group.group, ration_table(group, currency)))
    if why is not None:
        yield from on_screen(full(Words(fed_lines(why, group, currency))))
        short = tuple(f"{group.name}: {line}" for line in short_fed_lines(why, currency))
        yield from brief(Words(short))
    yield from full(Words(group.remarks, "", True, "remark", group.name))
