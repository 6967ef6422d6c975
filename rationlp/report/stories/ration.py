"""The story of rations: cost and kg fresh first, then each group's tables, proof and remarks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from typing import TYPE_CHECKING

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
from rationlp.report.tables.farm import origins_table
from rationlp.report.tables.parlour import parlour_table
from rationlp.report.tables.ration import (
    ration_overview,
    ration_table,
    rations_table,
    shortfall_table,
    supplies_table,
    supply_table,
    weights_table,
)
from rationlp.report.tables.table import Table
from rationlp.report.why import ENOUGH, NO_REMEDY, clash_line, remedy_lines, why_contents
from rationlp.result import GroupRation, Rations
from rationlp.yard.day_facts import RationFacts

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
