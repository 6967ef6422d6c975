"""Hectares as variables: next year's winter, its forages still to be grown.

Every crop stands in the yard as a store that holds nothing; a hectare puts its edible tonnes into
it. With a reserve r, what is eaten times (1 + r), and what is sold, must be grown: use ≤ (edible·ha
− surplus)/(1 + r).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf

from rationlp.farm.farm import Crop
from rationlp.model.lp import Column, Key, Row
from rationlp.planned import Hectares
from rationlp.records import dataclass


@dataclass(frozen=True)
class Growing:
    """What can be grown. land_ha: hectares for all of it, None for no limit. reserve_share: grown
    beyond what is used [-].
    """

    crops: tuple[Crop, ...]
    land_ha: float | None
    reserve_share: float


def growing_columns(growing: Growing) -> Iterator[Column]:
    """Hectares of each crop at their cost, and what is sold of it [t DM]."""
    for crop in growing.crops:
        high = inf if crop.most_ha is None else crop.most_ha
        title = f"hectares of {crop.name}"
        yield Column(("ha", crop.id), crop.cost_per_ha, crop.least_ha, high, "ha", title)
        if crop.would_fetch_per_t_dm is not None:
            key, price = ("surplus", crop.id), -crop.would_fetch_per_t_dm
            yield Column(key, price, unit="t DM", title=f"{crop.name} sold")


def grown_coefs(growing: Growing, store: str) -> dict[Key, float]:
    """What hectares and sales change in a store's row; empty for what is no crop."""
    kept = 1.0 / (1.0 + growing.reserve_share)
    for crop in growing.crops:
        if crop.id == store:
            coefs: dict[Key, float] = {("ha", crop.id): -crop.edible_t_dm_per_ha * kept}
            if crop.would_fetch_per_t_dm is not None:
                coefs["surplus", crop.id] = kept
            return coefs
    return {}


def growing_rows(growing: Growing) -> Iterator[Row]:
    """Σ ha ≤ land."""
    if growing.land_ha is not None and growing.crops:
        coefs: dict[Key, float] = {("ha", crop.id): 1.0 for crop in growing.crops}
        yield Row(
            ("land",), coefs, -inf, growing.land_ha, "limit", "ha", "land", "the farm's own figure"
        )


def hectares_of(growing: Growing, values: Mapping[Key, float]) -> tuple[Hectares, ...]:
    """What a solution grows of every crop."""
    grown = []
    for crop in growing.crops:
        ha = max(values.get(("ha", crop.id), 0.0), 0.0)
        surplus = max(values.get(("surplus", crop.id), 0.0), 0.0)
        grown.append(Hectares(crop.id, ha, ha * crop.edible_t_dm_per_ha, surplus))
    return tuple(grown)
