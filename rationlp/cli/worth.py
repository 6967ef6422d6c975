"""`rationlp worth`: the price at which a feed comes in or goes out; a tonne in store."""

from __future__ import annotations

from rationlp.ask.worth import Worth, WorthOptions, worth
from rationlp.cli.days import farm_on_day
from rationlp.cli.options import Options
from rationlp.farm.farm import Farm
from rationlp.needs.calendar import expanded
from rationlp.report.stories.asked import worth_story
from rationlp.report.story import Story


def solve(read: Farm, given: Options) -> Worth:
    """What feeds and stores are worth."""
    today = farm_on_day(read, given.on)
    groups = expanded(today, given.group)
    feeds, winter = tuple(given.feed or ()), not given.group
    options = WorthOptions(feeds, groups, given.energy, given.protein, given.lot, winter=winter)
    return worth(read, today, options)


def story(solved: Worth, options: Options) -> Story:
    """The worth of feeds as a story."""
    return worth_story(solved).of(lambda: solved)
