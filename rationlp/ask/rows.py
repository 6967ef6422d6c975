"""The last programme of every group that has a ration, for those who want to see its rows or ask
another solver.
"""

from __future__ import annotations

from rationlp.model.block_ration import NoOptimum, solve_block
from rationlp.model.rows.block import make_block
from rationlp.model.trace import Trace, last_programme
from rationlp.result import Rations


def traces(rations: Rations) -> tuple[Trace, ...]:
    """Programmes in the order of the groups; groups without a ration have none. Raises
    SolverTrouble as the ration would.
    """
    groups = {group.id: group for group in rations.farm.groups}
    found = []
    for ration in rations.groups:
        if ration.proof is None:
            continue
        block = make_block(rations.farm, groups[ration.group], ration.needs)
        optimum = solve_block(block)
        trace = None if isinstance(optimum, NoOptimum) else last_programme(block, optimum)
        if trace is not None:
            found.append(trace)
    return tuple(found)
