"""`rationlp guide`: the pages of the guide, one a topic."""

from __future__ import annotations

from pathlib import Path

from rationlp.cli.options import Options
from rationlp.errors import nearest_or, refused
from rationlp.folders import rows_of
from rationlp.report.terminal import show

GUIDE = Path(__file__).resolve().parent.parent / "guide"


def topics() -> dict[str, str]:
    """The title of each page by its topic, in reading order."""
    return {row["topic"]: row["title"] for row in rows_of(GUIDE / "topics.csv")}


def questions() -> list[dict[str, str]]:
    """Questions of a winter: `question`, the `command` for it, the `topic` of its page."""
    return rows_of(GUIDE / "questions.csv")


def say(options: Options) -> None:
    """Print a page of the guide, or the list of its pages and of the questions that they answer."""
    topic = options.topic
    known = topics()
    if topic is None:
        show(_contents(known))
    elif topic.lower() in known:
        show((GUIDE / f"{topic.lower()}.md").read_text(encoding="utf-8").rstrip("\n"))
    else:
        remedy = nearest_or(topic, known, 'see "rationlp guide" for all pages')
        raise refused("IN608", f'topic "{topic}"', "the guide has no such page", remedy)


def _contents(known: dict[str, str]) -> str:
    width = max(map(len, known))
    pages = [f"{topic.ljust(width)}  {title}" for topic, title in known.items()]
    question_lines = [
        f"- {row['question']}\n    rationlp {row['command']}  (page {row['topic']})"
        for row in questions()
    ]
    headed = ["Pages (rationlp guide TOPIC):", *pages, "", "Questions and what answers them:"]
    return "\n".join([*headed, *question_lines])
