"""Whether it is proved that no plan meets every need.

Two proofs, both at every level of feeding. All blocks together, each with the row that asks no
adequate ration for too much, may have no solution. Or the stores are priced, at the marginal values
of the least shortage: where the dearest that the stores can be is less than the least that adequate
rations would take at these prices, block by block, no plan exists.
"""

from __future__ import annotations

from rationlp.model.levels import ask_least_of_any_level
from rationlp.model.search import opened
from rationlp.model.solution import Status
from rationlp.wintering.bound import winter_bound
from rationlp.wintering.search import WinterModel
from rationlp.wintering.shortage import LeastShortage

NOT_ROUNDING = 1e-3
"""Share of the least shortage that a bound must reach to count as a proof [-]."""


def none_exists(model: WinterModel, least: LeastShortage | None) -> bool:
    """Whether no plan at all meets every need. least: the least shortage of the same model."""
    if model.infeasible:
        return True
    if least is not None:
        model.costs = dict(least.costs)
        model.live.set_costs(model.costs)
        bound = winter_bound(model, least.solution, any_level=True).lower_bound
        if bound > NOT_ROUNDING * least.total > 0.0:
            return True
    return _has_no_solution(model)


def _has_no_solution(model: WinterModel) -> bool:
    """Whether the joint programme that asks no adequate ration for too much is infeasible."""
    live = model.live
    for key in live.column_index:
        if key[0] == "goes_short":
            live.set_column_bounds(key, 0.0, 0.0)
    model.allow_shortage(False)
    for number, single in enumerate(model.singles):
        curve = single.curve
        if single.need is None or curve is None:
            continue
        if single.by_point:
            # No row of its own holds for every ration: the priced stores must tell.
            return False
        if single.block.needs.mp_g is not None:
            least, most = ask_least_of_any_level(opened(single.block))
            model.set_levels(number, most, least, most)
        model.hold_energy(number, curve.bound_row(curve.low, curve.high), curve.low, curve.high)
    return live.solve(cold=True).status is Status.INFEASIBLE
