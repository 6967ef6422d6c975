"""`rationlp sure`: how sure a winter or a ration is when figures are out."""

from __future__ import annotations

from typing import Any

from rationlp.ask.robust import SureAsked, SureGroup, sure_rations
from rationlp.ask.sure import DrawsAsked, WinterSureness, winter_sureness
from rationlp.ask.whatif import groups_of_farm
from rationlp.cli.days import farm_on_day
from rationlp.cli.options import Options
from rationlp.cli.run import progress
from rationlp.farm.farm import Farm
from rationlp.records import dataclass
from rationlp.report.answers.asked import SureAnswer
from rationlp.report.stories.asked import sure_story, sureness_story
from rationlp.report.story import Story
from rationlp.rules.spreads import SpreadRow, spreads_with

USUAL_CHANCE = 0.9
USUAL_DRAWS = 40


@dataclass(frozen=True)
class Solved:
    """Rations of groups that meet their needs with a chance, or the winter in trial winters."""

    farm: Farm
    spreads: dict[str, SpreadRow]
    groups: tuple[SureGroup, ...] = ()
    winter: WinterSureness | None = None


def solve(begun: Any, options: Options) -> Solved:
    """The draws. begun: a farm that may be changed."""
    farm, spreads = begun.farm, dict(spreads_with(options.spread or ()))
    if not options.group:
        draws = USUAL_DRAWS if options.draws is None else options.draws
        hold, workers = options.hold_plan, options.cores
        question = DrawsAsked(draws, options.seed, spreads, hold, workers, progress)
        return Solved(farm, spreads, winter=winter_sureness(begun, question))
    groups = groups_of_farm(farm, options.group)
    day = None
    if options.on is not None:
        day = farm_on_day(farm, options.on).day
    chance = USUAL_CHANCE if options.chance is None else options.chance
    sure = sure_rations(farm, groups, SureAsked(chance, spreads, day, options.seed))
    return Solved(farm, spreads, tuple(sure))


def story(solved: Solved, options: Options) -> Story:
    """How sure it is, as a story."""
    winter, farm = solved.winter, solved.farm
    if winter is not None:
        return sureness_story(winter).of(lambda: winter)
    answer = SureAnswer(farm, solved.groups, tuple(solved.spreads.values()))
    return sure_story(solved.groups, farm.currency).of(lambda: answer)
