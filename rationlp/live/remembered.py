"""Answers that came, remembered for going back to them and for standing behind another one."""

from __future__ import annotations

from typing import Any

from rationlp.live.phases import SETTLED
from rationlp.records import dataclass

Json = dict[str, Any]
MOST = 12
"""Answers of a kind that are remembered."""


@dataclass(frozen=True)
class Known:
    """An answer, how far it has come, and its plan where it is the command's own."""

    answer: Json
    phase: str
    plan: Any


class Remembered:
    """Answers by what they are of: the newest settled ones, and the newest of the command."""

    def __init__(self) -> None:
        self._settled: dict[Any, Known] = {}
        self._final: dict[Any, Known] = {}

    def keep(self, key: Any, known: Known, base: Any) -> None:
        """Remember an answer. base: what the farm is without anything tried, never forgotten."""
        kind = self._settled if known.phase == SETTLED else self._final
        kind[key] = known
        for old in [one for one in kind if one not in (key, base)][: max(len(kind) - MOST, 0)]:
            del kind[old]

    def final(self, key: Any) -> Known | None:
        """The command's answer, where it came."""
        return self._final.get(key)

    def beside(self, key: Any, phase: str) -> Json | None:
        """The answer to set beside another one that has come so far: one that came as far, else
        one that came further, else a settled one.
        """
        settled, final = self._settled.get(key), self._final.get(key)
        if phase == SETTLED and settled is not None:
            return settled.answer
        known = final or settled
        return None if known is None else known.answer

    def clear(self) -> None:
        """Forget all."""
        self._settled.clear()
        self._final.clear()
