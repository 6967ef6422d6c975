"""What if: the farm with something changed, solved again and set beside the farm as it stands.

Plans are compared as the cheapest, to which the proof belongs, before they are made fit to mix:
what tidiness costs differs a little from plan to plan and would hide a small change. Where only
prices or stores change, the winter as it stands is kept open and answers (again.py).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from rationlp.ask.again import PLAIN, WarmWinter, alike
from rationlp.ask.batch import answer_all
from rationlp.ask.outcome import Outcome, outcome_of_group, outcome_of_plan
from rationlp.ask.scenarios import Scenario, typed_scenarios
from rationlp.errors import Finding, InputError, refused
from rationlp.farm.farm import Farm
from rationlp.farm.group_names import group_ids, no_such_groups
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import expanded, farm_on
from rationlp.read.changed import Begun, ChangedFarm, begin, changed
from rationlp.records import dataclass
from rationlp.wintering.plan import solve_winter

AS_IT_STANDS = "as it stands"
A_WINTER = 50
"""Questions that one winter kept open answers, one after the other; more are shared out."""


@dataclass(frozen=True)
class Question:
    """A farm to be solved. groups: whose ration on `day`; None for the plan of the winter."""

    name: str
    changed: ChangedFarm | None
    groups: tuple[str, ...] | None
    day: date | None
    refused: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class WhatIf:
    """The farm as it stands, and beside it the outcomes of every scenario (and group)."""

    farm: Farm
    now: tuple[Outcome, ...]
    outcomes: tuple[Outcome, ...]

    def before(self, outcome: Outcome) -> Outcome:
        """What an outcome is compared with."""
        return next(outcome_now for outcome_now in self.now if outcome_now.group == outcome.group)


@dataclass(frozen=True)
class Scope:
    """groups: whose ration on a day, None for the whole winter. workers: processes."""

    groups: tuple[str, ...] | None = None
    day: date | None = None
    workers: int | None = None
    said: Callable[[int, int], None] | None = None


def what_if(
    begun: Begun, scenarios: Sequence[Scenario], asked: Scope | None = None, lenient: bool = False
) -> WhatIf:
    """The farm as it stands and under every scenario, solved and set side by side.

    lenient: a scenario whose changed farm has faults is a row that says so, as ready-made ones
    always are; otherwise InputError with everything that is wrong in any of them. A scenario
    without an answer is a row that says so either way.
    """
    question = asked or Scope()
    if question.groups is not None:
        # An unknown group is a fault of the question, not of a scenario.
        question = replace(question, groups=groups_of_farm(begun.farm, question.groups))
    if not scenarios:
        remedy = "give --set path=value, --scenarios FILE or --stress"
        raise refused("IN532", "whatif", "nothing is changed", remedy)
    questions = [_question(AS_IT_STANDS, ChangedFarm(begun.farm, begun.stocks), question)]
    findings: list[Finding] = []
    for scenario in scenarios:
        try:
            questions.append(_question(scenario.name, changed(begun, scenario.changes), question))
        except InputError as trouble:
            if not scenario.ready:
                findings += trouble.findings
            questions.append(
                Question(scenario.name, None, question.groups, question.day, trouble.findings)
            )
    if findings and not lenient:
        raise InputError(dict.fromkeys(findings))
    answers = _answers(questions, question)
    return WhatIf(
        begun.farm, answers[0], tuple(outcome for answer in answers[1:] for outcome in answer)
    )


def what_if_farm(folder: Path, changes: Sequence[str]) -> WhatIf:
    """`what_if` of one farm folder, with changes as typed (`path=value`, ranges too), one scenario
    after the other.

    A plain function of one farm, to be mapped over many by any engine. Raises InputError for a farm
    with faults and for what is no change; a scenario that this farm cannot hold is a row that says
    so.
    """
    return what_if(
        begin(folder), typed_scenarios(changes, many=True), Scope(workers=1), lenient=True
    )


def _answers(questions: Sequence[Question], asked: Scope) -> tuple[tuple[Outcome, ...], ...]:
    """The answers in the order of the questions. The winter as it stands, the first of them, is
    kept open: where only prices or amounts in store changed it answers too, side by side where they
    are many; all others are planned from the beginning, over all cores.
    """

    told = 0

    def tell(count: int) -> None:
        nonlocal told
        if asked.said is not None and count > told:
            told = count
            asked.said(count, len(questions))

    known: dict[int, tuple[Outcome, ...]] = {}
    if asked.groups is None:
        for number, outcomes in _of_open_winters(questions, asked.workers, tell):
            known[number] = outcomes
            tell(len(known))
    rest = [number for number in range(len(questions)) if number not in known]
    others = [questions[number] for number in rest]

    def progress(count: int, _: int) -> None:
        tell(len(known) + count)

    planned = answer_all(answer_question, others, asked.workers, progress)
    known |= zip(rest, planned, strict=True)
    return tuple(known[number] for number in range(len(questions)))


def _of_open_winters(
    questions: Sequence[Question], workers: int | None, tell: Callable[[int], None]
) -> Iterator[tuple[int, tuple[Outcome, ...]]]:
    """Number of the question and answer, of those that the winter as it stands can give. What it
    answers depends on what it was asked before, so how many questions one of them answers does not
    depend on how many cores there are.
    """
    now = questions[0].changed
    assert now is not None
    near = [
        number
        for number, question in enumerate(questions)
        if number and question.changed is not None and alike(now, question.changed)
    ]
    parts = [[0, *near[first : first + A_WINTER]] for first in range(0, len(near), A_WINTER)]
    opened = [[questions[number] for number in part] for part in parts]
    if len(parts) == 1:
        answers: Iterable[Iterable[tuple[Outcome, ...] | None]] = map(_in_turn, opened)
    else:
        answers = answer_all(
            of_open_winter, opened, workers, lambda count, _: tell(count * A_WINTER), worth_it=2
        )
    for part, given in zip(parts, answers, strict=True):
        for number, outcomes in zip(part, given, strict=True):
            if outcomes is not None:
                yield number, outcomes


def of_open_winter(questions: Sequence[Question]) -> tuple[tuple[Outcome, ...] | None, ...]:
    """The answers of a winter kept open, all at once: a pure function, for any process."""
    return tuple(_in_turn(questions))


def _in_turn(questions: Sequence[Question]) -> Iterator[tuple[Outcome, ...] | None]:
    """The answers of the first question's winter, kept open; None for what it cannot answer."""
    now = questions[0].changed
    assert now is not None
    try:
        winter = WarmWinter(now.farm, now.stocks)
    except InputError:
        yield from (None for _ in questions)
        return
    for number, question in enumerate(questions):
        assert question.changed is not None
        plan = winter.after(question.changed) if number else winter.plan
        yield None if plan is None else (outcome_of_plan(question.name, plan),)


def _question(name: str, farm: ChangedFarm, question: Scope) -> Question:
    groups_of_farm(farm.farm, question.groups or ())
    return Question(name, farm, question.groups, question.day)


def groups_of_farm(farm: Farm, words: Collection[str]) -> tuple[str, ...]:
    """Ids of groups by id or name. Raises InputError (IN501) for one that the farm lacks."""
    ids = group_ids(farm.groups, words)
    if findings := no_such_groups(farm.groups, ids):
        raise InputError(findings)
    return tuple(ids)


def answer_question(question: Question) -> tuple[Outcome, ...]:
    """The outcomes of one question: a pure function of it, so that any process may answer it."""
    if question.changed is None:
        faults = "; ".join(f"{finding.where}: {finding.found}" for finding in question.refused)
        return tuple(
            Outcome(question.name, group, "refused", short=faults)
            for group in question.groups or ("",)
        )
    if question.groups is None:
        return (_of_winter(question.name, question.changed),)
    try:
        today = farm_on(question.changed.farm, question.day)
        rations = solve_rations(today, expanded(replace(today), question.groups))
    except InputError as trouble:
        refused = replace(question, changed=None, refused=trouble.findings)
        return answer_question(refused)
    return tuple(outcome_of_group(question.name, group, today) for group in rations.groups)


def _of_winter(name: str, farm: ChangedFarm) -> Outcome:
    try:
        plan = solve_winter(farm.farm, PLAIN, farm.stocks)
    except InputError as trouble:
        faults = "; ".join(f"{finding.where}: {finding.found}" for finding in trouble.findings)
        return Outcome(name, "", "refused", short=faults, turnout=farm.farm.turnout)
    return outcome_of_plan(name, plan)
