"""The plan of a winter that cannot be fed: needs eased by their least shortage, planned as any
winter, then told as they are.

Only needs and appetite are eased; every limit stands. A run for which a least amount is missed (a
mineral at its printed rate, long fibre, the farm's own least) gets no ration at all. Ewes near
lambing whose energy need is not met get no amounts either.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from typing import Any

from rationlp.model.lines import supply_lines
from rationlp.model.ration import eat, excess
from rationlp.model.rows.animal import intake
from rationlp.model.rows.block import Block
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.standards import ENERGY_TITLES, STANDARDS
from rationlp.planned import PlanRation, PlanShortfall
from rationlp.result import Shortfall
from rationlp.wintering.links import Yard
from rationlp.wintering.parts import Run
from rationlp.wintering.short import tonnes_short
from rationlp.wintering.shortage import LeastShortage, RunShortage, usable_q

SLACK = 1e-6
"""Added to every share that is eased, so that rounding does not take the plan away [-]."""
NOTICED = 1e-5
"""Share of a need from which a shortage is told [-]."""
NEAR_LAMBING_DAYS, SEVERAL_LAMBS = 28.0, 2.0
"""Ewes with so many lambs, so few days before lambing, get no amounts while short of energy:
Veterinary Record 106:282 (the caution `twin_lamb_energy` of feeds/cautions.csv); status (a).
"""
PROTEIN = "metabolisable protein"
NO_RATION = "no ration that keeps its limits can be made with what there is"
NEAR_LAMBING = (
    "no amounts are given: ewes with twins or more so near lambing must not be fed short of energy."
    " Buy or move feed for them, or ask your vet or nutritionist now"
)


def eased_yard(yard: Yard, least: LeastShortage) -> Yard:
    """The yard with every run's needs eased by its shortage, runs without any ration left out."""
    pairs = zip(yard.runs, least.shortages, strict=True)
    runs = tuple(_eased_run(run, short) for run, short in pairs if not short.unfed)
    return dataclasses.replace(yard, runs=runs)


def without_impossible(yard: Yard, least: LeastShortage) -> Yard | None:
    """The yard without the runs that miss most of a least amount, or the one that misses most; None
    where none misses any.
    """
    missed = [short.missed for short in least.shortages]
    most = max(missed, default=0.0)
    if not any(short.missed and short.unfed for short in least.shortages):
        return None
    pairs = zip(yard.runs, missed, strict=True)
    runs = tuple(run for run, share in pairs if share < min(0.5, most))
    return dataclasses.replace(yard, runs=runs)


def _eased_run(run: Run, short: RunShortage) -> Run:
    needs = run.block.needs
    changed: dict[str, Any] = {}
    shares = (short.energy, short.protein, short.appetite)
    energy, protein, appetite = (1.0 - _share(share) for share in shares)
    if energy < 1.0 and needs.energy is not None:
        margin = needs.energy.margin * energy
        changed["energy"] = dataclasses.replace(needs.energy, margin=margin)
        if needs.energy_ceiling is not None:
            changed["energy_ceiling"] = needs.energy_ceiling / energy
    eased = {"mp_g": protein, "appetite_floor_share": appetite, "appetite_floor_kg_dm": appetite}
    for name, left in eased.items():
        wanted = getattr(needs, name)
        if left < 1.0 and wanted is not None:
            changed[name] = wanted * left
    needs = dataclasses.replace(needs, **changed)
    return dataclasses.replace(run, block=dataclasses.replace(run.block, needs=needs))


def _share(short: float) -> float:
    """What is eased: nothing where nothing is short, never the whole of a need."""
    return 0.0 if short <= 0.0 else min(short * (1.0 + SLACK) + SLACK, 1.0 - SLACK)


def told_rations(yard: Yard, rations: Sequence[PlanRation]) -> tuple[PlanRation, ...]:
    """Rations of the eased plan against the needs as they are, runs without one added."""
    known = {(ration.group, ration.period): ration for ration in rations}
    order = {group.id: number for number, group in enumerate(yard.farm.groups)}
    found = []
    for run in yard.runs:
        for period, head in zip(run.periods, run.head, strict=True):
            ration = known.get((run.block.group.id, period))
            if ration is None:
                found.append(_unfed(run.block, period, head))
            else:
                found.append(_told(run.block, ration))
    return tuple(sorted(found, key=lambda one: (order[one.origin], one.period, one.group)))


def _told(block: Block, ration: PlanRation) -> PlanRation:
    """A ration against its own needs."""
    eaten = eat(block, {amount.offer: amount.kg_dm for amount in ration.amounts}, {})
    energy, protein, _ = excess(block, eaten)
    supply = supply_lines(block, eaten)
    told = dataclasses.replace(ration, needs=block.needs, supply=supply)
    return dataclasses.replace(told, excess_mj=energy, excess_mp_g=protein)


def withhold(
    yard: Yard, rations: Sequence[PlanRation], short: Sequence[PlanShortfall]
) -> tuple[PlanRation, ...]:
    """The rations without the amounts of those that must not be fed short of energy."""
    lacking = {(one.group, one.period) for one in _short_near_lambing(yard, short)}
    told = []
    for ration in rations:
        if (ration.group, ration.period) in lacking:
            ration = dataclasses.replace(ration, amounts=(), supply=(), withheld=NEAR_LAMBING)
        told.append(ration)
    return tuple(told)


def _short_near_lambing(yard: Yard, short: Sequence[PlanShortfall]) -> list[PlanShortfall]:
    """Shortages of energy of ewes near lambing."""
    runs = _by_period(yard)
    lacking = (one for one in short if one.shortfall.need in ENERGY_TITLES)
    return [one for one in lacking if near_lambing(runs[one.group, one.period].block)]


def _by_period(yard: Yard) -> dict[tuple[str, int], Run]:
    return {(run.block.group.id, period): run for run in yard.runs for period in run.periods}


def near_lambing(block: Block) -> bool:
    """Ewes with twins or more in the last weeks before lambing."""
    facts = block.group.facts
    if block.group.animal_class != "ewe_pregnant":
        return False
    days = float(facts.get("days_to_lambing", NEAR_LAMBING_DAYS + 1.0))
    return float(facts.get("lambs_carried", 0.0)) >= SEVERAL_LAMBS and days <= NEAR_LAMBING_DAYS


def lambing_remarks(yard: Yard, short: Sequence[PlanShortfall]) -> tuple[str, ...]:
    """What is said of ewes near lambing that are short of energy where there are no rations at all:
    once a part of a group.
    """
    names = dict.fromkeys(one.name for one in _short_near_lambing(yard, short))
    return tuple(f"{name}: {NEAR_LAMBING}." for name in names)


def _unfed(block: Block, period: int, head: int) -> PlanRation:
    return PlanRation(
        group=block.group.id,
        origin=block.group.origin or block.group.id,
        name=block.group.name,
        head=head,
        period=period,
        needs=block.needs,
        amounts=(),
        supply=(),
        feed_cost=0.0,
        penalty=0.0,
        dm_kg=0.0,
        me_mj_per_kg_dm=None,
        level_of_feeding=None,
        excess_mj=None,
        excess_mp_g=None,
        waste={},
        remarks=block.needs.remarks,
        withheld=NO_RATION,
    )


def told_shortfalls(yard: Yard, rations: Sequence[PlanRation]) -> tuple[PlanShortfall, ...]:
    """Who is short of what, when, and the dry matter of usual forage that would do."""
    runs, found = _by_period(yard), []
    for ration in rations:
        run = runs[ration.group, ration.period]
        head_days = run.head_days[run.periods.index(ration.period)]
        for short in _shortfalls(run.block, ration):
            t_dm = tonnes_short(short.short, short.unit, head_days)
            found.append(PlanShortfall(ration.group, ration.period, short, t_dm, ration.name))
    return tuple(sorted(found, key=lambda one: (one.period, -one.t_dm)))


def _shortfalls(block: Block, ration: PlanRation) -> list[Shortfall]:
    """Energy, protein and dry matter that a ration lacks, a head a day."""
    standard = STANDARDS[block.needs.standard]
    needs, found, whose = block.needs, [], standard.requirement
    if ration.withheld:
        need = needs.energy
        needed = 0.0 if need is None else need.required_mj(usable_q(need, 0.58))
        return [Shortfall(standard.energy_title, needed, needed, "MJ", ration.withheld)]
    if ration.excess_mj is not None and needs.energy is not None:
        q = (ration.me_mj_per_kg_dm or 0.0) / GE_MJ_PER_KG_DM
        needed = needs.energy.required_mj(usable_q(needs.energy, q))
        if ration.excess_mj < -NOTICED * needed:
            short = min(-ration.excess_mj, needed)
            found.append(Shortfall(standard.energy_title, short, needed, "MJ", whose))
    wanted, excess_g = needs.mp_required_g or 0.0, ration.excess_mp_g
    if excess_g is not None and excess_g < -NOTICED * wanted:
        found.append(Shortfall(PROTEIN, -excess_g, wanted, "g", whose))
    return found + list(_appetite(block, ration))


def _appetite(block: Block, ration: PlanRation) -> Iterator[Shortfall]:
    """Dry matter that animals fed to appetite would eat and do not get."""
    kg = {block.key("feed", amount.offer): amount.kg_dm for amount in ration.amounts}
    kg[block.key("dm")] = sum(amount.kg_dm for amount in ration.amounts)
    for row in intake(block):
        if row.words.part_of == "appetite":
            short = row.low - sum(value * kg.get(key, 0.0) for key, value in row.coefs.items())
            if short > NOTICED * row.low:
                yield Shortfall("dry matter to fill them", short, row.low, "kg DM", row.why)
