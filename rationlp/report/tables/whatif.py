"""Tables of what-if: every scenario beside the farm as it stands."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from rationlp.ask.outcome import Outcome
from rationlp.ask.whatif import WhatIf
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
    for one in answer.now:
        yield one, one
    for one in answer.outcomes:
        yield one, answer.before(one)


def _of_groups(answer: WhatIf) -> bool:
    return any(one.group for one in answer.now)


def _answered(outcome: Outcome) -> str:
    words = _SAID.get(outcome.status, "")
    if words and outcome.short:
        return f"{words}: {outcome.short}"
    return words


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
    for one, before in _all(answer):
        bought = None
        if one.cost is not None:
            bought = sum(amount for name, amount in one.fed.items() if name in one.bought)
        more = (
            None
            if one.cost is None or before.cost is None or one is before
            else one.cost - before.cost
        )
        both = one.cost is not None and before.cost is not None
        rows.append(
            (
                one.name,
                *((one.group,) if groups else ()),
                one.cost,
                more,
                one.bought_cost,
                bought,
                ", ".join(names[name] for name in one.came_in(before)) if both else "",
                ", ".join(names[name] for name in one.went_out(before)) if both else "",
                _answered(one),
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
    every = [one for one, _ in _all(answer)]
    fed = [offer for offer in answer.farm.offers if any(offer.id in one.fed for one in every)]
    columns = (
        Column("scenario", "Scenario"),
        *((Column("group", "Group"),) if groups else ()),
        *(
            Column(offer.id, offer.name, "kg" if groups else "t", 2 if groups else 1, "right")
            for offer in fed
        ),
    )
    rows = tuple(
        (one.name, *((one.group,) if groups else ()), *(one.fed.get(offer.id) for offer in fed))
        for one in every
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
        (one.name, _day(one.turnout), *(_run_out(one, name) for name in stores))
        for one, _ in _all(answer)
        if one.runs_out
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
    said = []
    if priced:
        ends = {
            max(priced, key=lambda pair: pair[0])[1].name: max(priced, key=lambda pair: pair[0])
        }
        least = min(priced, key=lambda pair: pair[0])
        ends.setdefault(least[1].name, least)
        for more, one in ends.values():
            amount = f"{answer.farm.currency} {abs(more):,.{decimals}f}"
            who = f" ({one.group})" if one.group else ""
            if more >= 0.0:
                way = f"costs {amount} more {unit} than now"
            else:
                way = f"saves {amount} {unit}"
            said.append(f"{one.name}{who} {way}.")
    if lost:
        said.append(f"Without an answer: {', '.join(dict.fromkeys(one.name for one in lost))}.")
    return " ".join(said)
