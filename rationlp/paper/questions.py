"""What a paper leaves open: questions with their choices, and the answers given ahead."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rationlp.errors import Finding
from rationlp.named import plain
from rationlp.records import dataclass

NONE = "none"
"""The answer that leaves a figure, sample or line out."""


@dataclass(frozen=True)
class Question:
    """One thing to be asked. key: what `--answer KEY=WORD` calls it; place: the line it is about;
    asks: the question; choices: words with what each means; free: a number or date may be given.
    """

    key: str
    place: str
    asks: str
    choices: tuple[tuple[str, str], ...]
    free: bool = False

    def finding(self) -> Finding:
        """The question as an error, for whoever cannot be asked."""
        readings = "; ".join(
            f"{word} ({means})".removesuffix(" ()") for word, means in self.choices
        )
        first = next((word for word, _ in self.choices), "NUMBER")
        remedy = f'answer ahead with --answer "{self.key}={first}"'
        if len(self.choices) > 1:
            remedy += f", or ={self.choices[1][0]}"
        return Finding("PA110", self.place, f"{self.asks} {readings}".strip(), remedy)


class Answers:
    """Answers by key, whatever their capitals, and the questions that are still open."""

    def __init__(self, stated: Mapping[str, str]) -> None:
        self._stated = {plain(key): word.strip() for key, word in stated.items()}
        self.open: list[Question] = []
        self.wrong: list[Finding] = []

    def stated(self, key: str) -> str | None:
        """The answer to a question of this key; None where none was given."""
        return self._stated.get(plain(key))

    def choice(
        self, key: str, place: str, asks: str, choices: Iterable[tuple[str, str]]
    ) -> str | None:
        """The word chosen; None, with the question remembered, where none was given yet."""
        question = Question(key, place, asks, tuple(choices))
        word = self.stated(key)
        if word is None:
            self._ask(question)
            return None
        for known, _ in question.choices:
            if plain(known) == plain(word):
                return known
        remedy = f"answer with one of {', '.join(known for known, _ in question.choices)}"
        self.wrong.append(Finding("PA113", f"answer {key}", f'"{word}" is no answer', remedy))
        return None

    def number(self, key: str, place: str, asks: str, low: float, high: float) -> float | None:
        """The number given; None, with the question remembered, where none was given yet."""
        word = self.stated(key)
        if word is None:
            self._ask(Question(key, place, asks, (), True))
            return None
        try:
            value = float(word.replace(",", "."))
        except ValueError:
            value = float("nan")
        if low <= value <= high:
            return value
        remedy = f"give a number from {low:g} to {high:g}"
        self.wrong.append(Finding("PA113", f"answer {key}", f'"{word}" is no answer', remedy))
        return None

    def _ask(self, question: Question) -> None:
        if question.key not in [question_open.key for question_open in self.open]:
            self.open.append(question)
