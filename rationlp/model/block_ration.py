"""The proven cheapest ration of one block: level of feeding settled, ties broken, optimum
certified, gap closed.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, sqrt

from rationlp.errors import ProofFailed
from rationlp.model.bound import close_enough, prove
from rationlp.model.energy import Q_MOST
from rationlp.model.levels import (
    MOST_LPS,
    AtQ,
    ask_least_of_any_level,
    at_q,
    cheaper,
    free_q,
    polish,
    q_of,
    search_levels,
)
from rationlp.model.proof import Certificate, certify, dual_bound
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel, Found
from rationlp.model.solve import LiveModel, Solution, Status
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.supply import metabolisable_protein
from rationlp.records import dataclass

MOST_ROUNDS = 8
LEVEL_TOLERANCE = 1e-8
PRICED = 1e-9
"""Least dual or reduced cost, as a share of the dearest feed, that counts as a price and not as
rounding [-].
"""
NEED_TOLERANCE = 1e-6


@dataclass(frozen=True)
class Optimum:
    """The cheapest ration of a block with its certificate.

    values: kg DM a head a day by offer id. objective: currency a head a day, priced excess
    included. solution: the last programme's own answer (its duals are the marginal values). level:
    L held, which is the ration's own. held_q: the metabolisability held in that programme [-], None
    where L stands still by itself. lower_bound: at every dry matter and every level of feeding;
    bound_any_level: the same, None for a class without protein rows. lps: programmes solved.
    row_duals: by row key of that programme.
    model: the block inside the solver, for whoever goes on from here; it does not stand as it stood
    at the optimum.
    """

    values: dict[str, float]
    objective: float
    dm_kg: float
    me_mj: float
    over_mj: float
    certificate: Certificate
    lower_bound: float
    level: float | None
    held_q: float | None
    bound_any_level: float | None
    lps: int
    row_duals: dict[tuple[str, ...], float]
    reduced_costs: dict[str, float]
    model: BlockModel


@dataclass(frozen=True)
class NoOptimum:
    """No ration: `proved` when the lower-bound programme has no solution on any interval at any
    level of feeding.
    """

    proved: bool
    lps: int


@dataclass(frozen=True)
class _Round:
    """An answer at one level of feeding; certificate: None for a round on the way, whose ties were
    not broken.

    held_q: q held in its programme [-], None where the level stands still by itself.
    """

    level: float
    own_level: float
    optimum: Found
    values: tuple[float, ...]
    certificate: Certificate | None
    held_q: float | None = None


def solve_block(block: Block) -> Optimum | NoOptimum:
    """The cheapest ration of a block, or that there is none. Raises SolverTrouble and
    ProofFailed.
    """
    model = BlockModel(block)
    if block.needs.energy is None:
        return _plain(model)
    return solve_model(model)


def solve_model(model: BlockModel) -> Optimum | NoOptimum:
    """The cheapest ration of a model whose block has an energy requirement, or that there is
    none.
    """
    model.find_interval()
    if model.infeasible:
        return NoOptimum(True, model.live.solves)
    return _with_energy(model) if model.need_by_q else _at_one_level(model)


def _plain(model: BlockModel) -> Optimum | NoOptimum:
    """A block without an energy requirement of its own is one linear programme."""
    live = model.live
    solution = live.solve(cold=True)
    if solution.status is Status.INFEASIBLE:
        return NoOptimum(True, live.solves)
    if solution.status is not Status.OPTIMAL:
        paid = [offer.name for offer in model.block.offers if offer.price_per_t_fresh < 0.0]
        why = f"{', '.join(paid)} brings money in" if paid else "some feed costs nothing"
        raise ProofFailed(
            f'the ration of group "{model.block.group.id}" has no least cost: {why} and nothing'
            " limits it"
        )
    numbers, duals = live.numbers(), _row_duals(live, solution)
    values = _break_ties(model, solution)
    certificate = certify(numbers, solution, values)
    bound = dual_bound(numbers, solution.row_duals)
    return _optimum(model, solution, values, certificate, bound, None, None, duals, None)


@dataclass(frozen=True)
class Settled:
    """Rounds of search, each at a level of feeding; `still` when the last answer's own level is the
    one that was held.
    """

    rounds: tuple[_Round, ...]
    found: Found | None
    level: float
    still: bool


def settle_levels(
    model: BlockModel,
    level: float | None = None,
    starts: tuple[float, ...] = (),
    rounds: int = MOST_ROUNDS,
    break_ties: bool = True,
) -> Settled:
    """Search, take the answer's own level of feeding, search again, until the level stands still.

    Without `break_ties` (a trial) the last round is neither tie-broken nor certified.
    """
    assert model.curve is not None and model.need is not None
    free_q(model)
    low, high = model.curve.low, model.curve.high
    if level is None:
        level = _first_level(model)
    starts = starts or (high, 0.5 * (low + high))
    kept: list[_Round] = []
    found: Found | None = None
    ties = False
    for _ in range(rounds):
        model.set_level(level)
        # Once the level has only moved a little the last D is start enough; what it misses the
        # proof comes upon.
        found = model.search(starts, around=not kept)
        if found is None or not found.adequate:
            return Settled(tuple(kept), found, level, False)
        this = _finish(model, found, level) if ties else _on_the_way(model, found, level)
        if break_ties and not ties and _still(model, this):
            # Ties are broken only once the level stands still; where that moves it, they are broken
            # in every round after.
            ties = True
            this = _finish(model, found, level)
        kept.append(this)
        if _still(model, this):
            return Settled(tuple(kept), found, level, True)
        starts = (this.optimum.dm_kg,)
        level = this.own_level
    return Settled(tuple(kept), found, level, False)


def _still(model: BlockModel, this: _Round) -> bool:
    return (
        abs(this.own_level - this.level) <= LEVEL_TOLERANCE * this.level
        or model.block.needs.mp_g is None
    )


def _first_level(model: BlockModel) -> float:
    """A level of feeding to begin with: that of a middling ration, or of a rich one where the gain
    needs it.
    """
    assert model.need is not None
    middling = model.need.feeding_level(0.58)
    return middling if middling < inf else model.need.feeding_level(Q_MOST)


def _with_energy(model: BlockModel) -> Optimum | NoOptimum:
    """The settled ration, or a cheaper one that only a search over every level of feeding comes
    upon, with its proof.
    """
    last, lower_bound = settled_or_held(model, settle_levels(model), MOST_LPS)
    if last is None:
        return NoOptimum(lower_bound == inf, model.live.solves)
    return _from_round(model, last, lower_bound)


def settled_or_held(
    model: BlockModel, state: Settled, most_lps: int
) -> tuple[_Round | None, float]:
    """The settled ration, or a cheaper one of another level of feeding where that is met; None
    without any. With a bound that no ration costs less than.
    """
    last = state.rounds[-1] if state.still else None
    if last is None:
        proof = search_levels(model, inf, None, most_lps)
    else:
        proof = search_levels(model, last.optimum.objective, q_of(last.optimum), most_lps)
    return last if proof.best is None else _beside(model, proof.best), proof.lower_bound


def _beside(model: BlockModel, better: AtQ) -> _Round:
    """The ration whose level of feeding stands still by itself, where it costs no more; else the
    one held at its own q.

    At the level of the cheapest ration something cheaper may stand that is short at its own level:
    then nothing stands still.
    """
    better = polish(model, better)
    assert model.need is not None
    state = settle_levels(model, model.need.feeding_level(better.q), (better.found.dm_kg,))
    if state.still and not cheaper(better.found.objective, state.rounds[-1].optimum.objective):
        return state.rounds[-1]
    return _held(model, better)


def _held(model: BlockModel, better: AtQ) -> _Round:
    """A cold solve with the metabolisability held, ties broken, certified. Raises ProofFailed when
    there is no answer.
    """
    assert model.need is not None
    model.allow_shortage(False)
    final = at_q(model, better.q, cold=True)
    if final is None:
        raise ProofFailed(
            "the ration found does not stand when the last programme is solved afresh"
        )
    numbers = model.live.numbers()
    values = _break_ties(model, final.solution)
    free_q(model)
    level = model.need.feeding_level(better.q)
    return replace(
        _round(model, final, level, values, certify(numbers, final.solution, values)),
        held_q=better.q,
    )


def _at_one_level(model: BlockModel) -> Optimum | NoOptimum:
    """The cheapest ration at the level of feeding that is its own, for a need that q alone does not
    tell; proved at that level.

    Where no level stands still none is given: `proved` is then never said.
    """
    state = settle_levels(model)
    for _ in range(MOST_ROUNDS):
        if not state.still or state.found is None:
            break
        proof = prove(model, state.found)
        if proof.best is None or not cheaper(proof.best.objective, state.found.objective):
            return _from_round(model, state.rounds[-1], proof.lower_bound)
        state = settle_levels(model, state.level, (proof.best.dm_kg,))
    if state.rounds or prove(model, None, improve=False).lower_bound < inf:
        return NoOptimum(False, model.live.solves)
    ask_least_of_any_level(model)
    nowhere = model.block.needs.mp_g is None or prove(model, None, improve=False).lower_bound == inf
    return NoOptimum(nowhere, model.live.solves)


def _on_the_way(model: BlockModel, found: Found, level: float) -> _Round:
    """A round whose own level of feeding is all that is wanted of it: the search's answer as it
    stands.
    """
    assert model.curve is not None
    if model.curve.bends:
        found = _touched(model, found, cold=False)
    return _round(model, found, level, found.solution.values, None)


def _finish(model: BlockModel, found: Found, level: float) -> _Round:
    """A cold solve with the safe row touching at the answer's own D, ties broken, certified; its
    own level of feeding.
    """
    model.allow_shortage(False)
    final = _touched(model, found, cold=True)
    numbers = model.live.numbers()
    values = _break_ties(model, final.solution)
    return _round(model, final, level, values, certify(numbers, final.solution, values))


def _touched(model: BlockModel, found: Found, cold: bool) -> Found:
    """The answer of the programme whose safe row touches at the D found. Raises ProofFailed when
    there is none.
    """
    assert model.curve is not None
    low, high = model.curve.low, model.curve.high
    if model.curve.bends:
        # Where the curve bends, only a narrow interval around the answer gives a row that touches
        # it.
        width = 1e-7 * high
        low, high = max(low, found.dm_kg - width), min(high, found.dm_kg + width)
    model.hold(model.curve.safe_row(found.dm_kg, low, high), low, high)
    final = model.solve(cold)
    if final is None:
        raise ProofFailed(
            "the ration found does not stand when the last programme is solved afresh"
        )
    return final


def _round(
    model: BlockModel,
    final: Found,
    level: float,
    values: tuple[float, ...],
    certificate: Certificate | None,
) -> _Round:
    assert model.need is not None
    dm = sum(values[: len(model.block.offers)])
    me = values[model.live.column_index[model.me]]
    return _Round(
        level, model.need.feeding_level(me / dm / GE_MJ_PER_KG_DM), final, values, certificate
    )


def protein_met(block: Block, this: _Round) -> bool:
    """The ration of a round brings the protein needed at its own level of feeding."""
    needed = block.needs.mp_required_g
    if needed is None:
        return True
    parts = [(offer.feed, this.values[number]) for number, offer in enumerate(block.offers)]
    return metabolisable_protein(parts, this.own_level) >= needed * (1.0 - NEED_TOLERANCE)


def _from_round(model: BlockModel, this: _Round, lower_bound: float) -> Optimum:
    solution = this.optimum.solution
    bound = min(lower_bound, this.optimum.objective)
    any_level = bound if model.block.needs.mp_g is not None and model.need_by_q else None
    duals = _row_duals(model.live, solution)
    assert this.certificate is not None
    return _optimum(
        model, solution, this.values, this.certificate, bound, this.level, any_level, duals,
        this.held_q,
    )  # fmt: skip


def _break_ties(model: BlockModel, solution: Solution) -> tuple[float, ...]:
    """Among rations of equal cost: least bought kg, then least ME over the need, then fixed weights
    in feed order.

    After each aim the model is held on its optimal face: a column with a reduced cost and a row
    with a dual stay at the bound they press on, which is what every other optimum does too
    (complementary slackness). Nothing is bought with a tolerance on the cost. Bounds are put back
    afterwards; a step without an answer leaves the one before it.
    """
    live, block = model.live, model.block
    limits = live.limits()
    energy = {model.me: 1.0, model.dm: live.coefs[live.row_index[block.key("energy")]].get(
        live.column_index[model.dm], 0.0)} if model.need is not None else {}  # fmt: skip
    aims = [
        {
            block.feed(offer): 1000.0 / offer.feed.dm_g_per_kg
            for offer in block.offers
            if offer.bought
        },
        energy,
        {block.feed(offer): sqrt(number + 2.0) for number, offer in enumerate(block.offers)},
    ]
    sizes = [max(map(abs, row.values()), default=1.0) for row in live.coefs]
    found = solution
    for number, aim in enumerate(aims):
        if not aim:
            continue
        _hold_face(live, found, sizes)
        live.set_costs(aim)
        # Only the last aim has one answer, whatever the path to it; the others only say which face
        # to stay on.
        answer = live.solve(cold=number == len(aims) - 1)
        if answer.status is not Status.OPTIMAL or not model.keeps(answer, NEED_TOLERANCE):
            break
        found = answer
    live.put_back(limits, model.costs)
    return found.values


def _hold_face(live: LiveModel, found: Solution, sizes: list[float]) -> None:
    """Hold every column and row that carries a price at the bound it presses on. sizes: largest
    coefficient of each row.
    """
    most = max((abs(cost) for cost in live.cost), default=1.0)
    for key, j in live.column_index.items():
        reduced = found.reduced_costs[j]
        if abs(reduced) > PRICED * most:
            bound = live.col_low[j] if reduced > 0.0 else live.col_high[j]
            if abs(bound) < inf:
                live.set_column_bounds(key, bound, bound)
    for i, row in enumerate(live.rows):
        dual = found.row_duals[i]
        if dual and abs(dual) * sizes[i] > PRICED * most:
            bound = live.row_low[i] if dual > 0.0 else live.row_high[i]
            if abs(bound) < inf:
                live.set_row_bounds(row.key, bound, bound)


def _row_duals(live: LiveModel, solution: Solution) -> dict[tuple[str, ...], float]:
    return {row.key: dual for row, dual in zip(live.rows, solution.row_duals, strict=False)}


def _optimum(
    model: BlockModel, solution: Solution, values: tuple[float, ...], certificate: Certificate,
    lower_bound: float,
    level: float | None, any_level: float | None, duals: dict[tuple[str, ...], float],
    held_q: float | None,
) -> Optimum:  # fmt: skip
    live, block = model.live, model.block
    if not certificate.passed:
        raise ProofFailed(
            f'the ration of group "{block.group.id}" fails its own check (rows'
            f" {certificate.primal:.1e}, duals {certificate.dual:.1e}, gap {certificate.gap:.1e})"
        )
    index = live.column_index
    return Optimum(
        values={offer.id: max(values[number], 0.0) for number, offer in enumerate(block.offers)},
        objective=certificate.objective,
        dm_kg=values[index[model.dm]],
        me_mj=values[index[model.me]] if model.me in index else 0.0,
        over_mj=values[index[model.over]] if model.over in index else 0.0,
        certificate=certificate,
        lower_bound=lower_bound,
        level=level,
        held_q=held_q,
        bound_any_level=any_level,
        lps=live.solves,
        row_duals=duals,
        reduced_costs={
            offer.id: solution.reduced_costs[number] for number, offer in enumerate(block.offers)
        },
        model=model,
    )


def gap_closed(optimum: Optimum) -> bool:
    """The gap is within the promised 0.01 % of the cost."""
    return close_enough(optimum.objective, optimum.lower_bound, 1e-4, optimum.model.live.unit)
