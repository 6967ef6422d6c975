"""Tables of what-if: every scenario beside the farm as it stands."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from rationlp.ask.whatif import Outcome, WhatIf
from rationlp.report.tables.table import Column, Table

CHEAPEST = (
    "Costs are those of the cheapest plan, before it is made practical to weigh: "
    "what that adds differs a little from plan to plan."
)
_SAID = {
    "none_exists": "no ration exists",
    "none_found": "no ration was found",
    "refused": "cannot be",
    "open": "not proved",
}


def _names(answer: WhatIf) -> dict[str, str]:
    return {offer.id: offer.name for offer in answer.farm.offers}


def _all(answer: WhatIf) -> Iterator[tuple[Outcome, Outcome]]:
    """Every outcome with what it is compared with, the farm as it stands first."""
    for outcome in answer.now:
        yield outcome, outcome
    for outcome in answer.outcomes:
        yield outcome, answer.before(outcome)


def _of_groups(answer: WhatIf) -> bool:
    return any(outcome.group for outcome in answer.now)


def _answered(outcome: Outcome) -> str:
    reason = _SAID.get(outcome.status, "")
    if reason and outcome.short:
        return f"{reason}: {outcome.short}"
    return reason


def scenarios_table(answer: WhatIf) -> Table:
    """One row a scenario (and group): cost, difference, bought feed, what came in and went out."""
    currency, names, groups = answer.farm.currency, _names(answer), _of_groups(answer)
    decimals = 2 if groups else 0
    unit = f"{currency} a day" if groups else currency
    amount = "kg fresh" if groups else "t fresh"
    columns = (
        Column("scenario", "Scenario"),
        *((Column("group", "Group"),) if groups else ()),
        Column("cost", "Cost", unit, decimals, "right"),
        Column("more_than_now", "More than now", unit, decimals, "right"),
        Column("bought_cost", "Of it bought", unit, decimals, "right"),
        Column("bought_fresh", "Bought", amount, 1, "right", full=True),
        Column("came_in", "Comes in", full=True),
        Column("went_out", "Goes out", full=True),
        Column("answer", "Answer"),
    )
    rows = []
    for outcome, before in _all(answer):
        bought = None
        if outcome.cost is not None:
            bought = sum(amount for name, amount in outcome.fed.items() if name in outcome.bought)
        extra = (
            None
            if outcome.cost is None or before.cost is None or outcome is before
            else outcome.cost - before.cost
        )
        both = outcome.cost is not None and before.cost is not None
        rows.append(
            (
                outcome.name,
                *((outcome.group,) if groups else ()),
                outcome.cost,
                extra,
                outcome.bought_cost,
                bought,
                ", ".join(names[name] for name in outcome.came_in(before)) if both else "",
                ", ".join(names[name] for name in outcome.went_out(before)) if both else "",
                _answered(outcome),
            )
        )
    what = "the whole winter"
    if groups:
        what = "a head a day"
    notes = () if groups else (CHEAPEST,)
    return Table("scenarios", f"What if: {what}", columns, tuple(rows), notes)


def fed_table(answer: WhatIf) -> Table:
    """Feeds across, scenarios down: t fresh over the winter, or kg fresh a head a day. Blank: not
    fed.
    """
    groups = _of_groups(answer)
    every = [outcome for outcome, _ in _all(answer)]
    fed = [
        offer for offer in answer.farm.offers if any(offer.id in outcome.fed for outcome in every)
    ]
    columns = (
        Column("scenario", "Scenario"),
        *((Column("group", "Group"),) if groups else ()),
        *(
            Column(offer.id, offer.name, "kg" if groups else "t", 2 if groups else 1, "right")
            for offer in fed
        ),
    )
    rows = tuple(
        (
            outcome.name,
            *((outcome.group,) if groups else ()),
            *(outcome.fed.get(offer.id) for offer in fed),
        )
        for outcome in every
    )
    title = "What leaves the stores or is bought, t fresh"
    if groups:
        title = "What is fed, kg fresh a head a day"
    return Table("fed", title, columns, rows)


def run_outs_table(answer: WhatIf) -> Table:
    """Stores across, scenarios down: the day on which each store is used up, blank where it lasts a
    year. Winter only.
    """
    names = _names(answer)
    stores = [store.id for store in answer.farm.stores]
    columns = (
        Column("scenario", "Scenario"),
        Column("turnout", "Turnout"),
        *(Column(name, names.get(name, name)) for name in stores),
    )
    rows = tuple(
        (outcome.name, _day(outcome.turnout), *(_run_out(outcome, name) for name in stores))
        for outcome, _ in _all(answer)
        if outcome.runs_out
    )
    notes = (
        (
            "The plan shares each store out so that it lasts; a day after turnout is at the use of"
            " the last period."
        ),
    )
    return Table("run_outs", "When each store is used up", columns, rows, notes)


def _day(day: date | None) -> str:
    return "" if day is None else day.isoformat()


def _run_out(outcome: Outcome, store: str) -> str:
    if store not in outcome.fed:
        return "not used"
    return _day(outcome.runs_out.get(store)) or "lasts"


def headline(answer: WhatIf) -> str:
    """What a person wants to know first: the dearest and the cheapest of the scenarios, and those
    without an answer.
    """
    priced = [
        (outcome.cost - before.cost, outcome)
        for outcome in answer.outcomes
        if outcome.cost is not None and (before := answer.before(outcome)).cost is not None
    ]
    lost = [outcome for outcome in answer.outcomes if outcome.cost is None]
    unit = "over the winter"
    if _of_groups(answer):
        unit = "a head a day"
    decimals = 2 if _of_groups(answer) else 0
    sentences = []
    if priced:
        ends = {
            max(priced, key=lambda pair: pair[0])[1].name: max(priced, key=lambda pair: pair[0])
        }
        cheapest = min(priced, key=lambda pair: pair[0])
        ends.setdefault(cheapest[1].name, cheapest)
        for extra, scenario in ends.values():
            amount = f"{answer.farm.currency} {abs(extra):,.{decimals}f}"
            who = f" ({scenario.group})" if scenario.group else ""
            if extra >= 0.0:
                way = f"costs {amount} more {unit} than now"
            else:
                way = f"saves {amount} {unit}"
            sentences.append(f"{scenario.name}{who} {way}.")
    if lost:
        sentences.append(
            f"Without an answer: {', '.join(dict.fromkeys(scenario.name for scenario in lost))}."
        )
    return " ".join(sentences)
