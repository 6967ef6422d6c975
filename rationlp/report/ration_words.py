"""A ration in sentences: what to feed, what it costs, what is proved, what was made practical."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rationlp.planned import PlanRation
from rationlp.quantities import fresh_from_dm, quantities
from rationlp.report.tables.ration import weighable
from rationlp.report.tables.table import shown, small_decimals
from rationlp.result import FedSupply, GroupRation, Rations


def proof_line(group: GroupRation, currency: str) -> str:
    """What is proved about a group's ration, the gap rounded up; empty when there is no ration."""
    proof = group.proof
    if proof is None:
        return ""
    gap = f"{currency} {shown(max(proof.gap, 1e-4), 4, 'up')} a head a day"
    if not proof.passed:
        line = f"This answer failed its own check: {proof.verdict}."
    elif group.status == "proven":
        line = f"Proved cheapest to within {gap}."
    else:
        line = (
            f"Not proved cheapest: every need is met, but a ration up to {gap} cheaper is not ruled"
            " out."
        )
    if proof.bound_any_level is not None:
        bound = shown(proof.bound_any_level, 4, "down")
        line += f" At any feeding level the cost cannot be below {currency} {bound}."
    if group.penalty:
        put = f"{currency} {shown(group.penalty, 2)} put on energy above need and minerals short"
        line += f" The cost compared includes {put}, which is a penalty, not money."
    return line


def tidy_line(group: GroupRation, currency: str) -> str:
    """What was done to make the ration one that can be mixed, and what that costs, if anything."""
    tidy = group.tidy
    if tidy is None:
        return ""
    extra = f"{currency} {shown(max(tidy.extra_cost, 1e-4), 4, 'up')} a head a day"
    costs = f"That costs {extra} more than the cheapest ration"
    if tidy.extra_cost < 0.0 < tidy.extra_penalty:
        costs = (
            "Its feed costs no more, but it is shorter of a mineral or further above its energy,"
            " than the cheapest ration"
        )
    line = f"Made practical to weigh: {' '.join(tidy.steps)} {costs}"
    line += f", {currency} {shown(tidy.cheapest_cost, 4)}, to which the proof belongs."
    if tidy.passed:
        return line
    return f"{line} The tidied ration failed its own check against the need."


def feed_list(group: GroupRation | FedSupply) -> str:
    """What to feed in kg fresh, most first: `31.2 kg clamp 1; 3.0 kg rapeseed meal`."""
    base = quantities()["fresh_kg"].decimals
    ordered = sorted(weighable(group), key=lambda amount: -amount.kg_fresh)
    return "; ".join(
        f"{shown(a.kg_fresh, small_decimals(a.kg_fresh, base))} kg {a.name}" for a in ordered
    )


def headlines(group: GroupRation, currency: str) -> tuple[str, ...]:
    """A group's ration in a sentence, or that it has none and what is short."""
    who = f"{group.name} ({group.head} head)"
    if group.feed_cost is None:
        proved = "no ration was found"
        if group.status == "none_exists":
            proved = "no ration exists"
        lacking = ", ".join(f"{s.need} {shown(s.short, 2)} {s.unit}" for s in group.shortfalls)
        short: tuple[str, ...] = ()
        if lacking:
            short = (f"  Short by: {lacking}.",)
        return (f"{who}: {proved}.", *short)
    cost = f"{currency} {shown(group.feed_cost, 2)} a head a day"
    return (f"{who}: {cost}. Feed fresh: {feed_list(group)}.",)


def proofs_line(groups: Sequence[GroupRation], currency: str) -> str:
    """What is proved of several groups together, the widest gap rounded up; exceptions apart."""
    fed = [group for group in groups if group.proof is not None]
    proved = [group for group in fed if _proved(group)]
    lines = []
    if proved:
        gap = max(group.proof.gap for group in proved if group.proof is not None)
        whom = ""
        if len(proved) > 1:
            whom = " (each ration)"
        money = f"{currency} {shown(max(gap, 1e-4), 4, 'up')} a head a day"
        lines.append(f"Proved cheapest to within {money}{whom}.")
    lines += [
        f"{ration.name}: {proof_line(ration, currency)}" for ration in fed if not _proved(ration)
    ]
    return " ".join(lines)


def _proved(group: GroupRation) -> bool:
    return group.proof is not None and group.proof.passed and group.status == "proven"


def day_line(rations: Rations) -> str:
    """What all groups cost a day, and what is bought for it; empty for a single group."""
    fed = [group for group in rations.groups if group.feed_cost is not None]
    if len(fed) < 2:
        return ""
    head = sum(group.head for group in fed)
    cost = sum(group.head * (group.feed_cost or 0.0) for group in fed)
    bought = _bought_a_day(rations)
    buys = "no feed is bought but minerals"
    if bought:
        buys = f"bought feed {'; '.join(bought)}"
    answer = f"{rations.farm.currency} {cost:,.2f} a day; {buys}."
    without = [
        f"{group.name} ({group.head} head)" for group in rations.groups if group.feed_cost is None
    ]
    if without:
        return f"No ration for {', '.join(without)}: see below. The other {head} head: {answer}"
    return f"All {head} head: {answer}"


MINERALS = ("ca_g", "p_g", "mg_g", "na_g")
MINERAL_SHORT = 0.05
"""Share of a mineral's need that may be missing before the first lines say so; common practice (c).
"""


def minerals_line(rations: Iterable[GroupRation | PlanRation]) -> str:
    """Which minerals are short in which groups, at some time, and where to read more; empty where
    none is."""
    short = short_minerals(rations)
    if short:
        return f"Short of minerals: {short} (`--full`)."
    return ""


def short_minerals(rations: Iterable[GroupRation | PlanRation]) -> str:
    """Groups that are short of a mineral at some time; of one group alone, of which."""
    short: dict[str, dict[str, None]] = {}
    for ration in rations:
        for line in ration.supply:
            has_target = line.quantity in MINERALS and line.target is not None
            if has_target and line.supply < (1.0 - MINERAL_SHORT) * (line.target or 0.0):
                short.setdefault(ration.name, {})[line.title.lower()] = None
    if not short:
        return ""
    groups = "; ".join(short)
    if len(short) == 1:
        groups = "".join(f"{name} ({', '.join(minerals)})" for name, minerals in short.items())
    return groups


def _bought_a_day(rations: Rations) -> list[str]:
    """Bought feed of all groups, minerals left out: kg fresh a day, most first."""
    bought = {
        offer.id: offer
        for offer in rations.farm.offers
        if offer.bought and offer.feed.kind != "mineral"
    }
    totals: dict[str, float] = {}
    for group in rations.groups:
        for amount in group.amounts:
            if amount.offer in bought:
                totals[amount.offer] = totals.get(amount.offer, 0.0) + group.head * amount.kg_dm
    fresh = {key: fresh_from_dm(kg, bought[key].feed.dm_g_per_kg) for key, kg in totals.items()}
    ordered = sorted(fresh.items(), key=lambda item: -item[1])
    return [f"{kg:,.0f} kg {bought[key].name}" for key, kg in ordered if kg >= 0.5]
