"""The same winter gives the same bytes whatever solved it: on one core and on two, the first time
and again, alone and after other winters, with presolve and without.

Random winters of every kind with all that may tie them. RATIONLP_FULL=1 asks two hundred, plain
pytest a few. A failure names kind and seed.
"""

from __future__ import annotations

import os
from typing import Any

import pytest
from random_winters import KINDS
from tied_winters import told_plan

from rationlp.ask.batch import answer_all
from rationlp.model.lp import Program
from rationlp.model.solve import LiveModel
from rationlp.wintering import search

FULL = os.environ.get("RATIONLP_FULL") == "1"
WINTERS = [(kind, seed) for kind in KINDS for seed in range(67 if FULL else 2)]
FACED = [("cattle", 26), ("sheep", 3)]


def test_one_core_and_two_give_the_same_bytes() -> None:
    """Two processes that share the winters out, in whatever order they come, and this one."""
    winters = [*WINTERS, *FACED]
    alone = answer_all(told_plan, winters, workers=1)
    side_by_side = answer_all(told_plan, winters[::-1], workers=2)
    assert alone == side_by_side[::-1]
    assert sum('"proof": {' in text for text in alone) >= len(winters) // 3


def without_presolve(monkeypatch: pytest.MonkeyPatch) -> None:
    """No programme is made smaller before it is solved."""
    plain = LiveModel.__init__

    def never(self: LiveModel, program: Program, *args: Any, **named: Any) -> None:
        named["presolve"] = False
        plain(self, program, *args, **named)

    monkeypatch.setattr(LiveModel, "__init__", never)


@pytest.mark.parametrize(("kind", "seed"), [*WINTERS, *FACED])
@pytest.mark.parametrize("large", [False, True])
def test_presolve_or_not_gives_the_same_bytes(
    kind: str, seed: int, large: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The whole answer, by one programme and by prices on the links."""
    if large:
        monkeypatch.setattr(search, "LARGE", 1)
    one = told_plan((kind, seed))
    without_presolve(monkeypatch)
    assert told_plan((kind, seed)) == one
