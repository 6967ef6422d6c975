"""From the solver's numbers to the plan: rations, stores, purchases, sales, proof."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from math import inf

from rationlp.farm.store import Spread
from rationlp.model.lines import supply_lines
from rationlp.model.proof import Certificate
from rationlp.model.ration import amounts_of, eat, excess, priced_extras
from rationlp.model.solution import Solution
from rationlp.model.words import sentences
from rationlp.needs.energy import plain_level
from rationlp.planned import Hectares, PlanProof, PlanRation, Purchase, Sale, StorePlan, WinterPlan
from rationlp.wintering.bound import WinterBound
from rationlp.wintering.growing import hectares_of
from rationlp.wintering.links import KG_PER_T, Yard, sale_price_per_t_dm, tonnes, uses
from rationlp.wintering.remarks import plan_remarks
from rationlp.wintering.search import WinterModel

GAP_TARGET = 1e-3
"""Gap of a plan that counts as proven, as a share of its cost [-]."""
_HOW = (
    "what ties the groups is priced at the plan's own marginal values; each group and period is"
    " then bounded alone"
)
_HOW_WHOLE = (
    "each group and period is bounded alone at prices of what ties the groups; that no whole"
    " numbers cost less than these bounds allow is the word of the solver's search"
)
NOTHING = 1e-12
"""What the solver leaves of nothing, of either sign."""
Answer = tuple[Solution, tuple[float, ...]]
Proved = tuple[Certificate, WinterBound | None, bool]
_ROUNDING = 1e-6


def plan_of(
    yard: Yard, model: WinterModel, answer: Answer, proof: Proved, worded: bool = True
) -> WinterPlan:
    """The plan of (solution, values shown) and (certificate, bound, levels stand still). worded:
    with the sentences about every ration, which take longer than its figures.
    """
    solution, exact = answer
    values = tuple(0.0 if abs(value) < NOTHING else value for value in exact)
    rations = _rations(yard, model, values, worded)
    stores = _stores(yard, model, solution, values)
    purchases = _purchases(yard, model, values)
    sales = _sales(yard, model, values)
    bought = sum(purchase.cost for purchase in purchases)
    income = sum(sale.income for sale in sales)
    worth = {offer.id: offer.price_per_kg_dm * KG_PER_T for offer in yard.farm.offers}
    fed = ((store, sum(store.used_t_dm) - sum(store.bedded_t_dm)) for store in stores)
    own = sum(worth[store.store] * t for store, t in fed)
    grass = penalty = 0.0
    for ration in rations:
        head_days = _head_days(yard, ration)
        costs = [amount.cost for amount in ration.amounts if amount.offer not in worth]
        grass += sum(costs) * head_days
        penalty += ration.penalty * head_days
    grown = _hectares(yard, model, values)
    if yard.growing is not None:
        crops = {crop.id: crop for crop in yard.growing.crops}
        for one in grown:
            own += one.hectares * crops[one.crop].cost_per_ha
            income += one.surplus_t_dm * (crops[one.crop].would_fetch_per_t_dm or 0.0)
    made = _proof(yard, model, (rations, stores), proof)
    return WinterPlan(
        farm=yard.farm,
        status="proven" if made.passed and made.gap_relative <= GAP_TARGET else "open",
        periods=yard.periods,
        rations=rations,
        stores=stores,
        purchases=purchases,
        sales=sales,
        cost=bought + own + grass - income,
        bought_cost=bought,
        own_cost=own + grass,
        sold_income=income,
        penalty=penalty,
        proof=made,
        remarks=plan_remarks(yard, rations, stores, purchases),
        hectares=grown,
    )


def _head_days(yard: Yard, ration: PlanRation) -> float:
    for run in yard.runs:
        if run.block.group.id == ration.group and ration.period in run.periods:
            return run.head_days[run.periods.index(ration.period)]
    return 0.0


def _rations(
    yard: Yard, model: WinterModel, values: Sequence[float], worded: bool
) -> tuple[PlanRation, ...]:
    """A ration a part and period, in the order of groups, then of periods."""
    index = model.live.column_index
    found = []
    for number, run in enumerate(yard.runs):
        block = run.block
        kg = {offer.id: max(values[index[block.feed(offer)]], 0.0) for offer in block.offers}
        amounts = amounts_of(block, kg)
        eaten = eat(block, {amount.offer: amount.kg_dm for amount in amounts}, {})
        over_at = index.get(model.singles[number].over)
        over = 0.0 if over_at is None else values[over_at]
        energy, protein, _ = excess(block, eaten)
        dm = eaten.supply.dm_kg
        told = sentences(block, over, eaten) if worded else ()
        base = PlanRation(
            group=block.group.id,
            origin=block.group.origin or block.group.id,
            name=block.group.name,
            head=0,
            period=0,
            needs=block.needs,
            amounts=amounts,
            supply=supply_lines(block, eaten),
            feed_cost=sum(amount.cost * run.put_out_of(amount.offer) for amount in amounts),
            penalty=priced_extras(block, over, eaten),
            dm_kg=dm,
            me_mj_per_kg_dm=eaten.supply.me_mj / dm if dm > 0.0 else None,
            level_of_feeding=plain_level(eaten.level),
            excess_mj=energy,
            excess_mp_g=protein,
            waste={amount.offer: run.waste.get(amount.offer, 0.0) for amount in amounts},
            remarks=(*block.needs.remarks, *told),
        )
        for period, head in zip(run.periods, run.head, strict=True):
            found.append(dataclasses.replace(base, period=period, head=head))
    order = {group.id: number for number, group in enumerate(yard.farm.groups)}
    return tuple(sorted(found, key=lambda one: (order[one.origin], one.period, one.group)))


def _stores(
    yard: Yard, model: WinterModel, solution: Solution, values: Sequence[float]
) -> tuple[StorePlan, ...]:
    index = model.live.column_index
    count = len(yard.periods)
    grown = {area.crop: area for area in _hectares(yard, model, values)}
    found = []
    for store in yard.farm.stores:
        stock = yard.stocks[store.id]
        held = stock.edible_t_dm
        if store.id in grown:
            held = Spread(*(grown[store.id].edible_t_dm - grown[store.id].surplus_t_dm,) * 3)
        put_out = _by_period(yard, model, values, store.id)
        eaten = [put * (1.0 - stock.trough_loss) for put in put_out]
        spoiled = [0.0] * count
        if store.id in yard.open_clamps:
            spoiled = [values[index[("spoiled", store.id, str(number))]] for number in range(count)]
        outlets = [outlet.id for outlet in yard.farm.outlets if store.id in outlet.stores]
        sold_all = sum(values[index[("sold", outlet, store.id)]] for outlet in outlets)
        sold = [sold_all, *[0.0] * (count - 1)]
        bedded = yard.bedded[store.id]
        used = sum(put_out) + sum(spoiled) + sold_all + sum(bedded)
        row = ("store", store.id)
        dual = solution.row_duals[model.live.row_index[row]] if row in model.live.row_index else 0.0
        found.append(
            StorePlan(
                store=store.id,
                name=store.name,
                held_t_dm=held,
                reserve_t_dm=stock.reserve_t_dm,
                eaten_t_dm=tuple(eaten),
                wasted_t_dm=tuple(put - ate for put, ate in zip(put_out, eaten, strict=True)),
                spoiled_t_dm=tuple(spoiled),
                sold_t_dm=tuple(sold),
                bedded_t_dm=bedded,
                left_t_dm=held.typical - used,
                marginal=None if _whole(yard) else max(-dual, 0.0),
            )
        )
    return tuple(found)


def _by_period(yard: Yard, model: WinterModel, values: Sequence[float], offer: str) -> list[float]:
    """What leaves a store, or is bought, in each period [t DM]."""
    index, leaves = model.live.column_index, [0.0] * len(yard.periods)
    for run, eaten in uses(yard, offer):
        kg_dm = values[index[run.block.feed(eaten)]]
        for number, head_days in zip(run.periods, run.head_days, strict=True):
            leaves[number] += tonnes(run, eaten, head_days) * kg_dm
    return leaves


def _hectares(yard: Yard, model: WinterModel, values: Sequence[float]) -> tuple[Hectares, ...]:
    """What is grown, for a winter to come; empty for this one."""
    if yard.growing is None:
        return ()
    return hectares_of(yard.growing, {key: values[j] for key, j in model.live.column_index.items()})


def _whole(yard: Yard) -> bool:
    """Whether the plan has whole numbers, so that marginal values say nothing."""
    loads = any(offer.whole_loads and offer.load_t for offer in yard.farm.offers)
    return loads or bool(yard.open_clamps)


def _purchases(yard: Yard, model: WinterModel, values: Sequence[float]) -> tuple[Purchase, ...]:
    index = model.live.column_index
    found = []
    for offer in yard.farm.offers:
        if not offer.bought:
            continue
        t_dm = _by_period(yard, model, values, offer.id)
        t_fresh = [t * KG_PER_T / offer.feed.dm_g_per_kg for t in t_dm]
        total = sum(t_fresh)
        if total <= 1e-6:
            continue
        cost = total * offer.price_per_t_fresh
        loads: tuple[int, ...] = ()
        if offer.whole_loads and offer.load_t:
            whole = round(values[index[("loads", offer.id)]])
            cost = whole * offer.load_t * offer.price_per_t_fresh
            loads = _loads(t_fresh, offer.load_t, whole)
        found.append(Purchase(offer.id, offer.name, tuple(t_fresh), cost, loads))
    return tuple(found)


def _loads(t_fresh: Sequence[float], load_t: float, whole: int) -> tuple[int, ...]:
    """When each whole load comes: before what is in the yard runs out."""
    loads, had, used = [], 0, 0.0
    for t in t_fresh:
        used += t
        wanted = min(whole, -(-round(used / load_t * 1e6) // 1_000_000)) - had
        loads.append(wanted)
        had += wanted
    return tuple(loads)


def _sales(yard: Yard, model: WinterModel, values: Sequence[float]) -> tuple[Sale, ...]:
    index = model.live.column_index
    found = []
    for outlet in yard.farm.outlets:
        for store in outlet.stores:
            t = values[index[("sold", outlet.id, store)]]
            if t <= 1e-6:
                continue
            offer = next(offer for offer in yard.farm.offers if offer.id == store)
            price = sale_price_per_t_dm(yard, outlet, store) + offer.price_per_kg_dm * KG_PER_T
            fresh = t * KG_PER_T / offer.feed.dm_g_per_kg
            found.append(Sale(outlet.id, store, t, fresh, t * price))
    return tuple(found)


def _proof(
    yard: Yard,
    model: WinterModel,
    made: tuple[tuple[PlanRation, ...], tuple[StorePlan, ...]],
    proof: Proved,
) -> PlanProof:
    rations, stores = made
    certificate, bound, still = proof
    energy, protein = worst_excess(rations)
    balance = max((abs(_balance(store)) for store in stores), default=0.0) * KG_PER_T
    met = all(map(_is_met, rations))
    slack = {store.store: _ROUNDING * max(1.0, store.held_t_dm.high) for store in stores}
    kept = all(store.left_t_dm >= store.reserve_t_dm - slack[store.store] for store in stores)
    lower = -inf if bound is None else min(bound.lower_bound, certificate.objective)
    gap = certificate.objective - lower
    passed = certificate.passed and met and kept
    relative = gap / max(abs(certificate.objective), 1e-3)
    return PlanProof(
        primal_residual=certificate.primal,
        dual_residual=certificate.dual,
        complementarity=certificate.complementarity,
        duality_gap=certificate.gap,
        worst_excess_mj=energy,
        worst_excess_mp_g=protein,
        balance_kg=balance,
        cost=certificate.objective,
        lower_bound=lower,
        bound_any_level=_any_level(bound, certificate),
        gap=gap,
        gap_relative=relative,
        levels_settled=still,
        whole_numbers=_whole(yard),
        lps=model.live.solves + model.lps,
        passed=passed,
        how=_HOW_WHOLE if _whole(yard) else _HOW,
        verdict=_verdict(passed, relative, still),
    )


def bounded_by(cheapest: PlanProof, plan: WinterPlan) -> WinterPlan:
    """A plan of which only a part of all plans was searched, against what no plan costs less than.
    cheapest: the proof that says so. How far it is above the best by its rules is not known.
    """
    proof, tidy = plan.proof, plan.tidy
    assert proof is not None
    least = min(cheapest.lower_bound, proof.cost)
    gap = proof.cost - least
    relative = gap / max(abs(proof.cost), 1e-3)
    told = dataclasses.replace(
        proof,
        lower_bound=least,
        bound_any_level=cheapest.bound_any_level,
        gap=gap,
        gap_relative=relative,
        how=cheapest.how,
        verdict=_verdict(proof.passed, relative, proof.levels_settled),
    )
    if tidy is not None:
        tidy = dataclasses.replace(tidy, above_least=None)
    status = plan.status
    if status == "proven" and relative > GAP_TARGET:
        status = "open"
    return dataclasses.replace(plan, proof=told, tidy=tidy, status=status)


def worst_excess(rations: Sequence[PlanRation]) -> tuple[float | None, float | None]:
    """Least ME [MJ] and MP [g] over the requirement in any ration."""
    energy = (ration.excess_mj for ration in rations if ration.excess_mj is not None)
    protein = (ration.excess_mp_g for ration in rations if ration.excess_mp_g is not None)
    return min(energy, default=None), min(protein, default=None)


def _is_met(ration: PlanRation) -> bool:
    """Whether a ration meets energy and protein but for rounding."""
    energy, protein = ration.excess_mj or 0.0, ration.excess_mp_g or 0.0
    wanted = max(1.0, ration.needs.mp_required_g or 0.0)
    return energy >= -_ROUNDING * max(1.0, ration.dm_kg * 10.0) and protein >= -_ROUNDING * wanted


def _any_level(bound: WinterBound | None, certificate: Certificate) -> float | None:
    """A bound at every level of feeding; None where it was not asked or says nothing."""
    if bound is None or bound.any_level is None or abs(bound.any_level) == inf:
        return None
    return min(bound.any_level, certificate.objective)


def _balance(store: StorePlan) -> float:
    """Held less all that left and what is left [t DM]: 0 but for rounding."""
    return store.held_t_dm.typical - sum(store.used_t_dm) - store.left_t_dm


def _verdict(passed: bool, gap: float, still: bool) -> str:
    if not passed:
        return "the plan does not pass its own check"
    if gap > GAP_TARGET:
        return "adequate in every period, but a cheaper plan is not excluded within 0.1 %"
    optimal = "optimal within 0.1 % and adequate in every period"
    return optimal if still else f"{optimal}, levels of feeding not quite still"
