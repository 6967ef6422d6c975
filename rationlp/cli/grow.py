"""`rationlp grow`: how many hectares of each forage the herd needs next year."""

from __future__ import annotations

from rationlp.ask.grow import USUAL_RESERVE, NextYear, grow, storing_figures
from rationlp.cli.options import Options
from rationlp.farm.farm import Farm
from rationlp.report.answers.asked import GrowAnswer
from rationlp.report.stories.asked import grow_story
from rationlp.report.story import Story


def solve(read: Farm, options: Options) -> NextYear:
    """What to grow for the next winter."""
    return grow(read, USUAL_RESERVE if options.reserve is None else options.reserve)


def story(solved: NextYear, options: Options) -> Story:
    """What to grow as a story."""
    storing = storing_figures()
    return grow_story(solved, storing).of(lambda: GrowAnswer(solved, storing))
