"""The story of needs: step by step, beside other standards, or through the winter."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from rationlp.needs.compare import Opinion
from rationlp.needs.objects import GroupNeeds, Step
from rationlp.needs.winter import WinterStep
from rationlp.quantities import Quantity
from rationlp.report.stories.ration import of_group
from rationlp.report.story import Part, Story, Words, always, brief, full, in_workbook, on_screen
from rationlp.report.tables.needs import (
    compare_table,
    energy_table,
    limits_table,
    main_needs_table,
    minerals_table,
    needs_table,
    net_note,
    spread,
    winter_needs_table,
)
from rationlp.report.tables.trace import working_table


def needs_story(
    needs: Iterable[GroupNeeds],
    own: Mapping[str, Quantity] | None = None,
    working: Mapping[str, Sequence[Step]] | None = None,
) -> Story:
    """The story of `needs`. own: quantities that the farm declared. working: by group id, the steps
    from net energy to ME, where they were asked for.
    """
    every = tuple(needs)
    parts: list[Part] = [
        *brief(main_needs_table(every), Words(net_note(every))),
        *in_workbook(needs_table(every)),
    ]
    for group in every:
        parts += on_screen(full(needs_table(group)))
        if working is not None:
            parts += on_screen(always(working_table(group, working[group.group])))
        tables = energy_table(group), minerals_table(group), limits_table(group, own)
        parts += full(*(of_group(group.group, table) for table in tables))
        parts += full(Words(group.remarks, "", True, "remark", group.group))
    return Story(
        "needs",
        tuple(parts),
        lambda: needs_table(every),
        hint="Every step with its equation and source, minerals and limits on the diet: `--full`.",
    )


def compared_story(
    opinions: Mapping[str, tuple[Opinion, ...]], needs: Sequence[GroupNeeds]
) -> Story:
    """The story of `needs --compare`: what other published standards ask for beside ours."""
    parts: list[Part] = []
    for group in needs:
        line = f"{group.group} states its own needs: there is nothing to set beside them."
        if opinions[group.group]:
            line = f"{group.group}: {spread(opinions[group.group])}"
        parts += on_screen(always(Words((line,))))
        parts += on_screen(full(compare_table(opinions, (group,))))
    parts += in_workbook(compare_table(opinions, tuple(needs)))
    return Story(
        "needs",
        tuple(parts),
        lambda: compare_table(opinions, tuple(needs)),
        hint="Figure by figure, with equations and sources: `--full`.",
    )


def winter_needs_story(steps: Sequence[WinterStep], days: tuple[Any, Any]) -> Story:
    """The story of `needs --over-winter`. days: first day and turnout."""
    table = winter_needs_table(steps)
    parts = (*brief(winter_needs_table(_ends(steps))), *full(table))
    hint = "Every step of the calendar: `--full`."
    return Story("needs", parts, lambda: table, days=days, hint=hint)


def _ends(steps: Sequence[WinterStep]) -> list[WinterStep]:
    """The first and the last step of each group."""
    groups: dict[str, list[WinterStep]] = {}
    for step in steps:
        groups.setdefault(step.group.id, []).append(step)
    return [step for days in groups.values() for step in (days[0], *days[1:][-1:])]
