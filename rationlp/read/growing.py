"""[[growing]]: how the crops of stores are grown, for questions about hectares."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from rationlp.errors import Finding
from rationlp.read.objects import Growing
from rationlp.read.schema import GrowingTable, place


def read_growing(
    entries: Iterable[tuple[int, GrowingTable | None]], raw: Mapping[str, Any], stores: Sequence[str]
) -> tuple[tuple[Growing, ...], list[Finding]]:
    """The crops grown and what is wrong with them: each store once, and only stores that there are."""
    found: dict[str, Growing] = {}
    findings = []
    for number, table in entries:
        if table is None:
            continue
        where = place(("growing", number), raw)
        if table.store in found:
            said = f'the store "{table.store}" is grown twice'
            findings.append(Finding("IN546", where, said, "give each store one [[growing]]"))
        elif table.store not in stores:
            near = get_close_matches(table.store, stores, 1, 0.4)
            remedy = f'nearest: "{near[0]}"' if near else f"stores of this farm: {', '.join(stores) or 'none'}"
            findings.append(Finding("IN546", where, f'no store "{table.store}"', remedy))
        found[table.store] = Growing(table.store, table.yield_t_dm_per_ha, table.loss_share, table.cost_per_ha)
    return tuple(found.values()), findings
