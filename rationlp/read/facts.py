"""The facts of a group, read and checked against what its class has."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite

from rationlp.errors import Finding
from rationlp.farm.animals import (
    CLASSES,
    CONDITION_SCORE_SHARE_OF_WEIGHT,
    SHEEP_CLASSES,
    SHEEP_SCORE_SHARE_OF_WEIGHT,
    Fact,
    Facts,
)
from rationlp.farm.lactation import MILK, WHOLE, with_whole_lactation
from rationlp.farm.values import as_number, shown
from rationlp.named import nearest
from rationlp.read.schema import GROUP_KEYS


def read_facts(
    animal_class: str, given: Mapping[str, object], where: str, at_peak: bool = False
) -> tuple[Facts, list[Finding]]:
    """The facts of a group of a class, defaults filled in, and everything that is wrong with them.

    given: the keys of the group's table that are not common to all groups. where: the group's
    place. at_peak: milk a day is that of the peak, for cows still to calve.
    """
    wanted = {fact.key: fact for fact in CLASSES[animal_class]}
    facts: Facts = {}
    findings: list[Finding] = []
    instead = {*given, *([MILK] if WHOLE in wanted and WHOLE in given else [])}
    missing = [
        f"{fact.key} ({fact.words})"
        for fact in wanted.values()
        if fact.required and fact.key not in instead
    ]
    if missing:
        found = f"class {animal_class} without {', '.join(missing)}"
        findings.append(
            Finding("IN120", where, found, "give each of these keys in the group's table")
        )
    for key, value in given.items():
        fact = wanted.get(key)
        if fact is None:
            findings.append(_unknown(animal_class, key, list(wanted), where))
            continue
        trouble = _check(fact, value, f"{where}.{key}")
        if trouble is not None:
            findings.append(trouble)
        else:
            facts[key] = value if isinstance(value, str) else float(value)  # type: ignore[arg-type]
    if MILK in given and WHOLE in given and WHOLE in wanted:
        found = f"{MILK} and {WHOLE} both given"
        findings.append(
            Finding(
                "IN760",
                where,
                found,
                "keep one of them: the other follows from the lactation curve",
            )
        )
    if not findings:
        facts = with_whole_lactation(animal_class, facts, at_peak)
        share = (
            SHEEP_SCORE_SHARE_OF_WEIGHT
            if animal_class in SHEEP_CLASSES
            else CONDITION_SCORE_SHARE_OF_WEIGHT
        )
        findings += [*_score_to_weight(wanted, facts, where, share), *_contradictions(facts, where)]
    for fact in wanted.values():
        if fact.default is not None:
            facts.setdefault(fact.key, fact.default)
    return facts, findings


LAMB_WEIGHT_KG, MOST_LITTER_SHARE = (1.2, 8.0), 0.25
"""A lamb at birth [kg], and a whole litter as a share of the ewe's weight. Common practice, no
source (c).
"""

LEAST_MATURE_SHARE = 0.8
"""A cow is no more than a quarter above her mature weight, however fat she is. Common practice, no
source (c).
"""


def _contradictions(facts: Facts, where: str) -> list[Finding]:
    """Facts that cannot be true of one animal together; each of them alone is in its range."""
    findings = []
    weight, mature = facts.get("live_weight_kg"), facts.get("mature_weight_kg")
    if (
        weight is not None
        and mature is not None
        and float(mature) < LEAST_MATURE_SHARE * float(weight)
    ):
        found = f"live_weight_kg {float(weight):g} far above mature_weight_kg {float(mature):g}"
        remedy = (
            "mature_weight_kg is the weight of the grown animal, not that at calving or service"
        )
        findings.append(Finding("IN134", where, found, remedy))
    pregnant, week = facts.get("days_pregnant"), facts.get("week_of_lactation")
    if pregnant is not None and week is not None and float(pregnant) > 7.0 * float(week):
        found = f"days_pregnant {float(pregnant):g} in week_of_lactation {float(week):g}"
        remedy = (
            "she cannot have conceived before she calved: days_pregnant counts from conception, 0"
            " if she is empty"
        )
        findings.append(Finding("IN134", where, found, remedy))
    sale = facts.get("sale_weight_kg")
    if sale is not None and weight is not None and float(sale) <= float(weight):
        found = f"sale_weight_kg {float(sale):g}, and they weigh {float(weight):g} kg"
        findings.append(
            Finding(
                "IN771",
                where,
                found,
                "give the weight that they are sold at, or leave the group out",
            )
        )
    return [*findings, *_litter_contradictions(facts, where)]


def _litter_contradictions(facts: Facts, where: str) -> list[Finding]:
    """A ewe lamb in lamb needs both of her facts; a litter must be that of her lambs and of a ewe
    of her size.
    """
    findings = []
    lambs, litter = facts.get("lambs_carried"), facts.get("litter_weight_kg")
    if lambs is None:
        if "days_to_lambing" in facts or litter is not None:
            found = "days_to_lambing or litter_weight_kg without lambs_carried"
            findings.append(
                Finding(
                    "IN134",
                    where,
                    found,
                    "give lambs_carried, or leave the others out: she is empty",
                )
            )
        return findings
    if float(lambs) >= 1.0 and "days_to_lambing" not in facts:
        found = f"lambs_carried {float(lambs):g} without days_to_lambing"
        findings.append(
            Finding(
                "IN134", where, found, "give days_to_lambing, or lambs_carried = 0 for an empty ewe"
            )
        )
    if float(lambs) < 1.0 and "days_to_lambing" in facts:
        found = "days_to_lambing for a ewe that carries no lamb"
        findings.append(
            Finding(
                "IN134",
                where,
                found,
                "leave days_to_lambing out, or give the lambs she was scanned with",
            )
        )
    if litter is not None and float(lambs) >= 1.0:
        each, share = float(litter) / float(lambs), float(litter) / float(facts["live_weight_kg"])
        if not LAMB_WEIGHT_KG[0] <= each <= LAMB_WEIGHT_KG[1] or share > MOST_LITTER_SHARE:
            ewe, (least, most) = float(facts["live_weight_kg"]), LAMB_WEIGHT_KG
            found = (
                f"a litter of {float(litter):g} kg for {float(lambs):g} lambs of a ewe of"
                f" {ewe:g} kg"
            )
            remedy = (
                f"lambs weigh {least:g}–{most:g} kg at birth, all together at most a quarter of"
                " the ewe"
            )
            findings.append(Finding("IN134", where, found, remedy))
    return findings


def _score_to_weight(
    wanted: Mapping[str, Fact], facts: Facts, where: str, share: float
) -> list[Finding]:
    """A change of condition score becomes a live-weight change: score · share of live weight over
    the days given.
    """
    given = [key for key in ("condition_score_change", "condition_change_days") if key in facts]
    if not given:
        return []
    if len(given) == 1 or "live_weight_change_kg_per_day" in facts:
        found = (
            "a change of condition score needs its days, and stands instead of"
            " live_weight_change_kg_per_day"
        )
        return [
            Finding(
                "IN133",
                where,
                found,
                "give condition_score_change and condition_change_days, or the kg a day",
            )
        ]
    score, days = float(facts["condition_score_change"]), float(facts["condition_change_days"])
    change = score * share * float(facts["live_weight_kg"]) / days
    fact = wanted["live_weight_change_kg_per_day"]
    if not fact.low <= change <= fact.high:
        found = f"{score:g} score in {days:g} days is {change:.2f} kg a day"
        return [
            Finding(
                "IN113",
                where,
                found,
                f"valid from {fact.low:g} to {fact.high:g} kg a day: give it more days",
            )
        ]
    facts["live_weight_change_kg_per_day"] = change
    return []


def _unknown(animal_class: str, key: str, wanted: list[str], where: str) -> Finding:
    near = nearest(key, [*wanted, *GROUP_KEYS], 1, 0.5)
    elsewhere = [name for name, facts in CLASSES.items() if key in {fact.key for fact in facts}]
    if elsewhere and near[:1] not in ([name] for name in wanted):
        remedy = f"a fact of {', '.join(elsewhere)}: change the class or leave the key out"
    elif near:
        remedy = f'nearest: "{near[0]}"'
    else:
        remedy = f"facts of this class: {', '.join(wanted) or 'none'}"
    return Finding("IN110", f"{where}.{key}", f"unknown key for class {animal_class}", remedy)


def _check(fact: Fact, value: object, where: str) -> Finding | None:
    if fact.choices:
        if value in fact.choices:
            return None
        near = nearest(str(value), fact.choices, 1, 0.4)
        remedy = f'nearest: "{near[0]}"' if near else f"use one of {', '.join(fact.choices)}"
        return Finding("IN114", where, f"{shown(value)} is no {fact.words}", remedy)
    figure = as_number(value)
    if figure is None:
        return Finding(
            "IN112",
            where,
            f"{shown(value)} is not a number",
            f"give {fact.words} as a plain number",
        )
    if not isfinite(figure) or not fact.low <= figure <= fact.high:
        return Finding("IN113", where, f"{figure:g} is no {fact.words}", _hint(fact, figure))
    if fact.whole and figure != int(figure):
        return Finding("IN113", where, f"{figure:g} is no {fact.words}", "give a whole number")
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
