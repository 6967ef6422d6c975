"""Answers to questions as text and as documents: what a switch costs, what feeds are worth."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rationlp.report.tables.table import shown
from rationlp.report.wording import more_or_less

if TYPE_CHECKING:
    from rationlp.ask.switch import GroupSwitch, Switch
    from rationlp.ask.tonnes import WinterSwitch


def switch_headline(switch: Switch, group: GroupSwitch) -> str:
    """The cheapest share of one group's switch in a sentence, or why there is none."""
    who = f"{group.name} ({group.head} head)"
    if group.best is None or not group.points:
        return f"{who}: {group.reason}."
    money, best = switch.farm.currency, group.best
    saved = group.points[0].feed_cost - best.feed_cost
    word = "less"
    if saved < 0.0:
        word = "more"
    return (
        f"{who}: cheapest at {100.0 * best.share:.1f} % {switch.second.name}, {money}"
        f" {shown(best.feed_cost, 2)} a head a day, {shown(abs(saved), 2)} {word} than at"
        f" {100.0 * group.points[0].share:.0f} %."
    )


def switch_words(switch: Switch, group: GroupSwitch) -> list[str]:
    """What to say of one group's switch: ends, prices at which it pays, shares barred, proof."""
    money, whole = switch.farm.currency, group.whole_change or 0.0
    ends = (
        f"From {100.0 * group.points[0].share:.1f} to {100.0 * group.points[-1].share:.1f} %"
        f" {switch.second.name}"
    )
    word, milk = "costs", ""
    if whole < 0.0:
        word = "saves"
    if group.cost_per_kg_milk is not None:
        milk = f", {money} {shown(abs(group.cost_per_kg_milk), 3)} a kg of milk"
    winter = abs(whole) * group.head * group.days
    sentences = [
        f"{ends} {word} {money} {shown(abs(whole), 2)} a head a day{milk}; {money}"
        f" {shown(winter, 0)} for {group.head} head in {group.days} days, if they stay as they are"
        " today."
    ]
    if group.comes_in_below is not None:
        sentences.append(
            f"{switch.second.name} comes in below {money} {shown(group.comes_in_below, 2)} a tonne"
            " fresh."
        )
    if group.points[0].share <= 1e-6:
        if group.pays_below is None:
            sentences.append("The whole switch pays at no price, even if it were free.")
        else:
            pays = shown(group.pays_below, 2)
            sentences.append(f"The whole switch pays below {money} {pays} a tonne fresh.")
    for barred in group.barred:
        edge = ": ".join(part for part in ("the edge", ", ".join(barred.by)) if part)
        sentences.append(
            f"{100.0 * barred.low:.1f} to {100.0 * barred.high:.1f} % has no ration; what presses"
            f" at {edge}."
        )
    if group.change is not None and group.change.days:
        sentences.append(
            f"Change over {group.change.days} days, never with hungry animals; watch intake and"
            " dung, and go slower if they say so."
        )
        sentences += group.change.sentences
    return [*sentences, *_proof_words(money, group)]


def _proof_words(money: str, group: GroupSwitch) -> list[str]:
    """What nobody pays in the cost compared, and what is proved."""
    sentences = []
    put = max(point.cost - point.feed_cost for point in group.points)
    if put > 5e-5:
        sentences.append(
            f"The cost compared includes up to {money} {shown(put, 2)} as a penalty, not money, for"
            " energy above need and minerals short; the feed alone is shown."
        )
    gap = max(point.cost - point.lower_bound for point in group.points)
    if all(point.proven for point in group.points):
        sentences.append(
            f"Proved cheapest to within {money} {shown(max(gap, 1e-4), 4, 'up')} at every point."
        )
    else:
        sentences.append(
            f"Not every point is proved: up to {money} {shown(gap, 4, 'up')} a head a day cheaper"
            " is not ruled out."
        )
    return sentences


def moved_heads(moved: WinterSwitch) -> str:
    """The cheapest amount to move, in a sentence, or why there is none."""
    way = f"From {moved.first.name} to {moved.second.name}"
    if moved.best is None:
        return f"{way}: {moved.reason}."
    money, base = moved.farm.currency, moved.points[0].cost
    if base <= moved.best.cost * (1.0 + 1e-9):
        return f"No switch pays: keep {moved.first.name}."
    return (
        f"{way}: cheapest with {shown(moved.best.moved, 1)} {moved.unit} moved, {money}"
        f" {shown(base - moved.best.cost, 2)} less for the winter than with none."
    )


def moved_words(moved: WinterSwitch) -> list[str]:
    """What is to be said of tonnes or hectares that move: how many can, and when it breaks even."""
    money, sentences = moved.farm.currency, []
    if moved.possible < moved.most * (1.0 - 1e-6):
        sentences.append(
            f"No more than {shown(moved.possible, 1)} {moved.unit} can be moved: beyond that no"
            " plan exists."
        )
    if moved.pays is not None:
        sentences.append(
            f"Moved whole, it breaks even where a tonne of dry matter of {moved.second.name} costs"
            f" {money} {shown(abs(moved.pays), 2)} {more_or_less(moved.pays)} than one of"
            f" {moved.first.name}, beyond the price of both now."
        )
    if moved.break_even_yield is not None:
        sentences.append(
            f"The first hectare breaks even at {shown(moved.break_even_yield, 1)} t DM of"
            f" {moved.second.name} a hectare."
        )
    return sentences
