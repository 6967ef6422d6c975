"""`rationlp guide`: the pages of the guide, one a topic."""

from __future__ import annotations

import csv
from pathlib import Path

from rationlp.cli.options import Options
from rationlp.errors import nearest_or, refused
from rationlp.report.terminal import show

GUIDE = Path(__file__).resolve().parent.parent / "guide"


def topics() -> dict[str, str]:
    """The title of each page by its topic, in reading order."""
    return {row["topic"]: row["title"] for row in _rows("topics.csv")}


def questions() -> list[dict[str, str]]:
    """Questions of a winter: `question`, the `command` for it, the `topic` of its page."""
    return _rows("questions.csv")


def _rows(name: str) -> list[dict[str, str]]:
    with (GUIDE / name).open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def say(options: Options) -> None:
    """Print a page of the guide, or the list of its pages and of the questions that they answer."""
    topic = options.topic
    known = topics()
    if topic is None:
        show(_contents(known))
    elif topic.lower() in known:
        show((GUIDE / f"{topic.lower()}.md").read_text(encoding="utf-8").rstrip("\n"))
    else:
        raise _unknown(topic, list(known))


def _contents(known: dict[str, str]) -> str:
    width = max(map(len, known))
    pages = [f"{topic.ljust(width)}  {title}" for topic, title in known.items()]
    question_lines = [
        f"- {row['question']}\n    rationlp {row['command']}  (page {row['topic']})"
        for row in questions()
    ]
    return "\n".join(
        [
            "Pages (rationlp guide TOPIC):",
            *pages,
            "",
            "Questions and what answers them:",
            *question_lines,
        ]
    )


def _unknown(topic: str, known: list[str]) -> Exception:
    remedy = nearest_or(topic, known, 'see "rationlp guide" for all pages')
    return refused("IN608", f'topic "{topic}"', "the guide has no such page", remedy)
