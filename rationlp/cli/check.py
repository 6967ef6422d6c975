"""`rationlp check`: have I enough, before any plan; with --full everything as it was read."""

from __future__ import annotations

from rationlp.after.farm_facts import farm_facts
from rationlp.ask.held import ForageBalance, held_against_appetite
from rationlp.cli.options import Options
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.records import dataclass
from rationlp.report.answers.farm import CheckAnswer
from rationlp.report.stories.farm import farm_story
from rationlp.report.story import Story


@dataclass(frozen=True)
class Solved:
    """A farm, and its stores against what would be eaten; None and why if it cannot tell."""

    farm: Farm
    held: ForageBalance | None
    trouble: str = ""


def solve(read: Farm, options: Options) -> Solved:
    """What is held against what would be eaten."""
    try:
        return Solved(read, held_against_appetite(read))
    except InputError as trouble:
        first = trouble.findings[0]
        why = f"{first.where}: {first.found} ({first.remedy})"
        return Solved(read, None, f"Have I enough? Not worked out: {why}.")


def notices(read: Farm, solved: Solved) -> tuple[Finding, ...]:
    """What was noticed stands in the answer itself."""
    return ()


def story(solved: Solved, options: Options) -> Story:
    """The farm as read, as a story."""
    facts, forage = farm_facts(solved.farm), solved.held
    told = farm_story(facts, forage, solved.trouble, bool(options.figures))
    return told.of(lambda: CheckAnswer(facts.farm, facts.called_for, facts.stocks, forage))
