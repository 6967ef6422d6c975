"""The few questions that make an example farm one's own: sizes of stores, head and weights."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from rationlp.errors import refused
from rationlp.folders import examples_folder
from rationlp.named import plain
from rationlp.read.folder import raw_tables
from rationlp.read.stores import KINDS
from rationlp.read.template import LEFT_OUT, LIKE
from rationlp.records import dataclass

KEEP = ""
"""The answer that keeps what the example has."""
_WORDS = {
    "farm.name": "Name of the farm",
    "winter.start": "First day of winter feeding",
    "winter.turnout": "Turnout",
}
_OF_BALES = ("count", "weight_kg")


@dataclass(frozen=True)
class FirstQuestion:
    """One question: the path that its answer sets, its words, and what the example has. about: the
    store or group that it is about, "" for the farm and its winter.
    """

    path: str
    words: str
    present: Any
    about: str = ""

    def __str__(self) -> str:
        return f"{self.about}: {self.words}" if self.about else self.words


def example_like(word: str) -> str:
    """The example that a word for a farm means. Raises InputError (PA141) for another word."""
    for like, example in LIKE.items():
        if plain(like) == plain(word) or plain(example) == plain(word):
            return example
    choices = ", ".join(LIKE)
    raise refused("PA141", "--like", f'no farm to begin with is like "{word}"', f"use {choices}")


def left_out(word: str | None) -> tuple[str, ...]:
    """What a farm to begin with does without, as changes of its example: a flock has no cattle."""
    words = (like for like in LEFT_OUT if word is not None and plain(like) == plain(word))
    return tuple(f"{name}=none" for like in words for name in LEFT_OUT[like])


def first_questions(example: str) -> Iterator[FirstQuestion]:
    """The questions about an example farm: its name, its winter, its stores and its groups."""
    raw, _ = raw_tables(examples_folder() / example)
    for path, words in _WORDS.items():
        table, key = path.split(".")
        yield FirstQuestion(path, words, raw[table][key])
    for store in raw.get("stores", []):
        yield from store_questions(store)
    for group in raw["groups"]:
        yield from group_questions(group)


def store_questions(store: Mapping[str, Any]) -> Iterator[FirstQuestion]:
    """The questions about the sizes of one store of an example."""
    sizes = {size.key: size for size in KINDS[store["kind"]]}
    asked_sizes = [size for size in sizes.values() if size.required or size.key in _OF_BALES]
    if store["kind"] == "plain":
        asked_sizes = [sizes["amount_t_fresh"]]
    for size in asked_sizes:
        path, name = f"{store['id']}.{size.key}", store.get("name", store["id"])
        if size.key in store:
            yield FirstQuestion(path, size.words, store[size.key], name)


def group_questions(group: Mapping[str, Any]) -> Iterator[FirstQuestion]:
    """The questions about the head and the weight of one group of an example."""
    name = group.get("name", group["id"])
    yield FirstQuestion(f"{group['id']}.head", "head", group["head"], name)
    if "live_weight_kg" in group:
        path, weight = f"{group['id']}.live_weight_kg", group["live_weight_kg"]
        yield FirstQuestion(path, "live weight in kg", weight, name)


def example_folder(example: str) -> Path:
    """The folder of an example farm."""
    return examples_folder() / example


def setting(question: FirstQuestion, answer: str) -> str | None:
    """An answer as a change; none (the word) for any size or head takes the whole entry out."""
    text = answer.strip()
    if text == KEEP:
        return None
    if text.casefold() == "none":
        return f"{question.path.partition('.')[0]}=none"
    if isinstance(question.present, str):
        return f'{question.path}="{text}"'
    return f"{question.path}={text.replace(',', '.')}"
