"""The last programme of every group that has a ration, to be read or given to another solver."""

from __future__ import annotations

from rationlp.model.block_ration import optimum_of
from rationlp.model.rows.block import make_block
from rationlp.model.trace import Trace, last_programme
from rationlp.result import Rations


def traces(rations: Rations) -> tuple[Trace, ...]:
    """Programmes of the groups that have a ration. Raises SolverTrouble as the ration would."""
    programmes = []
    for ration in rations.groups:
        if ration.proof is None:
            continue
        block = make_block(rations.farm, rations.farm.group(ration.group), ration.needs)
        optimum = optimum_of(block)
        if optimum is None:
            continue
        trace = last_programme(block, optimum)
        if trace is not None:
            programmes.append(trace)
    return tuple(programmes)
