"""The proven cheapest ration of one block: settled, ties broken, certified, gap closed."""

from __future__ import annotations

from dataclasses import replace
from math import inf, sqrt

from rationlp.errors import ProofFailed
from rationlp.model.answer import Answer
from rationlp.model.bound import prove
from rationlp.model.boxes import Boxes
from rationlp.model.by_point import (
    MOST_STARTS,
    NEAR_STARTS,
    begin_at,
    point_of,
    search_points,
    settled_from,
)
from rationlp.model.cheapest import AtQ, cheaper
from rationlp.model.energy import Q_MOST
from rationlp.model.levels import (
    MOST_LPS,
    ask_least_of_any_level,
    at_q,
    free_q,
    polish,
    q_of,
    search_levels,
)
from rationlp.model.lp import Key, Program
from rationlp.model.met import stands
from rationlp.model.optimum import (
    LevelRation,
    NoOptimum,
    Optimum,
    SettledLevels,
    gap_closed,
    promised_gap,
)
from rationlp.model.points import Point
from rationlp.model.proof import Certificate, certify, dual_bound
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel
from rationlp.model.settle import TOUCHING
from rationlp.model.solution import Status
from rationlp.model.ties import break_ties
from rationlp.needs.energy import GE_MJ_PER_KG_DM

LPS_TO_SETTLE = 60
"""Bounding programmes of a short search where rows move with the whole ration."""
UNSETTLED = "the ration found does not stand when the last programme is solved afresh"


__all__ = [
    "UNSETTLED",
    "LevelRation",
    "NoOptimum",
    "Optimum",
    "SettledLevels",
    "gap_closed",
    "optimum_of",
    "promised_gap",
    "settle_levels",
    "settled_by_point",
    "settled_or_held",
    "solve_block",
    "solve_model",
]


def solve_block(
    block: Block, program: Program | None = None, near: Point | None = None
) -> Optimum | NoOptimum:
    """A block's cheapest ration, or that there is none. program: of a question, in place of the
    block's own: other costs, rows besides. near: where a ration much like it stands, of a block
    whose rows move with the whole ration. Raises SolverTrouble and ProofFailed.
    """
    model = BlockModel(block, program=program)
    if block.needs.energy is None:
        return _plain(model)
    return solve_model(model, near=near)


def optimum_of(
    block: Block, program: Program | None = None, near: Point | None = None
) -> Optimum | None:
    """A block's cheapest ration, None where there is none. Takes and raises as `solve_block`."""
    answer = solve_block(block, program, near)
    if isinstance(answer, NoOptimum):
        return None
    return answer


def solve_model(
    model: BlockModel, boxes: type[Boxes] = Boxes, near: Point | None = None
) -> Optimum | NoOptimum:
    """The cheapest ration of a model whose block needs energy, or that there is none. boxes: bound
    it where rows move with the whole ration; near: as in `solve_block`.
    """
    model.find_interval()
    if model.infeasible:
        return NoOptimum(True, model.live.solves)
    if model.part.by_point:
        return _by_point(model, boxes, near)
    if model.need_by_q:
        return _with_energy(model)
    return _at_one_level(model)


def _plain(model: BlockModel) -> Optimum | NoOptimum:
    """A block without an energy requirement of its own is one linear programme."""
    live = model.live
    solution = live.solve(cold=True)
    if solution.status is Status.INFEASIBLE:
        return NoOptimum(True, live.solves)
    if solution.status is not Status.OPTIMAL:
        paid = [offer.name for offer in model.block.offers if offer.price_per_t_fresh < 0.0]
        why = "some feed costs nothing"
        if paid:
            why = f"{', '.join(paid)} brings money in"
        raise ProofFailed(
            f'the ration of group "{model.block.group.id}" has no least cost: {why} and nothing'
            " limits it"
        )
    numbers = live.numbers()
    values = break_ties(model, solution, _aims(model), cold_last=True)
    answer, certificate = Answer(solution, (), (), ()), certify(numbers, solution, values)
    ration = LevelRation(0.0, 0.0, answer, values, certificate)
    bound = dual_bound(numbers, solution.row_duals)
    return replace(_optimum(model, ration, bound), lower_bound=bound, level=None)


def settle_levels(
    model: BlockModel,
    level: float | None = None,
    starts: tuple[float, ...] = (),
    rounds: int | None = None,
    ties: bool = True,
) -> SettledLevels:
    """Search, take the answer's own level of feeding, search again, until the level stands still.

    Without `ties` (a trial) the last round is neither tie-broken nor certified. Where rows move
    with the whole ration there is one round, of a short search.
    """
    assert model.curve is not None and model.need is not None
    if model.part.by_point:
        return _settled_at_point(model, ties)
    free_q(model)
    level = _first_level(model) if level is None else level
    done: list[LevelRation] = []
    answer: Answer | None = None
    ready = False
    for _ in range(rounds or model.care.rounds):
        model.set_level(level)
        # Once the level has only moved a little the last D is start enough; what it misses the
        # proof comes upon.
        answer = model.settle(starts) if done else model.search_from(starts)
        if answer is None or not answer.adequate:
            return SettledLevels(tuple(done), answer, level, False)
        this = _finish(model, answer, level) if ready else _on_the_way(model, answer, level)
        if ties and not ready and _is_still(model, this):
            # Ties are broken only once the level stands still; where that moves it, they are broken
            # in every round after.
            ready = True
            this = _finish(model, answer, level)
        done.append(this)
        if _is_still(model, this):
            return SettledLevels(tuple(done), answer, level, True)
        starts, level = (this.answer.dm_kg,), this.own_level
    return SettledLevels(tuple(done), answer, level, False)


def _settled_at_point(model: BlockModel, ties: bool) -> SettledLevels:
    ration = settled_by_point(model, None, ties, LPS_TO_SETTLE)
    if ration is None:
        return SettledLevels((), None, 1.0, False)
    return SettledLevels((ration,), ration.answer, ration.level, True)


def _is_still(model: BlockModel, ration: LevelRation) -> bool:
    moved = abs(ration.own_level - ration.level)
    return moved <= model.care.level * ration.level or model.block.needs.mp_g is None


def _first_level(model: BlockModel) -> float:
    """A level of feeding to begin with: of a middling ration, or of a rich one."""
    assert model.need is not None
    middling = model.need.feeding_level(0.58)
    if middling < inf:
        return middling
    return model.need.feeding_level(Q_MOST)


def _with_energy(model: BlockModel) -> Optimum | NoOptimum:
    """The settled ration, or a cheaper one of a search over every level of feeding, proved."""
    last, lower_bound = settled_or_held(model, settle_levels(model), MOST_LPS)
    if last is None:
        return NoOptimum(lower_bound == inf, model.live.solves)
    return _optimum(model, last, lower_bound)


def _by_point(model: BlockModel, boxes: type[Boxes], near: Point | None) -> Optimum | NoOptimum:
    """The cheapest ration where rows move with the whole ration, proved over boxes."""
    first = settled_from(model, near)
    starts = MOST_STARTS if first is None else NEAR_STARTS
    found = search_points(model, inf, boxes=boxes, starts=starts, first=first)
    if found.best is None or found.best.point is None:
        return NoOptimum(found.lower_bound == inf, model.live.solves)
    ration = _finish_at_point(model, found.best.answer, found.best.point)
    return replace(_optimum(model, ration, found.lower_bound), point=found.best.point)


def _finish_at_point(model: BlockModel, answer: Answer, point: Point) -> LevelRation:
    """An answer whose rows touch at its own ration, solved cold, ties broken, certified."""
    model.hold_level(0, point)
    ration = _finish(model, answer, point.state.level)
    if stands(model, ration.values):
        return ration
    # Ties broken far from the point would move what every feed is worth.
    solution = ration.answer.solution
    certificate = certify(model.live.numbers(), solution)
    return replace(ration, values=solution.values, certificate=certificate)


def settled_by_point(
    model: BlockModel, start: Point | None, finished: bool, most_lps: int
) -> LevelRation | None:
    """The settled ration from a point, else of a short search over boxes; None where neither comes
    upon one. finished: ties broken and certified.
    """
    answer, point = begin_at(model, start), point_of(model)
    if answer is None:
        best = search_points(model, inf, most_lps).best
        if best is None:
            return None
        answer, point = best.answer, best.point
    assert point is not None
    if finished:
        return _finish_at_point(model, answer, point)
    level = point.state.level
    return LevelRation(level, level, answer, answer.solution.values, None)


def settled_or_held(
    model: BlockModel, state: SettledLevels, most_lps: int
) -> tuple[LevelRation | None, float]:
    """The settled ration, or a cheaper one of another level of feeding where that is met; None
    without any. With a bound that no ration costs less than.
    """
    if state.still:
        last = state.rounds[-1]
        proof = search_levels(model, last.answer.objective, q_of(last.answer), most_lps)
    else:
        last = None
        proof = search_levels(model, inf, None, most_lps)
    return last if proof.best is None else _beside(model, proof.best), proof.lower_bound


def _beside(model: BlockModel, better: AtQ) -> LevelRation:
    """The ration whose level of feeding stands still by itself, where it costs no more; else the
    one held at its own q.

    At the level of the cheapest ration something cheaper may stand that is short at its own level:
    then nothing stands still.
    """
    better = polish(model, better)
    assert model.need is not None
    state = settle_levels(model, model.need.feeding_level(better.q), (better.answer.dm_kg,))
    if state.still and not cheaper(better.answer.objective, state.rounds[-1].answer.objective):
        return state.rounds[-1]
    return _held(model, better)


def _held(model: BlockModel, better: AtQ) -> LevelRation:
    """A cold solve with q held, ties broken, certified. Raises ProofFailed without an answer."""
    assert model.need is not None
    model.allow_shortage(False)
    final = at_q(model, better.q, cold=True)
    if final is None:
        raise ProofFailed(UNSETTLED)
    ration = _certified(model, final, model.need.feeding_level(better.q))
    free_q(model)
    return replace(ration, held_q=better.q)


def _at_one_level(model: BlockModel) -> Optimum | NoOptimum:
    """The cheapest ration at the level of feeding that is its own, for a need that q alone does not
    tell; proved at that level.

    Where no level stands still none is given: `proved` is then never said.
    """
    state = settle_levels(model)
    for _ in range(model.care.rounds):
        if not state.still or state.answer is None:
            break
        proof = prove(model, state.answer)
        if proof.best is None or not cheaper(proof.best.objective, state.answer.objective):
            return _optimum(model, state.rounds[-1], proof.lower_bound)
        state = settle_levels(model, state.level, (proof.best.dm_kg,))
    if state.rounds or prove(model, None, improve=False).lower_bound < inf:
        return NoOptimum(False, model.live.solves)
    ask_least_of_any_level(model)
    nowhere = model.block.needs.mp_g is None or prove(model, None, improve=False).lower_bound == inf
    return NoOptimum(nowhere, model.live.solves)


def _on_the_way(model: BlockModel, answer: Answer, level: float) -> LevelRation:
    """A round of which only its own level of feeding is wanted."""
    assert model.curve is not None
    if model.curve.bends:
        answer = _touched(model, answer, cold=False)
    return _ration(model, answer, level, answer.solution.values, None)


def _finish(model: BlockModel, answer: Answer, level: float) -> LevelRation:
    """A cold solve with the safe row touching at the answer's own D, ties broken, certified."""
    model.allow_shortage(False)
    return _certified(model, _touched(model, answer, cold=True), level)


def _certified(model: BlockModel, final: Answer, level: float) -> LevelRation:
    numbers = model.live.numbers()
    values = break_ties(model, final.solution, _aims(model), cold_last=True)
    return _ration(model, final, level, values, certify(numbers, final.solution, values))


def _touched(model: BlockModel, answer: Answer, cold: bool) -> Answer:
    """The answer where the safe row touches at the D found. Raises ProofFailed without one."""
    model.touch(answer.dm, TOUCHING)
    final = model.solve(cold)
    if final is None:
        raise ProofFailed(UNSETTLED)
    return final


def _ration(
    model: BlockModel,
    answer: Answer,
    level: float,
    values: tuple[float, ...],
    certificate: Certificate | None,
) -> LevelRation:
    assert model.need is not None
    dm = sum(values[: len(model.block.offers)])
    if model.part.by_point:
        return LevelRation(level, level, answer, values, certificate)
    q = values[model.live.column_index[model.me]] / dm / GE_MJ_PER_KG_DM
    return LevelRation(level, model.need.feeding_level(q), answer, values, certificate)


def _aims(model: BlockModel) -> list[dict[Key, float]]:
    """Least bought kg, then least ME over the need, then fixed weights in feed order."""
    offers, live = model.block.offers, model.live
    fresh = {model.block.feed(o): 1000.0 / o.feed.dm_g_per_kg for o in offers if o.bought}
    aims = [fresh] if fresh else []
    if model.need is not None:
        row = live.coefs[live.row_index[model.part.energy]]
        aims.append({model.me: 1.0, model.dm: row.get(live.column_index[model.dm], 0.0)})
    fixed = {model.block.feed(offer): sqrt(number + 2.0) for number, offer in enumerate(offers)}
    return [*aims, fixed]


def _optimum(model: BlockModel, ration: LevelRation, lower_bound: float) -> Optimum:
    """The optimum of a certified ration. Raises ProofFailed where it fails its own check."""
    live, block, certificate = model.live, model.block, ration.certificate
    assert certificate is not None
    if not certificate.passed:
        raise ProofFailed(
            f'the ration of group "{block.group.id}" fails its own check (rows'
            f" {certificate.primal:.1e}, duals {certificate.dual:.1e}, gap {certificate.gap:.1e})"
        )
    solution, values, index = ration.answer.solution, ration.values, live.column_index
    bound = min(lower_bound, ration.answer.objective)
    by_level = block.needs.mp_g is not None and model.need_by_q and model.need is not None
    reduced = zip(block.offers, solution.reduced_costs, strict=False)
    return Optimum(
        values=model.amounts_of(values),
        objective=certificate.objective,
        dm_kg=values[index[model.dm]],
        me_mj=values[index[model.me]] if model.me in index else 0.0,
        over_mj=values[index[model.over]] if model.over in index else 0.0,
        certificate=certificate,
        lower_bound=bound,
        level=ration.level,
        held_q=ration.held_q,
        bound_any_level=bound if by_level else None,
        lps=live.solves,
        row_duals={row.key: dual for row, dual in zip(live.rows, solution.row_duals, strict=False)},
        reduced_costs={offer.id: cost for offer, cost in reduced},
        model=model,
    )
