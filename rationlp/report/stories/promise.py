"""The stories of the price of a promise: of groups on a day, and of the winter."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from rationlp.after.methane import ERROR_SHARE, SOURCE
from rationlp.ask.stores import NO_PLAN
from rationlp.errors import EXIT_NO_RATION
from rationlp.report.chart import BELOW, Axis, Chart, Curve, Mark, Marks
from rationlp.report.page import story_page
from rationlp.report.stories.ration import of_group
from rationlp.report.story import Part, Story, Words, always, full, in_workbook, on_page, on_screen
from rationlp.report.tables.promise import (
    all_corners_table,
    all_winter_corners_table,
    corners_of,
    corners_table,
    first_step_cost,
    promise_words,
    promised_plans_table,
    promised_table,
    step_of,
    ways_table,
    winter_ways_table,
)

if TYPE_CHECKING:
    from rationlp.ask.promise import Promises, PromiseWay
    from rationlp.ask.promise_winter import WinterPromise, WinterWay
    from rationlp.farm.farm import Farm
    from rationlp.report.tables.table import Table

_NOTES = (
    "No ration here goes shorter of anything than the cheapest does: less is never bought by"
    " shortage.",
    "Soya counts by its own name; a compound may hold soya: ask the mill. What a promise must count"
    " is for the buyer's own rules to say.",
)
_METHANE_NOTE = (
    f"Methane by {SOURCE}; error {100.0 * ERROR_SHARE:.0f} %, so a difference below a tenth is"
    " within it."
)


def promise_story(answer: Promises) -> Story:
    """The story of `promise` on a day: what is promised, what less costs, each corner."""
    money = answer.farm.currency
    parts = [*always(Words(tuple(_first_words(answer))))]
    parts += always(promised_table(answer), ways_table(answer))
    parts += in_workbook(all_corners_table(answer))
    for group in answer.groups:
        for way in group.ways:
            if len(way.corners) > 1:
                table = of_group(group.group, corners_table(way, group.name, money, 2))
                parts += on_screen(full(table))
                chart = way_chart(way, group.name, f"{money} a head a day", " a head a day")
                parts += on_page(chart, table)
    parts += _notes(any(w.measure == "methane" for g in answer.groups for w in g.ways))
    story = _story("promise", answer.farm, parts, lambda: all_corners_table(answer))
    fed = all(group.ways or group.promised for group in answer.groups)
    if fed:
        return story
    return replace(story, exit_code=EXIT_NO_RATION)


def winter_promise_story(answer: WinterPromise) -> Story:
    """The story of `promise` over the winter."""
    money = answer.farm.currency
    parts = [*always(Words(tuple(_first_winter_words(answer))))]
    parts += always(promised_plans_table(answer), winter_ways_table(answer))
    parts += in_workbook(all_winter_corners_table(answer))
    for way in answer.ways:
        if len(way.corners) > 1:
            table = corners_table(way, "The winter", money, 0)
            parts += on_screen(full(table))
            parts += on_page(way_chart(way, "The winter", money, ""), table)
    parts += _notes(any(way.measure == "methane" for way in answer.ways))
    story = _story("promise_winter", answer.farm, parts, lambda: all_winter_corners_table(answer))
    if answer.reason == NO_PLAN:
        return replace(story, exit_code=EXIT_NO_RATION)
    return story


def _story(kind: str, farm: Farm, parts: list[Part], table: Callable[[], Table]) -> Story:
    """A story whose page is made of itself."""
    plain = Story(
        kind,
        tuple(parts),
        table,
        days=(farm.start, farm.turnout),
        hint="Every corner, with bought carbon and what changes: `--full`.",
    )
    return replace(plain, page=lambda: story_page(plain))


def _notes(methane: bool) -> Iterator[Part]:
    lines: tuple[str, ...] = _NOTES
    if methane:
        lines = (_METHANE_NOTE, *_NOTES)
    yield from always(Words(lines, dashes=True))


def _first_words(answer: Promises) -> Iterator[str]:
    """What promises cost; then where a first step less is cheapest."""
    money = answer.farm.currency
    for group in answer.groups:
        if group.reason:
            yield f"{group.name}: {group.reason}."
        for promise in group.promised:
            aim = promise_words(promise.measure, promise.unit, promise.most)
            if promise.extra is None:
                outcome = "no ration was found"
                if promise.none_proved:
                    outcome = "no ration keeps it (proved)"
                yield f"{group.name}, {aim}: {outcome}."
            else:
                yield (
                    f"{group.name}, {aim}: {money} {max(promise.extra, 0.0):.3f} a head a day more."
                )
    firsts: dict[str, tuple[float, str]] = {}
    for group in answer.groups:
        for way in group.ways:
            cost = first_step_cost(way)
            if cost is not None:
                what = f"{step_of(way).words} of {way.title.lower()}"
                cheapest = (cost, group.name)
                firsts[what] = min(firsts.get(what, cheapest), cheapest)
    if firsts:
        parts = "; ".join(
            f"{what} for {money} {cost:,.3f} ({name})" for what, (cost, name) in firsts.items()
        )
        yield f"Cheapest first step, a head a day less: {parts}."
    else:
        yield "Nothing here can be made less: the cheapest rations have the least already."


def _first_winter_words(answer: WinterPromise) -> Iterator[str]:
    money = answer.farm.currency
    if answer.reason:
        yield f"No price of a promise for the winter: {answer.reason}."
        return
    for promise in answer.promised:
        aim = promise_words(promise.measure, "kg", promise.most)
        if promise.extra is None:
            yield f"{aim.capitalize()} a head over the winter: no plan was found that keeps it."
        else:
            extra = f"{money} {max(promise.extra, 0.0):,.0f} more for the winter"
            yield f"{aim.capitalize()} a head over the winter: {extra}."
    for way in answer.ways:
        first, last = way.corners[0], way.corners[-1]
        cost = first_step_cost(way)
        if cost is None:
            yield f"{way.title}: {_whole_and_head(answer, first.amount)}; there is none to spare."
            continue
        yield (
            f"{way.title}: {_whole_and_head(answer, first.amount)} in the cheapest plan; the first"
            f" {step_of(way).name} less costs {money} {cost:,.2f}; at least"
            f" {_whole_and_head(answer, last.amount)} for {money} {last.cost - first.cost:,.0f}"
            " more."
        )


def _whole_and_head(answer: WinterPromise, kg: float) -> str:
    """An amount of the winter, and the same a head."""
    if answer.head <= 0.0 or kg <= 0.0:
        return f"{kg:,.0f} kg"
    return f"{kg:,.0f} kg ({kg / answer.head:,.1f} a head)"


def way_chart(way: PromiseWay | WinterWay, name: str, money: str, each: str) -> Chart:
    """Least cost by the amount of a measure: a line through the corners, and the bound below it."""
    corners = sorted(corners_of(way), key=lambda corner: corner.amount)
    first, last = corners[-1], corners[0]
    says = (
        f"From {first.amount:,.2f} {way.unit} at {first.cost:,.2f} to {last.amount:,.2f} {way.unit}"
        f" at {last.cost:,.2f} {money}, over {len(corners)} corners."
    )
    return Chart(
        f"{name}: cost against {way.title.lower()}",
        says,
        Axis(f"{way.title.lower()}, {way.unit}{each}", corners[0].amount, corners[-1].amount),
        Axis(money, min(corner.lower_bound for corner in corners)),
        (
            Curve("least cost", tuple((corner.amount, corner.cost) for corner in corners)),
            Curve(
                "nothing costs less (proved)",
                tuple((corner.amount, corner.lower_bound) for corner in corners),
                BELOW,
            ),
            Marks("corners", tuple(Mark(corner.amount, corner.cost) for corner in corners)),
        ),
    )
