"""Tables of what-if: every scenario beside the farm as it stands."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial

from rationlp.ask.outcome import Outcome
from rationlp.ask.whatif import WhatIf
from rationlp.report.tables.table import Column, Table, day_text, difference, table_of

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
    currency, names = answer.farm.currency, _names(answer)
    what, unit, amount, decimals = "the whole winter", currency, "t fresh", 0
    notes: tuple[str, ...] = (CHEAPEST,)
    if _of_groups(answer):
        what, unit, amount, decimals = "a head a day", f"{currency} a day", "kg fresh", 2
        notes = ()

    def listed(offers: Iterable[str]) -> str:
        return ", ".join(names[offer] for offer in offers)

    columns = (
        *_scenario_columns(answer),
        Column("cost", "Cost", unit, decimals, of=lambda pair: pair[0].cost),
        Column("more_than_now", "More than now", unit, decimals, of=_more),
        Column("bought_cost", "Of it bought", unit, decimals, of=lambda pair: pair[0].bought_cost),
        Column("bought_fresh", "Bought", amount, 1, full=True, of=lambda pair: _bought(pair[0])),
        Column("came_in", "Comes in", full=True, of=lambda pair: listed(_came_in(*pair))),
        Column(
            "went_out", "Goes out", full=True, of=lambda pair: listed(_came_in(pair[1], pair[0]))
        ),
        Column("answer", "Answer", of=lambda pair: _answered(pair[0])),
    )
    return table_of("scenarios", f"What if: {what}", _all(answer), columns, notes)


def _scenario_columns(answer: WhatIf) -> tuple[Column, ...]:
    """Which scenario, and of which group, where each is answered by itself."""
    scenario = Column("scenario", "Scenario", of=lambda pair: pair[0].name)
    if not _of_groups(answer):
        return (scenario,)
    return scenario, Column("group", "Group", of=lambda pair: pair[0].group)


def _more(pair: tuple[Outcome, Outcome]) -> float | None:
    """What an outcome costs more than what it is compared with."""
    outcome, before = pair
    if outcome is before:
        return None
    return difference(outcome.cost, before.cost)


def _bought(outcome: Outcome) -> float | None:
    if outcome.cost is None:
        return None
    return sum(amount for offer, amount in outcome.fed.items() if offer in outcome.bought)


def _came_in(outcome: Outcome, before: Outcome) -> Iterable[str]:
    if outcome.cost is None or before.cost is None:
        return ()
    return outcome.came_in(before)


def fed_table(answer: WhatIf) -> Table:
    """Feeds across, scenarios down: t fresh over the winter, or kg a head a day. Blank: not fed."""
    title, unit, decimals = "What leaves the stores or is bought, t fresh", "t", 1
    if _of_groups(answer):
        title, unit, decimals = "What is fed, kg fresh a head a day", "kg", 2
    every = list(_all(answer))

    def amount(offer: str, pair: tuple[Outcome, Outcome]) -> float | None:
        return pair[0].fed.get(offer)

    feeds = (
        Column(offer.id, offer.name, unit, decimals, of=partial(amount, offer.id))
        for offer in answer.farm.offers
        if any(offer.id in outcome.fed for outcome, _ in every)
    )
    return table_of("fed", title, every, (*_scenario_columns(answer), *feeds))


def run_outs_table(answer: WhatIf) -> Table:
    """Stores across, scenarios down: the day on which each is used up, blank if it lasts a year."""
    names = _names(answer)
    stores = [store.id for store in answer.farm.stores]
    columns = (
        Column("scenario", "Scenario", of="name"),
        Column("turnout", "Turnout", of=lambda outcome: day_text(outcome.turnout)),
        *(Column(name, names.get(name, name), of=partial(_run_out, name)) for name in stores),
    )
    outcomes = (outcome for outcome, _ in _all(answer) if outcome.runs_out)
    note = (
        "The plan shares each store out so that it lasts; a day after turnout is at the use of"
        " the last period."
    )
    return table_of("run_outs", "When each store is used up", outcomes, columns, (note,))


def _run_out(store: str, outcome: Outcome) -> str:
    if store not in outcome.fed:
        return "not used"
    return day_text(outcome.runs_out.get(store), "lasts")


def headline(answer: WhatIf) -> str:
    """What comes first: the dearest and the cheapest scenario, and those without an answer."""
    priced = [
        (outcome.cost - before.cost, outcome)
        for outcome in answer.outcomes
        if outcome.cost is not None and (before := answer.before(outcome)).cost is not None
    ]
    lost = [outcome for outcome in answer.outcomes if outcome.cost is None]
    unit, decimals = "over the winter", 0
    if _of_groups(answer):
        unit, decimals = "a head a day", 2
    sentences = []
    if priced:
        ends = {
            max(priced, key=lambda pair: pair[0])[1].name: max(priced, key=lambda pair: pair[0])
        }
        cheapest = min(priced, key=lambda pair: pair[0])
        ends.setdefault(cheapest[1].name, cheapest)
        for extra, scenario in ends.values():
            amount = f"{answer.farm.currency} {abs(extra):,.{decimals}f}"
            who, way = scenario.name, f"costs {amount} more {unit} than now"
            if scenario.group:
                who = f"{who} ({scenario.group})"
            if extra < 0.0:
                way = f"saves {amount} {unit}"
            sentences.append(f"{who} {way}.")
    if lost:
        sentences.append(
            f"Without an answer: {', '.join(dict.fromkeys(scenario.name for scenario in lost))}."
        )
    return " ".join(sentences)
