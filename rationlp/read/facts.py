"""The facts of a group, read and checked against what its class has."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite

from rationlp.errors import Faults, nearest
from rationlp.farm.animals import (
    CLASSES,
    CONDITION_SCORE_SHARE_OF_WEIGHT,
    SHEEP_SCORE_SHARE_OF_WEIGHT,
    Fact,
    Facts,
)
from rationlp.farm.lactation import MILK, WHOLE, with_whole_lactation
from rationlp.farm.traits import traits
from rationlp.farm.values import as_number, shown
from rationlp.read.schema import GROUP_KEYS


def read_facts(
    animal_class: str, stated: Mapping[str, object], faults: Faults, at_peak: bool = False
) -> Facts:
    """The facts of a group of a class, defaults filled in; what is wrong with them goes into the
    faults.

    stated: the keys of the group's table that are not common to all groups. at_peak: milk a day is
    that of the peak, for cows still to calve.
    """
    of_facts = faults.at()
    known = {fact.key: fact for fact in CLASSES[animal_class]}
    by_whole = WHOLE in known and WHOLE in stated
    # A misspelt key is one fault, not also a missing one.
    misspelt = {nearest(key, [*known, *GROUP_KEYS]) for key in stated if key not in known}
    present = {*stated, *misspelt}
    needed = [fact for fact in known.values() if fact.required and fact.key not in present]
    missing = [
        f"{fact.key} ({fact.words})" for fact in needed if not (by_whole and fact.key == MILK)
    ]
    if missing:
        problem = f"class {animal_class} without {', '.join(missing)}"
        faults.add("IN120", problem, "give each of these keys in the group's table")
    facts: Facts = {}
    for key, value in stated.items():
        if key not in known:
            _add_unknown(animal_class, key, list(known), faults.at(key))
            continue
        read = _value(known[key], value, faults.at(key))
        if read is not None:
            facts[key] = read
    if by_whole and MILK in stated:
        remedy = "keep one of them: the other follows from the lactation curve"
        faults.add("IN760", f"{MILK} and {WHOLE} both given", remedy)
    if of_facts.clean:
        facts = with_whole_lactation(animal_class, facts, at_peak)
        share = CONDITION_SCORE_SHARE_OF_WEIGHT
        if traits(animal_class).sheep:
            share = SHEEP_SCORE_SHARE_OF_WEIGHT
        _score_to_weight(known, facts, share, faults)
        _check_together(facts, faults)
    for fact in known.values():
        if fact.default is not None:
            facts.setdefault(fact.key, fact.default)
    return facts


LAMB_WEIGHT_KG, MOST_LITTER_SHARE = (1.2, 8.0), 0.25
"""A lamb at birth [kg], a litter as a share of the ewe's weight. Common practice, no source (c)."""

LEAST_MATURE_SHARE = 0.8
"""A fat cow is no more than a quarter above her mature weight. Common practice, no source (c)."""


def _check_together(facts: Facts, faults: Faults) -> None:
    """Facts that cannot be true of one animal together; each of them alone is in its range."""
    weight, mature = facts.get("live_weight_kg"), facts.get("mature_weight_kg")
    heavy = float(weight or 0.0)
    if mature is not None and float(mature) < LEAST_MATURE_SHARE * heavy:
        problem = f"live_weight_kg {heavy:g} far above mature_weight_kg {float(mature):g}"
        remedy = (
            "mature_weight_kg is the weight of the grown animal, not that at calving or service"
        )
        faults.add("IN134", problem, remedy)
    pregnant, week = facts.get("days_pregnant"), facts.get("week_of_lactation")
    if pregnant is not None and week is not None and float(pregnant) > 7.0 * float(week):
        problem = f"days_pregnant {float(pregnant):g} in week_of_lactation {float(week):g}"
        remedy = (
            "she cannot have conceived before she calved: days_pregnant counts from conception, 0"
            " if she is empty"
        )
        faults.add("IN134", problem, remedy)
    sale = facts.get("sale_weight_kg")
    if sale is not None and weight is not None and float(sale) <= float(weight):
        problem = f"sale_weight_kg {float(sale):g}, and they weigh {float(weight):g} kg"
        remedy = "give the weight that they are sold at, or leave the group out"
        faults.add("IN771", problem, remedy)
    _check_litter(facts, faults)


def _check_litter(facts: Facts, faults: Faults) -> None:
    """A ewe lamb in lamb needs both facts; a litter must be that of her lambs and of her size."""
    lambs, has_days = facts.get("lambs_carried"), "days_to_lambing" in facts
    if lambs is None:
        if has_days or "litter_weight_kg" in facts:
            problem = "days_to_lambing or litter_weight_kg without lambs_carried"
            faults.add(
                "IN134", problem, "give lambs_carried, or leave the others out: she is empty"
            )
        return
    carried = float(lambs)
    if carried >= 1.0 and not has_days:
        problem = f"lambs_carried {carried:g} without days_to_lambing"
        faults.add("IN134", problem, "give days_to_lambing, or lambs_carried = 0 for an empty ewe")
    if carried < 1.0 and has_days:
        problem = "days_to_lambing for a ewe that carries no lamb"
        remedy = "leave days_to_lambing out, or give the lambs she was scanned with"
        faults.add("IN134", problem, remedy)
    if carried >= 1.0 and "litter_weight_kg" in facts:
        litter, ewe = float(facts["litter_weight_kg"]), float(facts["live_weight_kg"])
        lowest, highest = LAMB_WEIGHT_KG
        if not lowest <= litter / carried <= highest or litter / ewe > MOST_LITTER_SHARE:
            problem = f"a litter of {litter:g} kg for {carried:g} lambs of a ewe of {ewe:g} kg"
            remedy = (
                f"lambs weigh {lowest:g}–{highest:g} kg at birth, all together at most a quarter of"
                " the ewe"
            )
            faults.add("IN134", problem, remedy)


def _score_to_weight(known: Mapping[str, Fact], facts: Facts, share: float, faults: Faults) -> None:
    """A change of condition score as one of live weight: score · share of weight over days."""
    stated = [key for key in ("condition_score_change", "condition_change_days") if key in facts]
    if not stated:
        return
    if len(stated) == 1 or "live_weight_change_kg_per_day" in facts:
        problem = (
            "a change of condition score needs its days, and replaces live_weight_change_kg_per_day"
        )
        remedy = "give condition_score_change and condition_change_days, or the kg a day"
        faults.add("IN133", problem, remedy)
        return
    score, days = float(facts["condition_score_change"]), float(facts["condition_change_days"])
    change = score * share * float(facts["live_weight_kg"]) / days
    fact = known["live_weight_change_kg_per_day"]
    if fact.low <= change <= fact.high:
        facts["live_weight_change_kg_per_day"] = change
    else:
        problem = f"{score:g} score in {days:g} days is {change:.2f} kg a day"
        remedy = f"valid from {fact.low:g} to {fact.high:g} kg a day: give it more days"
        faults.add("IN113", problem, remedy)


def _add_unknown(animal_class: str, key: str, known: list[str], faults: Faults) -> None:
    elsewhere = [name for name, facts in CLASSES.items() if key in {fact.key for fact in facts}]
    problem = f"unknown key for class {animal_class}"
    near = nearest(key, [*known, *GROUP_KEYS])
    if elsewhere and near not in known:
        remedy = f"a fact of {', '.join(elsewhere)}: change the class or leave the key out"
        faults.add("IN110", problem, remedy)
    elif near == key:
        remedy = (
            f"{key} stays as the group has it: give other animals a group of their own, or a table"
            " `after` for what they are once calved or lambed"
        )
        faults.add("IN110", f"{key} cannot be changed within a group", remedy)
    else:
        valid = f"facts of this class: {', '.join(known) or 'none'}"
        faults.unknown("IN110", problem, key, [*known, *GROUP_KEYS], valid)


def _value(fact: Fact, value: object, faults: Faults) -> float | str | None:
    """A fact's value; None where it has a fault."""
    if fact.choices:
        return chosen(fact, value, faults)
    figure = as_number(value)
    if figure is None:
        remedy = f"give {fact.words} as a plain number"
        faults.add("IN112", f"{shown(value)} is not a number", remedy)
    elif not isfinite(figure) or not fact.low <= figure <= fact.high:
        faults.add("IN113", f"{figure:g} is no {fact.words}", _hint(fact, figure))
    elif fact.whole and figure != int(figure):
        faults.add("IN113", f"{figure:g} is no {fact.words}", "give a whole number")
    else:
        return figure
    return None


def chosen(fact: Fact, value: object, faults: Faults) -> str | None:
    """One of the words of a fact; None where the value is none of them."""
    if isinstance(value, str) and value in fact.choices:
        return value
    valid, problem = f"use one of {', '.join(fact.choices)}", f"{shown(value)} is no {fact.words}"
    faults.unknown("IN114", problem, str(value), fact.choices, valid)
    return None


def _hint(fact: Fact, value: float) -> str:
    valid = f"valid from {fact.low:g} to {fact.high:g}"
    if fact.key.startswith("days_to_"):
        return (
            f"{valid}; give animals that are further from it the class that they are of until then"
        )
    for factor in (10.0, 1000.0, 0.1, 0.001):
        guess = value * factor
        if isfinite(guess) and guess > 0.0 and max(fact.low, 1e-9) <= guess <= fact.high:
            return f"{valid}; was it {guess:g}?"
    return valid
