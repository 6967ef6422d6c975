"""`rationlp promise`: what less methane, nitrogen, soya or bought concentrate costs."""

from __future__ import annotations

from rationlp.ask.measures import measures_named, promises_typed
from rationlp.ask.promise import Promises, price_of_promises
from rationlp.ask.promise_winter import WinterPromise, winter_promises
from rationlp.cli.days import farm_on_day
from rationlp.cli.options import Options
from rationlp.farm.farm import Farm
from rationlp.needs.calendar import expanded
from rationlp.records import dataclass
from rationlp.report.html import WITHOUT_HTML, refuse_without
from rationlp.report.stories.promise import promise_story, winter_promise_story
from rationlp.report.story import Story


@dataclass(frozen=True)
class Solved:
    """The price of promises of groups on a day, or of the winter."""

    day: Promises | None = None
    winter: WinterPromise | None = None


def faults(options: Options) -> None:
    """Refuse a page that cannot be made."""
    if options.html is not None:
        refuse_without(("jinja2",), "--html", WITHOUT_HTML)


def solve(read: Farm, options: Options) -> Solved:
    """The price of what is asked about; with promises alone only these are worked out."""
    promises = promises_typed(options.most)
    measures = measures_named(options.less)
    if promises and not options.less:
        measures = tuple(promise.measure for promise in promises)
    if options.winter:
        return Solved(winter=winter_promises(read, options.group or None, measures, promises))
    today = farm_on_day(read, options.on)
    groups = expanded(today, options.group)
    return Solved(price_of_promises(today, groups, measures, promises))


def story(solved: Solved, options: Options) -> Story:
    """The price of promises as a story."""
    day, winter = solved.day, solved.winter
    if winter is not None:
        return winter_promise_story(winter).of(lambda: winter)
    assert day is not None
    return promise_story(day).of(lambda: day)
