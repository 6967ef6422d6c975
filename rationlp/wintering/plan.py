"""From a checked farm to the plan of its winter: least cost, adequate, proved."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from math import inf

from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.model.proof import Certificate, certify
from rationlp.model.ties import break_ties
from rationlp.planned import PlanProof, PlanTidy, WinterPlan
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.answer import bounded_by, plan_of, worst_excess
from rationlp.wintering.bound import WinterBound, winter_bound
from rationlp.wintering.ceilings import price_ceilings
from rationlp.wintering.courses import Course, courses, slow_faces
from rationlp.wintering.eased import (
    eased_yard,
    lambing_remarks,
    told_rations,
    told_shortfalls,
    withhold,
    without_impossible,
)
from rationlp.wintering.improved import improve
from rationlp.wintering.levels import AcceptedPlan, is_adequate, settle_plan
from rationlp.wintering.links import Yard
from rationlp.wintering.none import none_exists
from rationlp.wintering.prices import start_by_prices
from rationlp.wintering.rule_costs import opened_if_short, rule_costs, with_costs_beside
from rationlp.wintering.search import WinterModel, begin
from rationlp.wintering.short import plan_shortfalls
from rationlp.wintering.shortage import LeastShortage, least_shortage
from rationlp.wintering.tidy import tidy_plan
from rationlp.wintering.ties import tie_aims
from rationlp.wintering.whole import settle_whole
from rationlp.wintering.yard import WinterOptions, make_yard

MOST_EASINGS = 4


Settled = tuple[AcceptedPlan, WinterBound | None]


def solve_winter(
    farm: Farm, options: WinterOptions | None = None, stocks: Mapping[str, StoreStock] | None = None
) -> WinterPlan:
    """The least-cost plan of all groups from a day to turnout, with its proof and every store's
    mass balance.

    stocks: what is in store, by store id; worked out from the farm's own sizes where not given. A
    winter without a plan is answered too: who is short of what, when. Raises InputError for missing
    figures and impossible days, SolverTrouble when the solver fails or an answer does not pass its
    own check.
    """
    wanted = options or WinterOptions()
    plan = opened_if_short(farm, lambda other: _planned(other, wanted, stocks))
    if not wanted.beside:
        return plan
    plain = dataclasses.replace(wanted, prove=False, tidy=False, ceilings=False, worded=False)
    return with_costs_beside(plan, lambda other: _planned(other, plain, stocks))


def _planned(
    farm: Farm, wanted: WinterOptions, stocks: Mapping[str, StoreStock] | None
) -> WinterPlan:
    """The plan with the farm's own days of shut stores, whole numbers where wanted."""
    held = farm_stocks(farm) if stocks is None else stocks
    yard = make_yard(farm, wanted, held)
    plan = solve_yard(yard, wanted)
    if wanted.faces in ("auto", "course") and plan.proof is not None:
        slow = slow_faces(yard, plan)
        if slow:
            plan = with_faces_advanced(dataclasses.replace(yard, open_clamps=slow), wanted, plan)
    elif wanted.faces == "on":
        faces = tuple(store.id for store in farm.stores if held[store.id].face is not None)
        plan = solve_yard(dataclasses.replace(yard, open_clamps=faces), wanted)
    return plan


def with_faces_advanced(yard: Yard, wanted: WinterOptions, cheapest: WinterPlan) -> WinterPlan:
    """The plan in which the faces of the open clamps advance; where the search over whole numbers
    feeds nobody, or is not wanted, that of the cheapest course that feeds all.

    cheapest: the plan of faces that need not advance; no plan costs less than its bound.
    """
    model = None
    if wanted.faces == "auto":
        # Where no plan opens each clamp once, one that opens a clamp again is better than none.
        for once in (True, False):
            model = WinterModel(dataclasses.replace(yard, opened_once=once))
            settled = settled_winter(model)
            if settled is not None:
                return plan_settled(model.yard, model, settled, wanted)
    course, fed = None, None
    if cheapest.feeds_all:
        course, fed = cheapest_course(yard, wanted)
    if fed is None and model is not None:
        return _short_plan(yard, model, wanted)
    if fed is None:
        return _without(dataclasses.replace(yard, open_clamps=()), proved=False)
    if wanted.faces == "course":
        return fed
    assert cheapest.proof is not None
    return bounded_by(cheapest.proof, solve_yard(dataclasses.replace(yard, course=course), wanted))


def cheapest_course(yard: Yard, wanted: WinterOptions) -> tuple[Course | None, WinterPlan | None]:
    """Of a few courses of the open clamps, the cheapest that feeds all, with its plan as it is
    before it is proved or tidied; None where none does.
    """
    plain = dataclasses.replace(
        wanted, prove=False, tidy=False, shortage=False, ceilings=False, worded=False
    )
    best: tuple[Course | None, WinterPlan | None] = (None, None)
    least = inf
    for course in courses(yard):
        trial = solve_yard(dataclasses.replace(yard, course=course), plain)
        if trial.proof is not None and trial.exit_code == 0 and trial.proof.cost < least:
            best, least = (course, trial), trial.proof.cost
    return best


def solve_yard(yard: Yard, options: WinterOptions) -> WinterPlan:
    """The plan of a winter whose stores and runs are known; who is short where there is none."""
    model = WinterModel(yard)
    settled = settled_winter(model)
    if settled is not None:
        return plan_settled(yard, model, settled, options)
    return _short_plan(yard, model, options)


def _short_plan(yard: Yard, model: WinterModel, options: WinterOptions) -> WinterPlan:
    """A winter whose needs cannot all be met: with the least shortage where that is wanted."""
    if not options.shortage or yard.growing is not None:
        return _without(yard, bool(model.infeasible))
    least = least_shortage(model)
    return _with_shortage(yard, options, least, none_exists(model, least))


def settled_winter(model: WinterModel) -> Settled | None:
    """The cheapest plan, settled; with whole numbers also a bound from the search over them."""
    if model.infeasible:
        return None
    if model.live.has_whole_numbers:
        return settle_whole(model)
    touches = begin(model)
    if model.is_large:
        touches = start_by_prices(model, touches)
    plan = settle_plan(model, touches)
    return None if plan is None else (plan, None)


def plan_settled(
    yard: Yard, model: WinterModel, settled: Settled, options: WinterOptions
) -> WinterPlan:
    """From a settled plan to the one that is handed on: bounded, ties broken, tidied."""
    accepted, bound = settled
    if bound is None and options.prove:
        accepted, bound = improve(model, accepted)
        if options.tidy and options.any_level:
            anywhere = winter_bound(model, accepted.solution, any_level=True)
            lps = bound.lps + anywhere.lps
            bound = dataclasses.replace(bound, any_level=anywhere.lower_bound, lps=lps)
    values, certificate = without_ties(model, accepted)
    answer, proof = (accepted.solution, values), (certificate, bound, accepted.still)
    plan = plan_of(yard, model, answer, proof, worded=options.worded and not options.tidy)
    ceilings: dict[str, float] = {}
    if options.ceilings:
        bought = {purchase.offer for purchase in plan.purchases}
        offers = tuple(offer for offer in yard.farm.offers if offer.id in bought)
        ceilings = price_ceilings(model, offers)
    if options.tidy:
        tidied = _tidied(model, plan, accepted, options)
        plan = tidied or plan_of(yard, model, answer, proof, options.worded)
    prices = [(purchase, ceilings.get(purchase.offer)) for purchase in plan.purchases]
    priced = (dataclasses.replace(one, price_ceiling=ceiling) for one, ceiling in prices)
    return dataclasses.replace(plan, purchases=tuple(priced))


def _with_shortage(
    yard: Yard, options: WinterOptions, least: LeastShortage | None, proved: bool
) -> WinterPlan:
    """The plan of the least shortage, told against the needs; else without rations."""
    eased = yard
    while least is not None and (fewer := without_impossible(eased, least)) is not None:
        eased = fewer
        least = least_shortage(WinterModel(eased)) if eased.runs else None
    for _ in range(MOST_EASINGS):
        if least is None:
            break
        eased = eased_yard(eased, least)
        if not eased.runs:
            break
        model = WinterModel(eased)
        settled = settled_winter(model)
        if settled is not None:
            return _told(yard, plan_settled(eased, model, settled, options), proved)
        least = least_shortage(model)
    return _without(yard, proved)


def _told(yard: Yard, plan: WinterPlan, proved: bool) -> WinterPlan:
    rations = told_rations(yard, plan.rations)
    short = told_shortfalls(yard, rations)
    assert plan.proof is not None
    energy, protein = worst_excess(rations)
    return dataclasses.replace(
        plan,
        status="none_exists" if proved else "none_found",
        rations=withhold(yard, rations, short),
        shortfalls=short,
        proof=dataclasses.replace(plan.proof, worst_excess_mj=energy, worst_excess_mp_g=protein),
    )


def without_ties(
    model: WinterModel, accepted: AcceptedPlan
) -> tuple[tuple[float, ...], Certificate]:
    """The values shown, ties broken unless that left a need short, and their certificate."""
    numbers = model.live.numbers()
    values = break_ties(model, accepted.solution, tie_aims(model))
    certificate = certify(numbers, accepted.solution, values)
    if certificate.passed and is_adequate(model, values):
        return values, certificate
    return accepted.solution.values, accepted.certificate


def _tidied(
    model: WinterModel, cheapest: WinterPlan, accepted: AcceptedPlan, options: WinterOptions
) -> WinterPlan | None:
    """The plan as a yard can mix it; proof and marginal values stay those of the cheapest. None
    where that is the plan to hand on.
    """
    assert cheapest.proof is not None
    yard, least = model.yard, -inf
    if options.beside:
        least = _least_possible(cheapest.proof)
    tidied = tidy_plan(model, accepted, least)
    if tidied is None:
        return None
    answer = (tidied.accepted.solution, tidied.accepted.solution.values)
    proof_of_it = (tidied.accepted.certificate, None, True)
    plan = plan_of(yard, model, answer, proof_of_it, options.worded)
    assert plan.proof is not None
    if not plan.proof.passed and cheapest.proof.passed:
        return None
    pairs = zip(plan.stores, cheapest.stores, strict=True)
    stores = tuple(dataclasses.replace(one, marginal=other.marginal) for one, other in pairs)
    balance = max(cheapest.proof.balance_kg, plan.proof.balance_kg)
    proof = dataclasses.replace(cheapest.proof, balance_kg=balance)
    cost, above = tidied.costs["orders"], None
    if tidied.above_least < inf:
        above = tidied.above_least / max(abs(cost), 1e-3)
    done = PlanTidy(
        tidied.dropped, tidied.raised, len(tidied.stays), cost - cheapest.proof.cost,
        plan.proof.passed, above, tidied.orders, tidied.too_many, tidied.stays,
        tidied.steady_groups, rule_costs(yard.farm, tidied),
    )  # fmt: skip
    return dataclasses.replace(plan, status=cheapest.status, stores=stores, proof=proof, tidy=done)


def _least_possible(proof: PlanProof) -> float:
    """No plan costs less [currency], at any level of feeding where that was asked."""
    return proof.lower_bound if proof.bound_any_level is None else proof.bound_any_level


def _without(yard: Yard, proved: bool) -> WinterPlan:
    short = plan_shortfalls(yard)
    return WinterPlan(
        farm=yard.farm,
        status="none_exists" if proved else "none_found",
        periods=yard.periods,
        rations=(),
        stores=(),
        purchases=(),
        sales=(),
        cost=None,
        bought_cost=None,
        own_cost=None,
        sold_income=None,
        penalty=None,
        proof=None,
        shortfalls=short,
        remarks=lambing_remarks(yard, short),
    )
