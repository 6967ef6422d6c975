"""Answers to questions as text: what a switch costs, what feeds are worth."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from rationlp.report.tables.switch import moved_table, switch_table
from rationlp.report.tables.table import shown
from rationlp.report.tables.worth import (
    bought_worth_table,
    references_table,
    stores_worth_table,
    worth_table,
)
from rationlp.report.terminal import closed, remarks_text, table_text, tables_text, wrapped
from rationlp.report.why import why_text

if TYPE_CHECKING:
    from rationlp.ask.switch import GroupSwitch, Switch
    from rationlp.ask.tonnes import Moved
    from rationlp.ask.why import Why
    from rationlp.ask.worth import Worth


def switch_text(switch: Switch, width: int, reasons: Mapping[str, Why] | None = None) -> str:
    """The answer of `switch` by share: a headline a group, then its table and what to say of it.

    reasons: by group id, why the ration at the cheapest share is what it is, where that was asked
    for.
    """
    parts = ["\n".join(wrapped(switch_headline(switch, group), width) for group in switch.groups)]
    for group in switch.groups:
        if group.points:
            parts.append(table_text(switch_table(switch, group), width))
            parts.append(remarks_text(switch_words(switch, group), width))
        why = (reasons or {}).get(group.group)
        if why is not None and group.best is not None:
            head = f"At {100.0 * group.best.share:.1f} % {switch.second.name}, that share held."
            parts.append(
                f"{wrapped(head, width)}\n{why_text(why, group.name, switch.farm.currency, width)}"
            )
    return closed(parts, width)


def switch_headline(switch: Switch, group: GroupSwitch) -> str:
    """The cheapest share of one group's switch in a sentence, or why there is none."""
    who = f"{group.name} ({group.head} head)"
    if group.best is None or not group.points:
        return f"{who}: {group.reason}."
    money, best = switch.farm.currency, group.best
    saved = group.points[0].feed_cost - best.feed_cost
    word = "less" if saved >= 0.0 else "more"
    return (
        f"{who}: cheapest at {100.0 * best.share:.1f} % {switch.second.name}, {money}"
        f" {shown(best.feed_cost, 2)} a head a day, {shown(abs(saved), 2)} {word} than at"
        f" {100.0 * group.points[0].share:.0f} %."
    )


def switch_words(switch: Switch, group: GroupSwitch) -> list[str]:
    """What is to be said of one group's switch: its ends, prices at which it pays, shares barred,
    change over, proof.
    """
    money, whole = switch.farm.currency, group.whole_change or 0.0
    ends = (
        f"From {100.0 * group.points[0].share:.1f} to {100.0 * group.points[-1].share:.1f} %"
        f" {switch.second.name}"
    )
    word = "costs" if whole >= 0.0 else "saves"
    milk = (
        ""
        if group.cost_per_kg_milk is None
        else f", {money} {shown(abs(group.cost_per_kg_milk), 3)} a kg of milk"
    )
    winter = abs(whole) * group.head * group.days
    words = [
        f"{ends} {word} {money} {shown(abs(whole), 2)} a head a day{milk}; {money}"
        f" {shown(winter, 0)} for {group.head} head in {group.days} days, if they stay as they are"
        " today."
    ]
    if group.comes_in_below is not None:
        words.append(
            f"{switch.second.name} comes in below {money} {shown(group.comes_in_below, 2)} a tonne"
            " fresh."
        )
    if group.points[0].share <= 1e-6:
        pays = group.pays_below
        words.append(
            f"The whole switch pays below {money} {shown(pays, 2)} a tonne fresh."
            if pays is not None
            else "The whole switch pays at no price, not even for nothing."
        )
    for barred in group.barred:
        by = f": {', '.join(barred.by)}" if barred.by else ""
        words.append(
            f"{100.0 * barred.low:.1f} to {100.0 * barred.high:.1f} % has no ration; what presses"
            f" at the edge{by}."
        )
    if group.change is not None and group.change.days:
        words.append(
            f"Change over {group.change.days} days, never with hungry animals; watch intake and"
            " dung, and go slower if they say so."
        )
        words += group.change.sentences
    return [*words, *_proof_words(money, group)]


def _proof_words(money: str, group: GroupSwitch) -> list[str]:
    """What nobody pays in the cost compared, and what is proved."""
    words = []
    put = max(point.cost - point.feed_cost for point in group.points)
    if put > 5e-5:
        words.append(
            f"The cost compared includes up to {money} {shown(put, 2)} put on energy above need and"
            " minerals short, which nobody pays; the feed alone is shown."
        )
    gap = max(point.cost - point.lower_bound for point in group.points)
    if all(point.proven for point in group.points):
        words.append(
            f"At every point nothing is cheaper by more than {money}"
            f" {shown(max(gap, 1e-4), 4, 'up')} (proved)."
        )
    else:
        words.append(
            f"Not every point is proved: up to {money} {shown(gap, 4, 'up')} a head a day cheaper"
            " is not ruled out."
        )
    return words


def moved_text(moved: Moved, width: int) -> str:
    """The answer of `switch` by tonnes or hectares."""
    if moved.best is None:
        return closed(
            [wrapped(f"From {moved.first.name} to {moved.second.name}: {moved.reason}.", width)],
            width,
        )
    money, base = moved.farm.currency, moved.points[0].cost
    base_is_best = base <= moved.best.cost * (1.0 + 1e-9)
    head = f"No switch pays: keep {moved.first.name}."
    if not base_is_best:
        head = (
            f"From {moved.first.name} to {moved.second.name}: cheapest with"
            f" {shown(moved.best.moved, 1)} {moved.unit} moved, {money}"
            f" {shown(base - moved.best.cost, 2)} less for the winter than with none."
        )
    words = []
    if moved.possible < moved.most * (1.0 - 1e-6):
        words.append(
            f"No more than {shown(moved.possible, 1)} {moved.unit} can be moved: beyond that no"
            " plan exists."
        )
    if moved.pays is not None:
        word = "more" if moved.pays >= 0.0 else "less"
        words.append(
            f"Moved whole, it breaks even where a tonne of dry matter of {moved.second.name} costs"
            f" {money} {shown(abs(moved.pays), 2)} {word} than one of {moved.first.name}, beyond"
            " what both count for now."
        )
    if moved.break_even_yield is not None:
        words.append(
            f"The first hectare breaks even at {shown(moved.break_even_yield, 1)} t DM of"
            f" {moved.second.name} a hectare."
        )
    return closed(
        [wrapped(head, width), table_text(moved_table(moved), width), remarks_text(words, width)],
        width,
    )


def worth_text(worth: Worth, width: int) -> str:
    """The answer of `worth`: a table a group, the stores, the plain valuation beside it."""
    groups = dict.fromkeys(feed.group for feed in worth.feeds)
    tables = [worth_table(worth, group) for group in groups]
    more = [stores_worth_table(worth), bought_worth_table(worth), references_table(worth)]
    return closed([tables_text([*tables, *more], width)], width)
