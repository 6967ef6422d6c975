"""`rationlp grow`: how many hectares of each forage the herd needs next year."""

from __future__ import annotations

from rationlp.ask.grow import USUAL_RESERVE, NextYear, grow, storing_figures
from rationlp.cli.options import Given
from rationlp.farm.farm import Farm
from rationlp.report.answers.asked import GrowAnswer
from rationlp.report.json_answer import document
from rationlp.report.stories.asked import grow_story
from rationlp.report.story import Story


def solve(read: Farm, given: Given) -> NextYear:
    """What to grow for the next winter."""
    return grow(read, USUAL_RESERVE if given.reserve is None else given.reserve)


def story(solved: NextYear, given: Given) -> Story:
    """What to grow as a story."""
    return grow_story(solved, lambda: document("grow", GrowAnswer(solved, storing_figures())))
