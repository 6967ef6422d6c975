"""The stories of questions: a switch, what feeds are worth, what if, how sure, what to grow."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from rationlp.ask.grow import NextYear, StoringFigure
from rationlp.ask.robust import SureGroup
from rationlp.ask.sure import WinterSureness
from rationlp.ask.switch import GroupSwitch, Switch
from rationlp.ask.switch_steps import SwitchSteps
from rationlp.ask.tonnes import WinterSwitch
from rationlp.ask.whatif import WhatIf
from rationlp.ask.why import Reasons
from rationlp.ask.worth import Worth
from rationlp.errors import EXIT_NO_RATION
from rationlp.quantities import by_sign
from rationlp.report.stories.ration import of_group
from rationlp.report.story import Part, Story, Words, always, brief, full, in_workbook, on_screen
from rationlp.report.tables.grow import crops_table, grow_line, next_bought_table, storing_table
from rationlp.report.tables.sure import (
    sure_feeds_table,
    sure_line,
    sure_table,
    sureness_line,
    sureness_money,
    sureness_table,
)
from rationlp.report.tables.switch import (
    farm_table,
    go_over_lines,
    group_table,
    moved_table,
    notes,
    pays_line,
    stock_lines,
    switch_table,
    switches_table,
)
from rationlp.report.tables.table import shown
from rationlp.report.tables.whatif import fed_table, headline, run_outs_table, scenarios_table
from rationlp.report.tables.worth import (
    bought_worth_table,
    references_table,
    stores_worth_table,
    turning_prices_table,
    worth_table,
    worths_table,
)
from rationlp.report.why import why_contents
from rationlp.report.wording import more_or_less


def steps_parts(switch: SwitchSteps) -> Iterator[Part]:
    """A switch of forage in a few steps: does it pay, does the store carry it; then each group."""
    heads = (pays_line(switch), *stock_lines(switch), *go_over_lines(switch))
    yield from on_screen(always(Words(heads)))
    yield from always(farm_table(switch))
    for group in switch.groups:
        if group.steps:
            yield from full(of_group(group.group, group_table(switch, group)))
    yield from on_screen(always(Words(tuple(notes(switch)), dashes=True)))


def curve_parts(switch: Switch, reasons: Mapping[str, Reasons] | None = None) -> Iterator[Part]:
    """Every share at which a ration turns, group by group, and why the cheapest is what it is."""
    heads = tuple(switch_headline(switch, group) for group in switch.groups)
    yield from on_screen(always(Words(heads)))
    yield from in_workbook(switches_table(switch))
    for group in switch.groups:
        if group.points:
            sentences = Words(tuple(switch_words(switch, group)), dashes=True)
            yield from on_screen(full(switch_table(switch, group), sentences))
        why = (reasons or {}).get(group.group)
        if why is not None and group.best is not None:
            head = f"At {100.0 * group.best.share:.1f} % {switch.second.name}, that share held."
            contents = why_contents(why, group.name, switch.farm.currency)
            yield from on_screen(always(Words((head,)), *contents))


def switch_story(
    steps: SwitchSteps | None,
    curve: Callable[[], Switch],
    reasons: Mapping[str, Reasons],
    curved: bool,
) -> Story:
    """The story of `switch` by share. curved: the whole curve is told, not only a few steps."""
    parts: list[Part] = []
    if steps is not None:
        parts += steps_parts(steps)
    if curved:
        parts += curve_parts(curve(), reasons)
    days = None
    if steps is not None:
        days = (steps.farm.start, steps.farm.turnout)
    return Story(
        "switch",
        tuple(parts),
        lambda: switches_table(curve()),
        days=days,
        hint="Each group, every share at which a ration changes, and prices: `--full`.",
    )


def moved_story(moved: WinterSwitch) -> Story:
    """The story of `switch` by tonnes or hectares."""
    parts = [*on_screen(always(Words((moved_heads(moved),))))]
    if moved.best is not None:
        parts += always(moved_table(moved))
        parts += on_screen(always(Words(tuple(moved_words(moved)), dashes=True)))
    return Story("switch_winter", tuple(parts), lambda: moved_table(moved, short=False))


def worth_story(worth: Worth) -> Story:
    """The story of `worth`: stores, bought feeds, the prices at which feeds turn in each group."""
    groups = tuple(dict.fromkeys(feed.group for feed in worth.feeds))
    if len(groups) > 1:
        short = turning_prices_table(worth, groups)
    else:
        short = worth_table(worth, *groups)
    return Story(
        "worth",
        (
            *brief(short),
            *on_screen(full(*(worth_table(worth, group) for group in groups))),
            *in_workbook(worths_table(worth)),
            *always(stores_worth_table(worth)),
            *always(bought_worth_table(worth)),
            *full(references_table(worth)),
        ),
        lambda: worths_table(worth),
        hint="Group by group, and the value by barley and soya bean meal: `--full`.",
    )


def what_if_story(answer: WhatIf) -> Story:
    """The story of `whatif`: the dearest and the cheapest first, then every scenario."""
    run_outs: tuple[Part, ...] = ()
    if not any(outcome.group for outcome in answer.now):
        run_outs = full(run_outs_table(answer))
    return Story(
        "whatif",
        (
            *on_screen(always(Words((headline(answer),)))),
            *always(scenarios_table(answer)),
            *run_outs,
            *full(fed_table(answer)),
        ),
        lambda: scenarios_table(answer),
        days=(answer.farm.start, answer.farm.turnout),
        hint="Run-out days, and what is fed in each: `--full`.",
    )


def sure_story(groups: Sequence[SureGroup], currency: str) -> Story:
    """The story of `sure --group`: what more safety costs."""
    parts: list[Part] = []
    for group in groups:
        parts += on_screen(always(Words((sure_line(group, currency),))))
    for group in groups:
        parts += always(of_group(group.group, sure_table(group, currency)))
        parts += full(of_group(group.group, sure_feeds_table(group)))
    return Story("sure", tuple(parts), lambda: sure_table(groups[0], currency))


def sureness_story(answer: WinterSureness) -> Story:
    """The story of `sure`: when stores run out and what the winter costs, in trial winters."""
    return Story(
        "sureness",
        (
            *on_screen(always(Words((sureness_line(answer),)))),
            *always(sureness_table(answer), sureness_money(answer)),
        ),
        lambda: sureness_table(answer),
        days=(answer.farm.start, answer.farm.turnout),
    )


def grow_story(answer: NextYear, storing: Mapping[str, StoringFigure]) -> Story:
    """The story of `grow`: hectares of each crop, how to store it, what is bought."""
    exit_code = 0
    if answer.cost is None:
        exit_code = EXIT_NO_RATION
    return Story(
        "grow",
        (
            *on_screen(always(Words((grow_line(answer),)))),
            *always(crops_table(answer)),
            *full(storing_table(answer, storing)),
            *always(next_bought_table(answer)),
        ),
        lambda: crops_table(answer),
        exit_code=exit_code,
        hint="Clamps to hold it and plastic to seal it: `--full`.",
    )


def switch_headline(switch: Switch, group: GroupSwitch) -> str:
    """The cheapest share of one group's switch in a sentence, or why there is none."""
    who = f"{group.name} ({group.head} head)"
    if group.best is None or not group.points:
        return f"{who}: {group.reason}."
    money, best = switch.farm.currency, group.best
    saved = group.points[0].feed_cost - best.feed_cost
    word = by_sign(-saved, "more", "less")
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
