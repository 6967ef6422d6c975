"""By which standard of needs an answer was worked out, said where it is not AFRC (1993) for all."""

from __future__ import annotations

from dataclasses import replace

from rationlp.after.standards_used import StandardsUsed
from rationlp.needs.standards import STANDARDS, TITLES
from rationlp.report.story import Story, Words, always


def standards_line(used: StandardsUsed) -> str:
    """The standard of all groups, or the groups of each, in words."""
    told = [f"By {TITLES[name]}: {'; '.join(groups)}." for name, groups in used.groups.items()]
    if len(told) == 1:
        told = [f"By {TITLES[name]}." for name in used.groups]
    told += [f"{TITLES[name]} is for {STANDARDS[name].offered_for} only." for name in used.not_held]
    return f"Needs {' '.join(told).replace('By', 'by', 1)}"


def with_standards(story: Story, used: StandardsUsed | None) -> Story:
    """The same story with that sentence as its last, once."""
    if used is None:
        return story
    words = Words((standards_line(used),), what="standards", about="the farm")
    if any(part.content == words for part in story.parts):
        return story
    return replace(story, parts=(*story.parts, *always(words)))
