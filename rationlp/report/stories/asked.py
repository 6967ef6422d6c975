"""The stories of questions: a switch, what feeds are worth, what if, how sure, what to grow."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from rationlp.ask.grow import NextYear, StoringFigure
from rationlp.ask.robust import SureGroup
from rationlp.ask.sure import WinterSureness
from rationlp.ask.switch import Switch
from rationlp.ask.switch_steps import SwitchSteps
from rationlp.ask.tonnes import WinterSwitch
from rationlp.ask.whatif import WhatIf
from rationlp.ask.why import Reasons
from rationlp.ask.worth import Worth
from rationlp.errors import EXIT_NO_RATION
from rationlp.report import switch_steps
from rationlp.report.asked import moved_heads, moved_words, switch_headline, switch_words
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
from rationlp.report.tables.switch import moved_table, switch_table, switches_table
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


def steps_parts(switch: SwitchSteps) -> Iterator[Part]:
    """A switch of forage in a few steps: does it pay, does the store carry it; then each group."""
    heads = (
        switch_steps.pays_line(switch),
        *switch_steps.stock_lines(switch),
        *switch_steps.go_over_lines(switch),
    )
    yield from on_screen(always(Words(heads)))
    yield from always(switch_steps.farm_table(switch))
    for group in switch.groups:
        if group.steps:
            table = of_group(group.group, switch_steps.group_table(switch, group))
            yield from full(table)
    yield from on_screen(always(Words(tuple(switch_steps.notes(switch)), dashes=True)))


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
