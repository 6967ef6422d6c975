"""A story as the whole text that `--full` prints, for tests of what it says."""

from __future__ import annotations

from rationlp.report.story import Story
from rationlp.report.terminal import story_text


def told(story: Story, width: int = 100, drawn: bool = False) -> str:
    """All of a story as text of so many columns; drawn: with its charts."""
    return story_text(story, width, full=True, drawn=drawn)
